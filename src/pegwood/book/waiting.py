"""How long a job is laid by: from "3 h", "2 days" or a glue's name to the moment when it can go on."""

from __future__ import annotations

import re
from datetime import datetime, timedelta

from pegwood.book.refusal import Refused
from pegwood.book.trade_tables import tables

_LONG = re.compile(r"(\d+(?:[.,]\d+)?)\s*(min|minutes?|h|hours?|d|days?|w|weeks?)", re.IGNORECASE)
_SECONDS = {"m": 60, "h": 3600, "d": 86400, "w": 604800}
LONGEST = timedelta(days=366)


def waits_until(long: str, start: datetime) -> datetime | None:
    """
    When a wait of so long is over; None where nothing was said.

    Parameters
    ----------
    long : str
        A time, such as "90 min", "3 h", "2 days"; or the glue that has to cure, by its name: then the longest
        time until it bears its load that the trade's tables know.
    start : datetime
        When it begins.

    Raises
    ------
    Refused
        If it is neither, or longer than a year.
    """
    if not (long := " ".join(long.split())):
        return None
    if not (told := _LONG.fullmatch(long)):
        return _cured(long, start)
    wait = timedelta(seconds=float(told[1].replace(",", ".")) * _SECONDS[told[2][0].lower()])
    if not timedelta() < wait <= LONGEST:
        raise Refused(f"{long!r}: a wait is longer than nothing and no longer than a year.")
    return start + wait


def _cured(glue: str, start: datetime) -> datetime:
    from pegwood.trade.glues import cure

    try:
        return cure(tables()[0], glue).ready_at(start)
    except ValueError as unknown:
        raise Refused(f"{unknown} Or say how long, as '90 min', '3 h' or '2 days'.") from None
