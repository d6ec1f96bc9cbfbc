"""The workshop's limits for the error of a shutter speed, by kind of shutter, its age and the marked time."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

from pegwood.instruments.given import table_beside
from pegwood.instruments.shutter.marked import MarkedSpeed
from pegwood.instruments.uncertainty import Mark
from pegwood.instruments.verdicts import Limit

__all__ = ["AGES", "KINDS", "LimitRow", "default_limits", "limit_for", "percent_to_ev"]

KINDS = ("leaf", "focal-plane")
"""Kinds of shutter: blades near the lens, or curtains near the film."""
AGES = ("older", "newer")
"""Age of the construction: about before and after 1960 (practice; the workshop decides which a camera is)."""


@dataclass(frozen=True)
class LimitRow:
    """
    One line of the workshop's table of limits.

    Parameters
    ----------
    kind, age : str
        One of `KINDS` and one of `AGES`, or "any".
    slowest_s, fastest_s : float
        Range of marked times at face value, both ends included, [s].
    unit : "ev" or "percent"
        What the workshop means: a symmetrical percentage is not symmetrical in EV.
    low, high : float or None
        Allowed error in that unit, signed; None where that side is open.
    source, mark, note : str
        Whose limit it is, how well that is known, and what to know about it.

    Raises
    ------
    ValueError
        If a field can't be; the message says which and what would do.
    """

    kind: str
    age: str
    slowest_s: float
    fastest_s: float
    unit: Literal["ev", "percent"]
    low: float | None
    high: float | None
    source: str
    mark: Mark
    note: str = ""

    def __post_init__(self) -> None:
        if self.kind not in (*KINDS, "any"):
            raise ValueError(
                f"Limit for {self.kind!r}: the kind of shutter is one of {', '.join(KINDS)} or any"
            )
        if self.age not in (*AGES, "any"):
            raise ValueError(
                f"Limit for {self.age!r}: the age of a shutter is one of {', '.join(AGES)} or any"
            )
        if not 0 < self.fastest_s <= self.slowest_s:
            raise ValueError(f"Limit for {self.kind}: fastest_s must be above zero and at most slowest_s")
        if self.unit not in ("ev", "percent"):
            raise ValueError(f"Limit for {self.kind}: the unit is 'ev' or 'percent', not {self.unit!r}")
        self.as_limit()

    @classmethod
    def from_mapping(cls, row: Mapping[str, Any]) -> LimitRow:
        """
        Build a row from plain data (TOML, JSON).

        Parameters
        ----------
        row : mapping
            The fields above by name.

        Returns
        -------
        row : LimitRow
            The checked row.

        Raises
        ------
        ValueError
            If a field is missing, unknown or impossible.
        """
        try:
            return cls(**{"low": None, "high": None, **row})
        except TypeError as error:
            raise ValueError(f"A limit has a missing, unknown or unreadable field: {error}") from error

    def fits(self, kind: str, age: str, nominal_s: float) -> bool:
        """
        Whether this row is about that shutter and marked time.

        Parameters
        ----------
        kind, age : str
            As in `KINDS` and `AGES`.
        nominal_s : float
            Marked time at face value, [s].

        Returns
        -------
        fits : bool
            True if it is.
        """
        return (
            self.kind in (kind, "any")
            and self.age in (age, "any")
            and self.fastest_s <= nominal_s * (1 + 1e-9)
            and nominal_s <= self.slowest_s * (1 + 1e-9)
        )

    def as_limit(self) -> Limit:
        """
        The limit in EV.

        Returns
        -------
        limit : Limit
            With this row's source and mark; the note says which unit was meant.
        """
        if self.unit == "ev":
            return Limit(self.low, self.high, self.source, self.mark, self.note)
        said = " to ".join("open" if side is None else f"{side:+g} %" for side in (self.low, self.high))
        note = f"{self.note} Meant as {said} of the time, which is not symmetrical in EV.".strip()
        low, high = (None if side is None else percent_to_ev(side) for side in (self.low, self.high))
        return Limit(low, high, self.source, self.mark, note)


def percent_to_ev(percent: float) -> float:
    """
    An error of the time in percent as EV.

    Parameters
    ----------
    percent : float
        Signed error of the time, above -100, [%].

    Returns
    -------
    error : float
        log2(1 + percent / 100), [EV].

    Raises
    ------
    ValueError
        If the error is -100 % or less.
    """
    if not percent > -100:
        raise ValueError(f"An error of {percent} % leaves no exposure at all")
    return math.log2(1 + percent / 100)


@cache
def default_limits() -> tuple[LimitRow, ...]:
    """
    The limits Pegwood comes with, all marked `practice`.

    Returns
    -------
    rows : tuple of LimitRow
        First row that fits is used.
    """
    return tuple(LimitRow.from_mapping(row) for row in table_beside(__package__, "limits.toml")["limit"])


def limit_for(
    kind: str,
    age: str,
    marked: MarkedSpeed,
    overrides: Sequence[LimitRow | Mapping[str, Any]] | None = None,
) -> Limit | None:
    """
    The workshop's limit for a marked time of a kind of shutter.

    Parameters
    ----------
    kind, age : str
        One of `KINDS` and one of `AGES`.
    marked : MarkedSpeed
        The marking; B and T have no limit.
    overrides : sequence of LimitRow or mapping, optional
        The workshop's own rows; looked at before the defaults.

    Returns
    -------
    limit : Limit or None
        None where there is none.

    Raises
    ------
    ValueError
        If the kind or age is unknown, or an override can't be read.
    """
    if kind not in KINDS:
        raise ValueError(f"No kind of shutter {kind!r}: expected one of {', '.join(KINDS)}")
    if age not in AGES:
        raise ValueError(f"No age of shutter {age!r}: expected one of {', '.join(AGES)}")
    own = [row if isinstance(row, LimitRow) else LimitRow.from_mapping(row) for row in overrides or ()]
    if marked.nominal_s is None:
        return None
    nominal_s = float(marked.nominal_s)
    return next((row.as_limit() for row in (*own, *default_limits()) if row.fits(kind, age, nominal_s)), None)
