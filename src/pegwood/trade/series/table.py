"""Markings of stops and times, and the exact values they stand for."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from pegwood.trade.reference import Named, Reference, Table

Quantity = Literal["stop", "time"]

_TIME = re.compile(r"^(?P<number>\d+(?:\.\d+)?|\.\d+|1\s*/\s*\d+(?:\.\d+)?)\s*(?:s|sec|second|seconds)?$")
_STOP = re.compile(r"^(?:f\s*/?\s*)?(?P<number>\d+(?:\.\d+)?|\.\d+)$")


@dataclass(frozen=True, kw_only=True)
class Series(Named):
    """
    A row of markings.

    Attributes
    ----------
    quantity : str
        ``"stop"`` or ``"time"``.
    markings : tuple of str
        As engraved, in order.
    first_ev : float, optional
        Av of the first stop or Tv of the first time; None for a series without exact values.
    per_ev : int
        Markings to one EV.
    """

    quantity: Quantity
    markings: tuple[str, ...]
    first_ev: float | None = None
    per_ev: int = 1

    def __post_init__(self) -> None:
        super().__post_init__()
        values = [value(one, self.quantity) for one in self.markings]
        rising = sorted(set(values), reverse=self.quantity == "time")
        if values != rising:
            raise ValueError("the markings are not in order, or one stands there twice.")
        if self.per_ev < 1:
            raise ValueError("at least one marking comes to one EV.")

    def __iter__(self) -> Iterator[Marking]:
        for place, text in enumerate(self.markings):
            ev = None if self.first_ev is None else self.first_ev + place / self.per_ev
            yield Marking(self, text, ev)


@dataclass(frozen=True)
class Marking:
    """
    One marking of a series.

    Attributes
    ----------
    series : Series
    text : str
    ev : float, optional
        Av or Tv of the exact value; None where the marking is taken at its word.
    """

    series: Series
    text: str
    ev: float | None

    @property
    def marked(self) -> float:
        """The value taken at its word: f-number, or s."""
        return value(self.text, self.series.quantity)

    @property
    def exact(self) -> float:
        """The value it stands for: f-number, or s."""
        if self.ev is None:
            return self.marked
        return 2 ** (self.ev / 2) if self.series.quantity == "stop" else 2**-self.ev

    @property
    def error_ev(self) -> float:
        """The marking at its word against the exact value, EV; positive lets in more light."""
        times = math.log2(self.marked / self.exact)
        return -2 * times if self.series.quantity == "stop" else times


SERIES = Table("markings", Series)


def value(text: str, quantity: Quantity) -> float:
    """
    A stop or a time in s from how it is written: ``"f/5.6"``, ``"5.6"``; ``"1/125"``, ``"0.5"``, ``"8 s"``.

    Raises
    ------
    ValueError
        If it cannot be read or is not above zero.
    """
    found = (_STOP if quantity == "stop" else _TIME).match(text.strip().lower())
    number = Fraction(found["number"].replace(" ", "")) if found and not _by_zero(found["number"]) else None
    if not number or number <= 0:
        how = "f/5.6 or 5.6" if quantity == "stop" else "1/125, 0.5 or 8s"
        raise ValueError(f"{text!r} is no {quantity}. Give it as {how}.")
    return float(number)


def _by_zero(number: str) -> bool:
    return "/" in number and float(number.split("/")[1]) == 0


def is_time(text: str) -> bool:
    """Whether a value is written as a time (a fraction or with its s) and not as a stop."""
    plain = text.strip().lower()
    return bool(_TIME.match(plain)) and ("/" in plain or plain.endswith(("s", "sec", "second", "seconds")))


def readings(reference: Reference, text: str, quantity: Quantity) -> list[Marking]:
    """
    Every marking that a stop or time can be, series by series, each exact value once.

    Parameters
    ----------
    reference : Reference
    text : str
        As `value`.
    """
    wanted = value(text, quantity)
    found: dict[float | None, Marking] = {}
    for series in reference.rows(SERIES).values():
        if series.quantity == quantity:
            for marking in series:
                if math.isclose(marking.marked, wanted, rel_tol=1e-9):
                    found.setdefault(marking.ev, marking)
    return list(found.values())
