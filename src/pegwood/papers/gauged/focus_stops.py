"""How focus moves as a lens is stopped down, in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pegwood.papers.beside import Side
from pegwood.papers.gauged.figures import error_side, limit_notes
from pegwood.papers.gauged.focus_scale import CAUTION
from pegwood.papers.gauged.telling import Said


def said(result: Mapping[str, Any], locale: str) -> Said:
    """
    A row for each stop but the widest: how far focus moves, and what its depth forgives.

    Parameters
    ----------
    result : mapping
        As `measure.focus` describes it, positions in mm.
    locale : str
    """
    stops = result["stops"]
    figures: dict[str, Side | None] = {
        f"focus moves to f/{one['f_number']:g}": error_side(one, "shift", locale, one["verdict"], unit="m")
        for one in stops
    }
    if not stops:
        figures["focus moves"] = Side(text="not told")
    shots = result["shots"]
    measured = sum(one["mtf50"] is not None for one in shots)
    figures["photographs measured"] = Side(text=f"{measured} of {len(shots)}")
    widest = min(one["f_number"] for one in shots)
    return Said(
        figures={label: side for label, side in figures.items() if side is not None},
        notes=(
            f"Against best focus at f/{widest:g}; plus is further from the film.",
            *limit_notes([one["limit"] for one in stops if one.get("limit")], "m", locale),
            *(result.get("warnings") or ()),
        ),
        caution=CAUTION,
    )
