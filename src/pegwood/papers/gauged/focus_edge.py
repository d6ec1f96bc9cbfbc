"""Best focus from photographs, in words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from pegwood.papers.beside import Side
from pegwood.papers.gauged.figures import figure_side
from pegwood.papers.gauged.focus_scale import CAUTION
from pegwood.papers.gauged.telling import Said


def said(result: Mapping[str, Any], locale: str) -> Said:
    """
    Where focus is best first, then how sharp it was at most, then how many photographs say so.

    Parameters
    ----------
    result : mapping
        As `measure.focus` describes it, positions in mm.
    locale : str
    """
    shots = result["shots"]
    measured = [one for one in shots if one["mtf50"] is not None]
    best = figure_side(result, "best", "", locale)
    figures = {
        "best focus at": Side(text="not told") if best is None else replace(best, text=f"{best.text} mm"),
        "sharpest photograph": _sharpest(max(measured, key=lambda one: one["mtf50"]), locale),
        "photographs measured": Side(text=f"{len(measured)} of {len(shots)}"),
    }
    return Said(
        figures=figures,
        notes=(
            "Positions count away from the film; MTF50 in cycles per pixel of the photograph.",
            "In this order: " + ", ".join(f"{one['file']} at {one['at']:g} mm" for one in shots) + ".",
            *(result.get("warnings") or ()),
        ),
        caution=CAUTION,
    )


def _sharpest(one: Mapping[str, Any], locale: str) -> Side:
    side = figure_side(one, "mtf50", "", locale)
    assert side is not None, "it was measured"
    return replace(side, text=f"{side.text} c/px at {one['at']:g} mm")
