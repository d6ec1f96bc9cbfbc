"""From an instrument's answer to rows in words, whichever instrument it was."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from importlib import import_module
from typing import Any

from pegwood.papers.beside import Beside, Side, rows_of, with_their_sides

Result = Mapping[str, Any]


@dataclass(frozen=True, kw_only=True)
class Said:
    """
    One answer in words.

    Attributes
    ----------
    figures : mapping of str to Side
        Rows by label, the one that says most first.
    notes : tuple of str
        Whose limit, by what mark; what was refused, and why.
    caution : str
        Empty where the work cannot hurt.
    """

    figures: Mapping[str, Side]
    notes: tuple[str, ...] = ()
    caution: str = ""


#: By way: the module beside this one whose `said` tells it.
TELLERS = {
    "meter": "meter",
    "meter-matched": "meter",
    "meter-cell": "meter_cell",
    "rangefinder": "rangefinder",
    "take-up": "take_up",
    "friction": "friction",
    "iris-photo": "iris",
    "iris-calliper": "iris_marks",
    "iris-returns": "iris",
    "glass-side": "glass",
    "glass-cleaned": "glass",
    "glass-glare": "glass",
    "transport-strip": "transport_strip",
    "leaks": "leaks",
    "focus-scale": "focus_scale",
    "focus-flange": "focus_flange",
    "focus-edge": "focus_edge",
    "focus-tilt": "focus_tilt",
    "focus-stops": "focus_stops",
}


def says_of(way: str, result: Result | None, locale: str) -> Said:
    """
    An answer in words; nothing at all of no answer, and of a way that this Pegwood does not know.

    Parameters
    ----------
    way : str
        Which way it was gauged.
    result : mapping or None
        The instrument's answer.
    locale : str
        How figures are written.
    """
    if result is None or way not in TELLERS:
        return Said(figures={})
    tell: Callable[[Result, str], Said] = import_module(f"{__package__}.{TELLERS[way]}").said
    return tell(result, locale)


def gauged(
    way: str, words: str, marked: str, found: Result | None, left: Result | None, locale: str
) -> Beside | None:
    """
    What was gauged as found and as left, side by side.

    Parameters
    ----------
    way, words : str
        Which way it was gauged, and what that is called: "exposure meter".
    marked : str
        The mark it is about; empty where there is none.
    found, left : mapping or None
        Answers before and after the work.
    locale : str

    Returns
    -------
    beside : Beside or None
        None where neither says anything.
    """
    sides = [says_of(way, result, locale) for result in (found, left)]
    rows = tuple(rows_of([side.figures for side in sides]))
    if not rows:
        return None
    return Beside(
        marked=marked,
        what=words,
        rows=rows,
        notes=with_their_sides([side.notes for side in sides]),
        caution=next((side.caution for side in sides if side.caution), ""),
    )
