"""
Values as a person reads them. Pure: the caller brings the clock, the zone and the locale.

The template filters in ``templatetags/bench.py`` are one line each over these.
"""

from __future__ import annotations

import math
from datetime import date, datetime, timedelta
from typing import NamedTuple
from zoneinfo import ZoneInfo

from babel.dates import format_date, format_time

MINUS = "−"
_LOW, _HIGH = "\x02", "\x03"  # around what was looked for: see pegwood.book.search


class Shape(NamedTuple):
    """How a verdict is drawn: its class in the style sheet, and its shape."""

    kind: str
    shape: str


SHAPES = {
    "within": Shape("in", "dot"),
    "outside": Shape("out", "triangle"),
    "too close to call": Shape("near", "ring"),
    "no limit given": Shape("none", ""),
}


def shape(verdict: str) -> Shape:
    """The shape that goes with a verdict's word; an unknown word gets none."""
    return SHAPES.get(verdict, SHAPES["no limit given"])


# --- days and hours ----------------------------------------------------------------------------------


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


def promise(promised_on: date | None, today: date, locale: str, *, is_over: bool = False) -> str:
    """What was promised and how near that is; empty where nothing was."""
    if promised_on is None:
        return ""
    if is_over:
        return f"promised for {day(promised_on, locale)}"
    late = (today - promised_on).days
    if late > 0:
        return f"{_length(late)} late, promised for {day(promised_on, locale)}"
    if late >= -1:
        return f"promised for {away(promised_on, today)}"
    return f"promised for {day(promised_on, locale)}, {away(promised_on, today)}"


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


# --- measured values ---------------------------------------------------------------------------------


def signed(value: float, decimals: int = 2) -> str:
    """A number with its sign, the minus a true one; what rounds to nothing has none."""
    text = f"{value:+.{decimals}f}"
    if not any(digit in text for digit in "123456789"):
        return text[1:]
    return text.replace("-", MINUS)


def plus_minus(value: float, u: float | None, *, sign: bool = False) -> str:
    """
    A value with its uncertainty, to two significant digits of the uncertainty (JCGM 100:2008, 7.2.6).

    Parameters
    ----------
    value, u : float
        In the same unit, [any]. Where `u` is missing, nought or not finite the text says so.
    sign : bool
        Whether a value above nought gets its plus.

    Examples
    --------
    >>> plus_minus(10.5312, 0.0931)
    '10.531 ± 0.093'
    """
    if u is None or not math.isfinite(u) or u <= 0 or not math.isfinite(value):
        bare = f"{value:.4g}" if math.isfinite(value) else "no figure"
        return f"{bare.replace('-', MINUS)} (uncertainty not known)"
    places = 1 - int(f"{u:.1e}".split("e")[1])
    shown, doubt = (value, u) if places >= 0 else (round(value, places), round(u, places))
    decimals = max(places, 0)
    text = f"{shown:{'+' if sign else ''}.{decimals}f}".replace("-", MINUS)
    return f"{text} ± {doubt:.{decimals}f}"


def duration(seconds: float, u_s: float | None = None) -> str:
    """
    A measured time with its uncertainty: in ms below a second, in s from there on.

    Parameters
    ----------
    seconds, u_s : float
        Time and its uncertainty as it is to be stood behind the ±, [s].
    """
    scale, unit = (1e3, "ms") if abs(seconds) < 1 else (1.0, "s")
    text = plus_minus(seconds * scale, None if u_s is None else u_s * scale)
    return f"{text} {unit}" if "(" not in text else text.replace(" (", f" {unit} (")


def one_over(seconds: float) -> str:
    """A time as a repairer says it: 1/95 s, 1/2.1 s, 1.3 s."""
    if not math.isfinite(seconds) or seconds <= 0:
        return "no time"
    if seconds >= 0.8:
        return f"{seconds:.2g} s"
    divisor = 1 / seconds
    return f"1/{divisor:.0f} s" if divisor >= 10 else f"1/{divisor:.2g} s"


def exposure_error(error_ev: float, u_ev: float | None = None) -> str:
    """An error of exposure, signed, in EV; with its uncertainty where there is one."""
    return f"{plus_minus(error_ev, u_ev, sign=True) if u_ev else signed(error_ev)} EV"


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
