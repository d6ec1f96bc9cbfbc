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

__all__ = ["Limit", "Verdict", "conformance_probability", "verdict"]

Verdict = Literal["within", "outside", "too close to call", "no limit given"]


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
        for side in (self.low_ev, self.high_ev):
            if side is not None and not math.isfinite(side):
                raise ValueError(f"A limit must be finite, not {side!r}; leave an open side out")
        if self.low_ev is not None and self.high_ev is not None and self.low_ev > self.high_ev:
            raise ValueError(f"A limit from {self.low_ev} to {self.high_ev} EV is crossed")
        if not self.source.strip() or not self.mark:
            raise ValueError("A limit must say whose it is: source and mark")

    @property
    def is_open(self) -> bool:
        """True where neither side is limited."""
        return self.low_ev is None and self.high_ev is None


def verdict(measured: Measured | None, limit: Limit | None, probability: float = 0.95) -> Verdict:
    """
    Compare an error with a limit.

    Parameters
    ----------
    measured : Measured or None
        The error, [EV]; None where there is nothing to judge.
    limit : Limit or None
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
    floor = -math.inf if limit.low_ev is None else limit.low_ev
    ceiling = math.inf if limit.high_ev is None else limit.high_ev
    if floor <= low and high <= ceiling:
        return "within"
    if high < floor or low > ceiling:
        return "outside"
    return "too close to call"


def conformance_probability(measured: Measured, limit: Limit) -> float:
    """
    Chance that the true value lies within the limit, for a normal distribution.

    Parameters
    ----------
    measured : Measured
        The error, [EV].
    limit : Limit
        The workshop's limit, [EV].

    Returns
    -------
    probability : float
        Between 0 and 1, [-]. JCGM 106:2012, 7 (from memory).
    """
    from scipy.special import ndtr

    floor = -math.inf if limit.low_ev is None else limit.low_ev
    ceiling = math.inf if limit.high_ev is None else limit.high_ev
    if measured.u == 0:
        return 1.0 if floor <= measured.value <= ceiling else 0.0
    return float(ndtr((ceiling - measured.value) / measured.u) - ndtr((floor - measured.value) / measured.u))
