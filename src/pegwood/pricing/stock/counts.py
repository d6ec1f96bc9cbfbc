"""How many of something: a chance for each whole number, and what follows for a stock of it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy import stats

Floats = NDArray[np.float64]
#: What lies beyond is left out; all that is told of it is good to far more than it is shown with.
TAIL = 1e-13
#: A shelf of spares is asked for, not a warehouse.
MOST = 20_000


@dataclass(frozen=True, eq=False)
class Counts:
    """
    The chance of each count 0, 1, 2, ...

    Parameters
    ----------
    chances : array, shape (n,)
        Of the counts from 0 on, [1]; they come to 1.

    Raises
    ------
    ValueError
        If they are no chances, or do not come to 1.
    """

    chances: Floats

    def __post_init__(self) -> None:
        chances = self.chances
        if chances.ndim != 1 or not len(chances) or not bool(np.all(np.isfinite(chances) & (chances >= 0))):
            raise ValueError("the chances of a count are a row of plain numbers from 0 to 1.")
        if abs(float(chances.sum()) - 1) > 1e-9:
            raise ValueError(f"the chances come to {float(chances.sum()):g}. Expected 1.")

    @classmethod
    def exactly(cls, count: int) -> Counts:
        """No doubt at all."""
        return cls(np.eye(1, count + 1, count).ravel())

    @classmethod
    def poisson(cls, mean: float) -> Counts:
        """
        What comes by itself, each independent of the others.

        Parameters
        ----------
        mean : float
            Expected count, [1].
        """
        if not (math.isfinite(mean) and 0 <= mean <= MOST / 2):
            raise ValueError(f"the expected count is {mean:g}. Expected from 0 to {MOST // 2}.")
        return cls.of(stats.poisson(mean))

    @classmethod
    def of(cls, told: stats.rv_frozen) -> Counts:
        """A distribution over whole numbers from SciPy, as far as it matters."""
        last = int(min(told.isf(TAIL), MOST)) + 1
        chances: Floats = np.asarray(told.pmf(np.arange(last + 1)), dtype=np.float64)
        if chances.sum() < 1 - 1e-6:
            raise ValueError(f"it may be more than {MOST}: too many for a shelf of spares.")
        return cls(chances / chances.sum())

    @classmethod
    def of_chances(cls, each: Iterable[float]) -> Counts:
        """
        How many of several things come about, each by itself with a chance of its own.

        Parameters
        ----------
        each : iterable of float
            [1]. The count is Poisson-binomial; it is added up one thing at a time, which is exact.
        """
        found = np.ones(1)
        for chance in each:
            if not 0 <= chance <= 1:
                raise ValueError(f"the chance is {chance:g}. Expected from 0 to 1.")
            found = np.convolve(found, [1 - chance, chance])
        return cls(found)

    def and_(self, other: Counts) -> Counts:
        """Both together, where neither tells of the other."""
        return Counts(np.convolve(self.chances, other.chances))

    @property
    def mean(self) -> float:
        return float(self.chances @ np.arange(len(self.chances)))

    @property
    def variance(self) -> float:
        return float(self.chances @ np.arange(len(self.chances)) ** 2) - self.mean**2

    @cached_property
    def _above(self) -> Floats:
        """Chance of more than 0, 1, 2, ..., summed from the small end, where rounding is least."""
        return np.append(np.cumsum(self.chances[::-1])[::-1][1:], 0.0)

    def above(self, stock: int) -> float:
        """Chance that more than `stock` are wanted, [1]."""
        if stock < 0:
            return 1.0
        return float(self._above[stock]) if stock < len(self._above) else 0.0

    def missing(self, stock: int) -> float:
        """How many are wanted beyond `stock` on average; of a stock that is owed, all and what is owed."""
        if stock < 0:
            return self.mean - stock
        return float(self._above[stock:].sum())

    def left(self, stock: int) -> float:
        """How many of `stock` nobody wants, on average."""
        return stock - self.mean + self.missing(stock)

    def smallest(self, share: float) -> int:
        """
        The smallest stock that does with at least this chance.

        Parameters
        ----------
        share : float
            [1], below 1.
        """
        if not 0 <= share < 1:
            raise ValueError(f"the chance is {share:g}. Expected from 0 to below 1.")
        return int(np.argmax(self._above <= 1 - share))


def mixed(weights: Sequence[float] | Floats, each: Sequence[Counts]) -> Counts:
    """One of several counts, each with its chance, [1]; they come to 1."""
    found = np.zeros(max(len(one.chances) for one in each))
    for weight, one in zip(weights, each, strict=True):
        found[: len(one.chances)] += weight * one.chances
    return Counts(found)
