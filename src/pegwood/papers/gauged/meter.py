"""An exposure meter's error over its range, in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pegwood.papers.beside import Side
from pegwood.papers.gauged.figures import error_side, limit_notes, plain_side
from pegwood.papers.gauged.telling import Said


def said(result: Mapping[str, Any], locale: str) -> Said:
    """
    The error at the middle first, then what bends, lags and scatters.

    Parameters
    ----------
    result : mapping
        As `measure.meter` describes it.
    locale : str
    """
    low, high = (f"{result[end]:.1f}".removesuffix(".0") for end in ("low_ev", "high_ev"))
    figures: dict[str, Side | None] = {
        "error in the middle of the range": error_side(result, "offset", locale, result["verdict"]),
        "more shown for each EV": error_side(result, "slope", locale, unit=""),
        "ends against the middle": error_side(result, "curvature", locale),
        "light rising less falling": error_side(result, "hysteresis", locale),
        "scatter of a reading": plain_side(result.get("scatter_ev"), "EV", locale),
        "what it looks like": Side(text=result["pattern"]),
    }
    limits = [one["limit"] for one in result.get("judged") or () if one.get("limit")]
    return Said(
        figures={label: side for label, side in figures.items() if side is not None},
        notes=(
            f"Read from EV {low} to EV {high}. Shown less true: above zero it sees too much light, and "
            "pictures come out too dark.",
            *((result["fed"]["says"][0],) if result.get("fed") else ()),
            *limit_notes(limits, "ev", locale),
            *(result.get("warnings") or ()),
        ),
        caution=" ".join(result.get("cautions") or ()),
    )
