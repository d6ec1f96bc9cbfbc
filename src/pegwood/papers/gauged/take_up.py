"""How a take-up spool winds, in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pegwood.papers.beside import Side
from pegwood.papers.gauged.figures import figure_side, limit_notes
from pegwood.papers.gauged.telling import Said

CAUTION = "Know where the advance's spring holds its force before a clutch comes apart."


def said(result: Mapping[str, Any], locale: str) -> Said:
    """
    What the clutch has to let slip first, then what the spool makes of a roll.

    Parameters
    ----------
    result : mapping
        As `measure.take-up` describes it, its torque apart.
    locale : str
    """
    low, high = result["expected_frames"]
    figures: dict[str, Side | None] = {
        "slips at the first frame": figure_side(
            result, "first_slip", "turns", locale, result["slip_verdict"]
        ),
        "slips at the last": figure_side(result, "last_slip", "turns", locale),
        "more to slip by the last": figure_side(result, "slip", "turns", locale),
        "full spool": figure_side(result, "full", "m", locale),
        "frames to expect": Side(text=f"{low} to {high}" if low < high else f"{low}"),
    }
    limit = result.get("slip_limit")
    return Said(
        figures={label: side for label, side in figures.items() if side is not None},
        notes=(
            *(() if limit is None else limit_notes((limit,), "turns", locale)),
            *((result["counted"],) if result.get("counted") else ()),
            *(result.get("warnings") or ()),
        ),
        caution=CAUTION,
    )
