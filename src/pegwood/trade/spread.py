"""A figure that is known only between bounds: the least, the usual and the most."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Spread:
    """
    Three figures in the same unit; which one, the field that holds it says.

    Raises
    ------
    ValueError
        If they are not in order, below zero or no numbers.
    """

    low: float
    likely: float
    high: float

    def __post_init__(self) -> None:
        if not all(math.isfinite(one) for one in self):
            raise ValueError("low, likely and high must be numbers.")
        if not 0 <= self.low <= self.likely <= self.high:
            raise ValueError(
                f"low {self.low:g}, likely {self.likely:g}, high {self.high:g}: expected in order, from 0."
            )

    def __iter__(self) -> Iterator[float]:
        return iter((self.low, self.likely, self.high))

    def times(self, factor: float) -> Spread:
        """The same in another unit, or stretched."""
        return Spread(low=self.low * factor, likely=self.likely * factor, high=self.high * factor)

    def plain(self) -> dict[str, float]:
        """For JSON."""
        return {"low": self.low, "likely": self.likely, "high": self.high}
