"""Chances, odds and looks in a repairer's words. Pure."""

from __future__ import annotations

import math

from pegwood.causes.known import DONT_KNOW, SORT_OF, By, Sign
from pegwood.web.words import minutes as hours

BY: dict[By, str] = {"eye": "by eye", "hand": "by hand", "ear": "by ear", "instrument": "with an instrument"}
#: A chance below it is told as one in so many.
SMALL = 0.01
#: Below that, nobody could tell one from another.
SMALLEST = 0.001
#: Odds are told in whole numbers from here on.
WHOLE_FROM = 10.0


def chance(value: float) -> str:
    """0.614 as "61 %", 0.004 as "1 in 250", what is nearly certain or nearly not as just that."""
    if value > 0.995:
        return "over 99 %"
    if value >= SMALL:
        return f"{value:.0%}".replace("%", " %")
    if value >= SMALLEST:
        return f"1 in {_round(1 / value):d}"
    return "under 1 in 1000"


def _round(number: float) -> int:
    """To two figures."""
    step: int = 10 ** max(0, math.floor(math.log10(number)) - 1)
    return round(number / step) * step


def factor(log_odds: float) -> str:
    """By what the odds were changed: "× 3.2", "÷ 4.0"; what settles it as "settles it"."""
    by = math.exp(min(abs(log_odds), 700.0))
    if by > 1e6:
        return "settles it"
    sign = "×" if log_odds >= 0 else "÷"
    return f"{sign} {by:.0f}" if by >= WHOLE_FROM else f"{sign} {by:.1f}"


def times(odds: float) -> str:
    """An odds factor as it stands in the knowledge: "× 3", "÷ 2.5"."""
    return f"× {odds:.3g}" if odds >= 1 else f"÷ {1 / odds:.3g}"


def share(value: float) -> str:
    """How often an answer comes, in per cent: "45 %", "0.5 %", "never"."""
    return f"{100 * value:.3g} %" if value else "never"


def minutes(value: float) -> str:
    """2.0 as "2 min", 0.5 as "half a minute", less than that in seconds."""
    if value == 0.5:
        return "half a minute"
    if value < 1:
        return f"{round(60 * value / 5) * 5 or 5:d} s"
    return f"{value:.1f}".rstrip("0").rstrip(".") + " min" if value < 10 else f"{value:.0f} min"


def whole(value: float) -> str:
    """Minutes that are reckoned, not measured: "7 min", "1 h 20 min"."""
    return hours(max(1, round(value)))


def seen(sign: Sign, answer: str) -> str:
    """A look and its answer, short: "Move the cocking lever slowly: stiff"."""
    where, colon, _ = sign.asks.partition(":")
    if colon:
        return f"{where}: {answer}"
    return f"{sign.asks} {answer}"


def is_sort_of(answer: str) -> bool:
    """Whether an answer says that it is only partly so."""
    return answer.casefold().startswith(SORT_OF)


def is_unknown(answer: str) -> bool:
    """Whether nobody could answer."""
    return answer.casefold().replace("’", "'") == DONT_KNOW


def slug(fault: str) -> str:
    """An id as it may stand in a page's addresses: "shutter.blades-oily" as "shutter-blades-oily"."""
    return fault.replace(".", "-")
