"""
What a measured value says about a limit.

Rule: the 95 % interval decides. Wholly inside the limit is `within`, wholly beyond it is `outside`,
anything that straddles a limit is `too close to call`. This is guarded acceptance *and* guarded rejection
with a guard band of the expanded uncertainty (JCGM 106:2012, clause 8.3; ILAC-G8:09/2019, from memory of
both).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from pegwood.instruments.uncertainty import Mark, Measured

__all__ = ["Bounds", "Limit", "Verdict", "conformance_probability", "verdict"]

Verdict = Literal["within", "outside", "too close to call", "no limit given"]


@dataclass(frozen=True)
class Bounds:
    """
    The workshop's limit for a figure, in the unit of the figure, and whose it is.

    Parameters
    ----------
    low, high : float or None
        Lowest and highest allowed figure; None where that side is open.
    unit : str
        Unit of both, as in the names of JSON: "ev", "m", "dpt".
    source : str
        Whose limit it is.
    mark : "seen", "memory" or "practice"
        How well the source is known.
    note : str
        In whose unit it was meant, and anything a reader must know.

    Raises
    ------
    ValueError
        If the limits are crossed or not finite, or have no source or mark.
    """

    low: float | None
    high: float | None
    unit: str
    source: str
    mark: Mark
    note: str = ""

    def __post_init__(self) -> None:
        for side in (self.low, self.high):
            if side is not None and not math.isfinite(side):
                raise ValueError(f"A limit must be finite, not {side!r}; leave an open side out")
        if self.low is not None and self.high is not None and self.low > self.high:
            raise ValueError(f"A limit from {self.low} to {self.high} {self.unit.upper()} is crossed")
        if not self.source.strip() or not self.mark:
            raise ValueError("A limit must say whose it is: source and mark")

    @property
    def is_open(self) -> bool:
        """True where neither side is limited."""
        return self.low is None and self.high is None


@dataclass(frozen=True)
class Limit:
    """
    The workshop's limit for an error in EV, and whose it is.

    Parameters
    ----------
    low_ev, high_ev : float or None
        Lowest and highest allowed error, [EV]; None where that side is open.
    source : str
        Whose limit it is.
    mark : "seen", "memory" or "practice"
        How well the source is known.
    note : str
        In whose unit it was meant, and anything a reader must know.

    Raises
    ------
    ValueError
        If the limits are crossed or not finite, or have no source or mark.
    """

    low_ev: float | None
    high_ev: float | None
    source: str
    mark: Mark
    note: str = ""

    def __post_init__(self) -> None:
        _ = self.bounds  # which says what cannot be

    @property
    def bounds(self) -> Bounds:
        """The same limit, its unit a field and not a part of the names."""
        return Bounds(self.low_ev, self.high_ev, "ev", self.source, self.mark, self.note)

    @property
    def is_open(self) -> bool:
        """True where neither side is limited."""
        return self.bounds.is_open


def verdict(measured: Measured | None, limit: Limit | Bounds | None, probability: float = 0.95) -> Verdict:
    """
    Compare a figure, most often an error, with a limit.

    Parameters
    ----------
    measured : Measured or None
        The figure, in the unit of the limit; None where there is nothing to judge.
    limit : Limit, Bounds or None
        The workshop's limit; None where it has none.
    probability : float
        Coverage of the interval that decides, [-].

    Returns
    -------
    verdict : str
        One of "within", "outside", "too close to call", "no limit given".
    """
    if limit is None or limit.is_open:
        return "no limit given"
    if measured is None:
        return "too close to call"
    low, high = measured.coverage_interval(probability)
    floor, ceiling = _sides(limit)
    if floor <= low and high <= ceiling:
        return "within"
    if high < floor or low > ceiling:
        return "outside"
    return "too close to call"


def conformance_probability(measured: Measured, limit: Limit | Bounds) -> float:
    """
    Chance that the true value lies within the limit, for a normal distribution.

    Parameters
    ----------
    measured : Measured
        The figure, in the unit of the limit.
    limit : Limit or Bounds
        The workshop's limit.

    Returns
    -------
    probability : float
        Between 0 and 1, [-]. JCGM 106:2012, 7 (from memory).
    """
    from scipy.special import ndtr

    floor, ceiling = _sides(limit)
    if measured.u == 0:
        return 1.0 if floor <= measured.value <= ceiling else 0.0
    return float(ndtr((ceiling - measured.value) / measured.u) - ndtr((floor - measured.value) / measured.u))


def _sides(limit: Limit | Bounds) -> tuple[float, float]:
    sides = limit.bounds if isinstance(limit, Limit) else limit
    return (
        -math.inf if sides.low is None else sides.low,
        math.inf if sides.high is None else sides.high,
    )
