"""How long a job is laid by: from "3 h" or "2 days" to the moment when it can go on."""

from __future__ import annotations

import re
from datetime import datetime, timedelta

from pegwood.book.refusal import Refused

_LONG = re.compile(r"(\d+(?:[.,]\d+)?)\s*(min|minutes?|h|hours?|d|days?|w|weeks?)", re.IGNORECASE)
_SECONDS = {"m": 60, "h": 3600, "d": 86400, "w": 604800}
LONGEST = timedelta(days=366)


def waits_until(long: str, start: datetime) -> datetime | None:
    """
    When a wait of so long is over; None where nothing was said.

    Parameters
    ----------
    long : str
        A time, such as "90 min", "3 h", "2 days".
    start : datetime
        When it begins.

    Raises
    ------
    Refused
        If it is no time, or longer than a year.
    """
    if not (long := " ".join(long.split())):
        return None
    if not (told := _LONG.fullmatch(long)):
        raise Refused(f"{long!r} is no time. Say it as '90 min', '3 h' or '2 days'.")
    wait = timedelta(seconds=float(told[1].replace(",", ".")) * _SECONDS[told[2][0].lower()])
    if not timedelta() < wait <= LONGEST:
        raise Refused(f"{long!r}: a wait is longer than nothing and no longer than a year.")
    return start + wait
