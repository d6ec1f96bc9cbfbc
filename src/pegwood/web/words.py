"""
Values as a person reads them. Pure: the caller brings the clock, the zone and the locale.

The template filters in ``templatetags/bench.py`` are one line each over these. Measured values are written by
``pegwood.web.readouts``, so that page and paper round alike.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from functools import lru_cache
from typing import NamedTuple
from zoneinfo import ZoneInfo

from babel.dates import format_date, format_skeleton, format_time

from pegwood.pricing.money import Money

_LOW, _HIGH = "\x02", "\x03"  # around what was looked for: see pegwood.book.search


class Shape(NamedTuple):
    """How a verdict is drawn: its class in the style sheet, and its shape."""

    kind: str
    shape: str


SHAPES = {
    "within": Shape("in", "dot"),
    "outside": Shape("out", "triangle"),
    "too close to call": Shape("near", "ring"),
    "not to be had": Shape("near", "ring"),
    "no limit given": Shape("none", ""),
}


def shape(verdict: str) -> Shape:
    """The shape that goes with a verdict's word; an unknown word gets none."""
    return SHAPES.get(verdict, SHAPES["no limit given"])


# --- days and hours ----------------------------------------------------------------------------------


@lru_cache(maxsize=4096)
def day(value: date, locale: str) -> str:
    """A day, such as 3 May 2024."""
    return str(format_date(value, "medium", locale=locale))


def moment(value: datetime, zone: ZoneInfo, locale: str) -> str:
    """A moment in local time, such as 3 May 2024, 14:05."""
    local = value.astimezone(zone)
    return f"{day(local.date(), locale)}, {format_time(local, 'short', locale=locale)}"


def away(then: date, today: date) -> str:
    """
    How far a day is, in words: today, tomorrow, in 3 days, 2 weeks ago.

    Examples
    --------
    >>> away(date(2024, 5, 4), date(2024, 5, 3))
    'tomorrow'
    >>> away(date(2024, 4, 1), date(2024, 5, 3))
    '4 weeks ago'
    """
    days = (then - today).days
    named = {-1: "yesterday", 0: "today", 1: "tomorrow"}
    if days in named:
        return named[days]
    length = _length(abs(days))
    return f"in {length}" if days > 0 else f"{length} ago"


def ago(then: datetime, now: datetime) -> str:
    """How long something is past: just now, 5 minutes ago, 3 days ago. By the clock, not by the calendar."""
    past = now - then
    if past < timedelta(minutes=1):
        return "just now"
    if past < timedelta(hours=1):
        return f"{_count(past // timedelta(minutes=1), 'minute')} ago"
    if past < timedelta(days=1):
        return f"{_count(past // timedelta(hours=1), 'hour')} ago"
    return f"{_length(past.days)} ago"


def near_day(value: date, today: date, locale: str) -> str:
    """A day without its year where that is this year's or less than half a year off: 3 May."""
    if value.year == today.year or abs((value - today).days) < 183:
        return _yearless(value, locale)
    return day(value, locale)


@lru_cache(maxsize=4096)
def _yearless(value: date, locale: str) -> str:
    return str(format_skeleton("MMMd", value, locale=locale))


@lru_cache(maxsize=4096)
def money(amount: Money, locale: str) -> str:
    """An amount with its currency; a board of tags asks for many."""
    return amount.format(locale)


def promise(promised_on: date | None, today: date, locale: str, *, is_over: bool = False) -> str:
    """
    What was promised and how near that is; empty where nothing was.

    Examples
    --------
    >>> promise(date(2024, 5, 1), date(2024, 5, 3), "en_GB")
    '2 days late, promised 1 May'
    >>> promise(date(2024, 5, 12), date(2024, 5, 3), "en_GB")
    'promised 12 May, in 9 days'
    """
    if promised_on is None:
        return ""
    shown = near_day(promised_on, today, locale)
    late = (today - promised_on).days
    if is_over:
        return f"promised {shown}"
    if late > 0:
        return f"{_length(late)} late, promised {shown}"
    return f"promised {shown}, {away(promised_on, today)}"


def _length(days: int) -> str:
    if days < 14:
        return _count(days, "day")
    if days < 60:
        return _count(days // 7, "week")
    if days < 730:
        return _count(days // 30, "month")
    return _count(days // 365, "year")


def _count(n: int, what: str) -> str:
    return f"{n} {what}" if n == 1 else f"{n} {what}s"


def minutes(value: int) -> str:
    """A length of work, such as 1 h 20 min."""
    hours, rest = divmod(value, 60)
    parts = [f"{hours} h"] * bool(hours) + [f"{rest} min"] * bool(rest or not hours)
    return " ".join(parts)


# --- what was looked for ----------------------------------------------------------------------------


def hits(excerpt: str) -> list[tuple[bool, str]]:
    """An excerpt cut into pieces, each with whether it is what was looked for."""
    pieces: list[tuple[bool, str]] = []
    for place, run in enumerate(excerpt.split(_LOW)):
        hit, mark, rest = run.partition(_HIGH)
        if place and mark:
            pieces.append((True, hit))
        elif hit:
            pieces.append((False, hit))
        if rest:
            pieces.append((False, rest))
    return pieces
