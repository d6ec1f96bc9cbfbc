"""Figures as they stand on a paper: never a digit that the uncertainty does not carry."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal

from babel.dates import format_date, format_time
from babel.numbers import format_decimal

MINUS = "\u2212"
FINEST_EV = Decimal("0.01")  # nobody exposes film closer than that


@dataclass(frozen=True)
class Stated:
    """A value and its expanded uncertainty, rounded together; `unit` goes with both."""

    value: str
    plus_minus: str
    unit: str


def stated_time(value_s: float, half_width_s: float, locale: str) -> Stated:
    """
    A time and its 95 % half-width: two significant digits of the half-width, the time to the same place.

    Parameters
    ----------
    value_s : float
        [s]
    half_width_s : float
        [s], above zero.
    locale : str

    Returns
    -------
    stated : Stated
        In s from one second on, below in ms.

    Notes
    -----
    JCGM 100:2008, 7.2.6: it usually suffices to quote an uncertainty to at most two significant digits, and
    estimates are rounded to be consistent with it.

    Examples
    --------
    >>> stated_time(0.0105283, 0.000179, "en_GB")
    Stated(value='10.53', plus_minus='0.18', unit='ms')
    """
    scale, unit = (0, "s") if value_s >= 1 else (3, "ms")
    half_width = Decimal(repr(half_width_s)).scaleb(scale)
    quantum = _two_digit_quantum(half_width)
    value = Decimal(repr(value_s)).scaleb(scale)
    return Stated(_rounded(value, quantum, locale), _rounded(half_width, quantum, locale), unit)


def stated(value: float, half_width: float, unit: str, locale: str) -> Stated:
    """
    A figure and its 95 % half-width in a unit of its own, rounded as `stated_time` rounds.

    Parameters
    ----------
    value, half_width : float
        In `unit`; the half-width above zero.
    unit : str
        Such as `mm`.
    locale : str

    Returns
    -------
    stated : Stated

    Examples
    --------
    >>> stated(4.8312, 0.0472, "mm", "en_GB")
    Stated(value='4.831', plus_minus='0.047', unit='mm')
    """
    half = Decimal(repr(half_width))
    quantum = _two_digit_quantum(half)
    return Stated(_rounded(Decimal(repr(value)), quantum, locale), _rounded(half, quantum, locale), unit)


def stated_error(error_ev: float, half_width_ev: float, locale: str) -> Stated:
    """
    An error in EV, always with its sign, and its 95 % half-width.

    Parameters
    ----------
    error_ev, half_width_ev : float
        [EV]
    locale : str

    Returns
    -------
    stated : Stated
        Two significant digits of the half-width but nothing finer than 0.01 EV; a half-width that this
        cuts is rounded up, so that the paper never claims more than was measured.

    Examples
    --------
    >>> stated_error(0.0721, 0.0124, "en_GB")
    Stated(value='+0.07', plus_minus='0.02', unit='EV')
    """
    half_width = Decimal(repr(half_width_ev))
    quantum = max(_two_digit_quantum(half_width), FINEST_EV)
    exact = _two_digit_quantum(half_width) >= FINEST_EV
    rounding = ROUND_HALF_UP if exact else ROUND_CEILING
    value = _rounded(Decimal(repr(error_ev)), quantum, locale, sign=True)
    return Stated(value, _rounded(half_width, quantum, locale, rounding=rounding), "EV")


def plain_time(value_s: float, locale: str) -> str:
    """
    A target time, which is exact, to four significant digits.

    Parameters
    ----------
    value_s : float
        [s]
    locale : str

    Returns
    -------
    text : str

    Examples
    --------
    >>> plain_time(1 / 128, "en_GB"), plain_time(0.5, "en_GB"), plain_time(2.0, "en_GB")
    ('7.813 ms', '500 ms', '2 s')
    """
    scale, unit = (0, "s") if value_s >= 1 else (3, "ms")
    value = Decimal(repr(value_s)).scaleb(scale)
    quantum = Decimal(1).scaleb(value.adjusted() - 3)
    return f"{_number(value.quantize(quantum, rounding=ROUND_HALF_UP), '#,##0.#########', locale)} {unit}"


def spread(value_ev: float, half_width_ev: float, locale: str) -> str:
    """A spread in EV to the place of the error it stands beside."""
    quantum = max(_two_digit_quantum(Decimal(repr(half_width_ev))), FINEST_EV)
    return _rounded(Decimal(repr(value_ev)), quantum, locale)


def fixed(value: float, places: int, locale: str) -> str:
    """A figure with so many decimals, such as a coverage factor."""
    return _rounded(Decimal(repr(value)), Decimal(1).scaleb(-places), locale)


def percent(share: float, locale: str) -> str:
    r"""
    A share in per cent, to two significant digits.

    Parameters
    ----------
    share : float
        1 is the whole.
    locale : str

    Returns
    -------
    text : str

    Examples
    --------
    >>> percent(0.0123, "en_GB"), percent(0.834, "en_GB"), percent(0, "en_GB")
    ('1.2\xa0%', '83\xa0%', '0\xa0%')
    """
    value = Decimal(repr(share)).scaleb(2)
    quantum = _two_digit_quantum(value) if value > 0 else Decimal(1)
    return _rounded(value, min(quantum, Decimal(1)), locale) + "\u00a0%"


def signed_ev(value_ev: float, locale: str) -> str:
    """A limit in EV with its sign, as set by somebody: to 0.01 EV, no needless noughts."""
    value = Decimal(repr(value_ev)).quantize(FINEST_EV, rounding=ROUND_HALF_UP)
    return _number(value, "+0.##;-0.##", locale) if value else "0"


def decimal_number(text: str, locale: str) -> str:
    """A plain decimal number such as `1.5` as the locale writes it; nothing is rounded."""
    return _number(Decimal(text), "#,##0.######", locale)


def long_date(date: str, locale: str) -> str:
    """An ISO date, or the date of an ISO date and time, as the locale writes it in words."""
    return str(format_date(dt.date.fromisoformat(date[:10]), format="long", locale=locale))


def hour_of(moment: str, locale: str) -> str:
    """
    The time of day of an ISO date and time, on its own clock.

    Examples
    --------
    >>> hour_of("2026-03-04T14:05:00+01:00", "en_GB")
    '14:05'
    """
    clock = dt.datetime.fromisoformat(moment).time()
    return str(format_time(clock, format="short", locale=locale))


def _two_digit_quantum(value: Decimal) -> Decimal:
    """The place of the second significant digit, after rounding to it (0.0996 becomes 0.10, not 0.100)."""
    quantum = Decimal(1).scaleb(value.adjusted() - 1)
    return Decimal(1).scaleb(value.quantize(quantum).adjusted() - 1)


def _rounded(
    value: Decimal, quantum: Decimal, locale: str, *, sign: bool = False, rounding: str = ROUND_HALF_UP
) -> str:
    steps = (value / quantum).to_integral_value(rounding=rounding)
    rounded = steps * quantum
    places = max(0, -int(quantum.as_tuple().exponent))
    pattern = "#,##0" + ("." + "0" * places if places else "")
    return _number(rounded, f"+{pattern};-{pattern}" if sign and rounded else pattern, locale)


def _number(value: Decimal, pattern: str, locale: str) -> str:
    value = value if value else abs(value)  # no minus before nothing
    text = format_decimal(value, format=pattern, locale=locale, decimal_quantization=False)
    return str(text).replace("-", MINUS)
