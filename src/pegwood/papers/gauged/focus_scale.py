"""A distance scale's error, in words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from pegwood.papers.beside import Side
from pegwood.papers.figures import stated
from pegwood.papers.gauged.figures import error_side, limit_notes
from pegwood.papers.gauged.telling import Said

CAUTION = "A lens is a burning glass: keep the sun off the bench, and look through no lens at it."


def said(result: Mapping[str, Any], locale: str) -> Said:
    """
    The mark that is furthest off for its limit first, then what all marks share, then what grows.

    Parameters
    ----------
    result : mapping
        As `measure.focus.scale` describes it.
    locale : str
    """
    worst = max(result["marks"], key=lambda one: abs(one["error_m"]) / one["depth_of_focus_m"])
    figures: dict[str, Side | None] = {
        "at the film at worst": _at_mark(worst, locale),
        "all marks alike": error_side(result, "offset", locale, unit="m"),
        "grows with the extension": _percent(result, locale),
        "shim, plus is thicker": error_side(result, "shim", locale, unit="m"),
        "or helicoid, minus is in": error_side(result, "helicoid", locale, unit="turns"),
    }
    return Said(
        figures={label: side for label, side in figures.items() if side is not None},
        notes=(
            *limit_notes([worst["limit"]], "m", locale),
            "Plus: too far from the film; what is sharp lies nearer than the mark.",
            *(result.get("warnings") or ()),
        ),
        caution=CAUTION,
    )


def _at_mark(one: Mapping[str, Any], locale: str) -> Side:
    side = error_side(one, "error", locale, one["verdict"], unit="m")
    assert side is not None, "a mark that was read has an error"
    mark = "∞" if one["marked_m"] is None else f"{one['marked_m']:.3g} m"
    return replace(side, text=f"{side.text} at {mark}")


def _percent(result: Mapping[str, Any], locale: str) -> Side | None:
    value, ends = result["gain"], result["gain_95"]
    if value is None or not ends or None in ends:
        return None
    told = stated(100 * value, 50 * (ends[1] - ends[0]), "%", locale)
    plus = "+" if value > 0 and not told.value.startswith("+") else ""
    return Side(text=f"{plus}{told.value} ± {told.plus_minus} %")
