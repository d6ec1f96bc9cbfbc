"""A diaphragm by calliper, mark by mark, in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pegwood.papers.beside import Side
from pegwood.papers.gauged.figures import error_side, figure_side, limit_notes
from pegwood.papers.gauged.iris import CAUTION
from pegwood.papers.gauged.telling import Said


def said(result: Mapping[str, Any], locale: str) -> Said:
    """
    A row for each mark, its error or else its diameter; the ring's play first where it was read both ways.

    Parameters
    ----------
    result : mapping
        As `measure.iris` describes it, of a table.
    locale : str
    """
    figures: dict[str, Side | None] = {}
    limits = []
    if play := result.get("hysteresis"):
        figures["opening less closing"] = error_side(play, "difference", locale, play["verdict"])
        limits.append(play["limit"])
    told = False
    for one in result.get("marks") or ():
        label = f"f/{_number(one['marked'])} {one['direction'] or ''}".strip()
        error = error_side(one, "error", locale, one["verdict"])
        figures[label] = error or figure_side(one, "diameter", "m", locale)
        if error:
            told = True
            limits.append(one["limit"])
    return Said(
        figures={label: side for label, side in figures.items() if side is not None},
        notes=(
            *(["Light against the mark: above zero it lets in too much."] if told else []),
            *limit_notes([one for one in limits if one], "ev", locale),
            *(result.get("warnings") or ()),
        ),
        caution=CAUTION,
    )


def _number(marked: str | None) -> str:
    """A mark without what may stand before its figure: "f/2.8" and "1:2,8" are 2.8 and 2,8."""
    return (marked or "?").split("/")[-1].split(":")[-1].strip().removeprefix("f").strip()
