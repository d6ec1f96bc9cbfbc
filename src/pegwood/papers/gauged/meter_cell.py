"""Cells of an exposure meter, compared, in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pegwood.papers.beside import Side
from pegwood.papers.gauged.figures import error_side, figure_side
from pegwood.papers.gauged.telling import Said


def said(result: Mapping[str, Any], locale: str) -> Said:
    """
    The better cell first, by how much, then each cell by itself.

    Parameters
    ----------
    result : mapping
        As `measure.meter-cell` describes it.
    locale : str
    """
    pairs, cells = result.get("comparisons") or (), result.get("cells") or ()
    figures: dict[str, Side | None] = {}
    if pairs:
        figures["the better cell"] = Side(text=result.get("best") or "too close to call")
    for one in pairs:
        names = f"{one['cell']} over {one['against']}"
        figures[f"{names}, middle"] = error_side(one, "middle", locale)
        figures[f"{names}, at {one['weakest_lx']:.3g} lx"] = error_side(one, "weakest", locale)
    for one in cells:
        figures[f"{one['name']}: current"] = figure_side(one, "sensitivity", "a_per_lx", locale)
        figures[f"{one['name']}: exponent"] = figure_side(one, "exponent", "", locale)
    return Said(
        figures={label: side for label, side in figures.items() if side is not None},
        notes=(
            *(f"{one['name']}: {one['says']}." for one in cells if one.get("exponent") is not None),
            "Exponent 1 goes with the light: sound. Below 1 it falls behind in strong light, above in weak.",
            *(result.get("warnings") or ()),
        ),
        caution=" ".join(result.get("cautions") or ()),
    )
