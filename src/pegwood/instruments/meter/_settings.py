"""
What a meter without a scale of EV shows: the stop and the time at which its needle matches.

Marks are rounded: f/11 stands for 2**3.5, 1/60 for 1/64. A marking is taken for the third of a step it stands
nearest to, if it is within a tenth of an EV of it (series of powers of two, ISO 516 and ISO 517; memory).
"""

from __future__ import annotations

import math
import re

from pegwood.instruments.readings import FiguresTable, RefusedReadings

__all__ = ["STOP", "TIME", "has_settings", "settings_of"]

STOP, TIME = "shown_f_number", "shown_time"
NEAR = 0.1
_STOP = re.compile(r"(?:f\s*/?\s*)?(\d+(?:[.,]\d+)?)", re.IGNORECASE)
_TIME = re.compile(r"(?:1\s*/\s*(\d+(?:[.,]\d+)?)|(\d+(?:[.,]\d+)?))\s*(?:s|\")?", re.IGNORECASE)
_BEYOND = {"", "off", "beyond", "-"}


def has_settings(table: FiguresTable) -> bool:
    """Whether a table tells stops and times."""
    return STOP in table.columns or TIME in table.columns


def settings_of(table: FiguresTable) -> list[float | None]:
    """
    Exposure values of the stops and times that were shown.

    Parameters
    ----------
    table : FiguresTable
        With both columns, such as "f/8" and "1/125".

    Returns
    -------
    shown : list of float or None
        [EV]; None where there was none to match.

    Raises
    ------
    RefusedReadings
        If a column lacks or a cell cannot be read.
    """
    table.need(STOP, TIME)
    pairs = zip(table.column(STOP, _stop), table.column(TIME, _time), strict=True)
    return [None if stop is None or time is None else stop + time for stop, time in pairs]


def _stop(text: str) -> float | None:
    said = text.strip()
    if said.casefold() in _BEYOND:
        return None
    found = _STOP.fullmatch(said)
    number = float(found[1].replace(",", ".")) if found else 0.0
    if not 0.5 <= number <= 128:
        raise RefusedReadings(f"{said[:30]!r} is no stop. Write such as 8 or f/8.")
    return _exact(2 * math.log2(number))


def _time(text: str) -> float | None:
    said = text.strip()
    if said.casefold() in _BEYOND:
        return None
    found = _TIME.fullmatch(said)
    seconds = 0.0
    if found:
        value = float((found[1] or found[2]).replace(",", "."))
        seconds = value if found[1] is None else 1 / value if value else 0.0
    if not 1e-5 <= seconds <= 3600:
        raise RefusedReadings(f"{said[:30]!r} is no time. Write such as 1/125 or 2.")
    return _exact(-math.log2(seconds))


def _exact(ev: float) -> float:
    third = round(3 * ev) / 3
    return third if abs(ev - third) <= NEAR else ev
