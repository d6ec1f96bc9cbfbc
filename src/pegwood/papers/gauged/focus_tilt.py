"""A tilt from photographs with edges at five places, in words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from pegwood.papers.beside import Side
from pegwood.papers.gauged.figures import error_side, figure_side, limit_notes
from pegwood.papers.gauged.focus_scale import CAUTION
from pegwood.papers.gauged.telling import Said


def said(result: Mapping[str, Any], locale: str) -> Said:
    """
    How far the worst corner is off first, then the two angles, the field's curve, where focus is best.

    Parameters
    ----------
    result : mapping
        As `measure.focus` describes it, positions in mm.
    locale : str
    """
    tilt = result.get("tilt") or {}
    verdict = result["verdict"] if result.get("limit") else ""
    best = figure_side(result, "best", "", locale)
    told = [one for one in result["places"] if one["best"] is not None]
    figures: dict[str, Side | None] = {
        "worst corner off the middle": figure_side(result, "corner", "m", locale, verdict),
        "right side's focus further": error_side(tilt, "right", locale, unit="rad"),
        "top's focus further": error_side(tilt, "up", locale, unit="rad"),
        "field's curve, edge over middle": error_side(tilt, "curved", locale, unit="m"),
        "best focus in the middle at": None if best is None else replace(best, text=f"{best.text} mm"),
        "places measured": Side(text=f"{len(told)} of 5"),
    }
    if not tilt:
        figures["worst corner off the middle"] = Side(text="not told")
    return Said(
        figures={label: side for label, side in figures.items() if side is not None},
        notes=(
            "Further from the film, as seen from behind the camera.",
            *limit_notes([result["limit"]] if result.get("limit") else [], "m", locale),
            *(result.get("warnings") or ()),
        ),
        caution=CAUTION,
    )
