"""Chances and figures of what the pattern of a shutter's speeds says, as page and terminal state them."""

from __future__ import annotations

from collections.abc import Collection

from pegwood.instruments.shutter import Sign
from pegwood.papers.figures import percent, stated_error, stated_time

LEAST_SHOWN = 0.05
"""From this chance on a sign is shown to a person; programs get them all."""
ADVISED = 0.3
"""From this chance on it is worth saying what is usually done."""


def where(sign: Sign, measured: Collection[str]) -> str:
    """The markings a sign shows at; empty where it is all that were measured: its figure says so already."""
    return "" if set(sign.speeds) >= set(measured) else ", ".join(sign.speeds)


def chance(probability: float) -> str:
    """
    A probability in whole per cent; never a certainty, which nothing measured has.

    Examples
    --------
    >>> chance(0.832), chance(0.9999), chance(0.001)
    ('83 %', '> 99 %', '< 1 %')
    """
    if probability > 0.995:
        return "> 99 %"
    return f"{100 * probability:.0f} %" if probability >= 0.01 else "< 1 %"


def figure(sign: Sign, locale: str) -> str:
    """A sign's figure with half its 95 % interval, such as ``+0.31 ± 0.05 EV``; empty where there is none."""
    if sign.figure is None or sign.figure.u == 0:
        return ""
    low, high = sign.figure.coverage_interval()
    half = (high - low) / 2
    if sign.unit == "1":
        return f"{percent(sign.figure.value, locale)} ± {percent(half, locale)}"
    stated = (stated_time if sign.unit == "s" else stated_error)(sign.figure.value, half, locale)
    return f"{stated.value} ± {stated.plus_minus} {stated.unit}"
