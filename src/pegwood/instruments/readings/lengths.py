"""
Lengths as a scale or a gauge says them.

A foot is 0.3048 m and an inch 25.4 mm exactly (the international yard of 1959; memory).
"""

from __future__ import annotations

import math
import re
from typing import Final

from pegwood.instruments.readings.refused import RefusedReadings

__all__ = ["METRES_IN", "metres", "unit_of"]

METRES_IN: Final = {"m": 1.0, "cm": 0.01, "mm": 0.001, "um": 1e-6, "ft": 0.3048, "in": 0.0254}
"""Metres in each unit a length may be told in."""
_NAMES = {
    "metre": "m", "metres": "m", "meter": "m", "meters": "m", "µm": "um", "μm": "um",
    "\u2032": "ft", "'": "ft",
    "foot": "ft", "feet": "ft", "\u2033": "in", '"': "in", "inch": "in", "inches": "in",
}  # fmt: skip
_INFINITE = {"inf", "infinity", "infinite", "oo", "∞"}
_NUMBER_AND_UNIT = re.compile(r"([+-]?[\d.,]+(?:e[+-]?\d+)?)\s*([^\d\s].*)?", re.IGNORECASE)
_FEET_AND_INCHES = re.compile(
    r"(\d+)\s*(?:ft|feet|foot|'|\u2032)\s*(\d+(?:[.,]\d+)?)\s*(?:in|inch|inches|\"|\u2033)?", re.IGNORECASE
)


def unit_of(text: str) -> str | None:
    """
    The unit of length a word names.

    Parameters
    ----------
    text : str
        Such as "mm", "feet" or "′".

    Returns
    -------
    unit : str or None
        A key of `METRES_IN`; None where it names none.
    """
    word = text.strip().casefold().rstrip(".")
    return word if word in METRES_IN else _NAMES.get(word)


def metres(text: str, unit: str = "m") -> float:
    """
    A length as it was typed, in metres; a unit in the text comes before the one that is usual there.

    Parameters
    ----------
    text : str
        "1.5", "1,5 m", "5 ft", "5 ft 6 in", "inf" or "∞".
    unit : str
        What a bare number is in: a key of `METRES_IN`.

    Returns
    -------
    length : float
        [m]; ``math.inf`` for infinity.

    Raises
    ------
    RefusedReadings
        If it is no length, or names a unit that is none.
    """
    said = text.strip()
    if said.casefold() in _INFINITE:
        return math.inf
    if both := _FEET_AND_INCHES.fullmatch(said):
        return float(both[1]) * METRES_IN["ft"] + float(both[2].replace(",", ".")) * METRES_IN["in"]
    parts = _NUMBER_AND_UNIT.fullmatch(said)
    try:
        value = float(parts[1].replace(",", ".")) if parts else math.nan
    except ValueError:
        value = math.nan
    if parts is None or not math.isfinite(value):
        raise RefusedReadings(f"Can't read {said[:40]!r} as a length. Write such as 1.5, 5 ft or inf.")
    if not parts[2]:
        return value * METRES_IN[unit]
    own = unit_of(parts[2])
    if own is None:
        raise RefusedReadings(f"{said[:40]!r} names no unit of length. Write m, cm, mm, ft or in.")
    return value * METRES_IN[own]
