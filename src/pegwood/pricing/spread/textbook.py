"""
The textbook's PERT: the sum of steps taken as normal, each of variance ((high - low) / 6)**2.

It stands here to be held against what is reckoned properly: it forgets that the tail is skewed, and so
promises too much. As Render and Stair print it (Quantitative Analysis for Management; memory).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from scipy.special import ndtr, ndtri

from pegwood.pricing.spread.shapes import Pert


@dataclass(frozen=True)
class Textbook:
    """
    A sum taken as normal.

    Attributes
    ----------
    mean, variance : float
    """

    mean: float
    variance: float

    def within(self, x: float) -> float:
        """Chance of x at most, [1]."""
        return float(ndtr((x - self.mean) / math.sqrt(self.variance)))

    def quantile(self, p: float) -> float:
        """What is not exceeded with chance p."""
        return self.mean + math.sqrt(self.variance) * float(ndtri(p))


def textbook(steps: Iterable[tuple[float, float, float]]) -> Textbook:
    """
    The sum of steps, each given by low, likely, high.

    Raises
    ------
    ValueError
        If there is none that spreads, or one is not in order.
    """
    told = [Pert(*step) for step in steps]
    if not told:
        raise ValueError("no step is given. Expected low, likely, high of one or more.")
    return Textbook(
        math.fsum(one.mean for one in told), math.fsum(((one.high - one.low) / 6) ** 2 for one in told)
    )
