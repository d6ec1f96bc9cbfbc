"""
Draws of many spreads at once, through tables over the normal score: fast, and any two may go together.

A draw is z, a standard normal number, and the spread's quantile at the chance of z at most. Draws whose z
share a part go together (a Gaussian copula), whatever their shapes are.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from pegwood.pricing.spread.shapes import Fixed, Gamma, Lognormal, Pert, Spread

Few = NDArray[np.float32]
Ints = NDArray[np.intp]
#: The table goes so many standard deviations out (beyond lies a chance of 2e-8), in so many points.
FURTHEST = 5.5
POINTS = 1025
_PER_Z = (POINTS - 1) / (2 * FURTHEST)


class Many:
    """
    Several spreads, to be drawn from by their place.

    Between two points of the table a draw is off by less than 1e-3 of the spread's standard deviation, for
    spreads up to a high of 20 times the low and draws within 4 of them: the tests hold it to that.

    Parameters
    ----------
    spreads : sequence of Spread
    """

    def __init__(self, spreads: Sequence[Spread]) -> None:
        self.spreads = tuple(spreads)
        self._logs = _logs(self.spreads)
        rows = [] if self._logs else [_points(one) for one in self.spreads]
        table = np.array(rows, dtype=np.float32).reshape(len(rows), POINTS)
        self._values = table
        self._steps = np.diff(table, axis=1, append=table[:, -1:])

    def at(self, which: Ints | NDArray[np.int32], z: Few) -> Few:
        """
        Draws.

        Parameters
        ----------
        which : array of int, shape (n,)
            Places of spreads.
        z : array of float32, shape (n,)
            Standard normal numbers.

        Returns
        -------
        array of float32, shape (n,)
        """
        if self._logs is not None:
            median, sigma = self._logs
            return np.asarray(np.exp(sigma[which] * z) * median[which])
        place, whole = _place(z)
        whole += which.astype(np.int32) * np.int32(POINTS)
        place *= self._steps.ravel()[whole]
        place += self._values.ravel()[whole]
        return place

    def all_at(self, z: Few) -> Few:
        """Draws of every spread, (n_spreads, n), from the scores of each: one by one, as caches like it."""
        if self._logs is not None:
            median, sigma = self._logs
            score = sigma[:, np.newaxis] * z
            np.exp(score, out=score)
            score *= median[:, np.newaxis]
            return np.asarray(score)
        found = np.empty_like(z)
        for values, steps, of, to in zip(self._values, self._steps, z, found, strict=True):
            place, whole = _place(of)
            place *= steps[whole]
            np.add(place, values[whole], out=to)
        return found


def _logs(spreads: tuple[Spread, ...]) -> tuple[Few, Few] | None:
    """Medians and sigmas, where all are lognormal: then no table is needed."""
    if not all(isinstance(one, Lognormal | Fixed) for one in spreads):
        return None
    median = [one.median if isinstance(one, Lognormal) else one.mean for one in spreads]
    sigma = [one.sigma if isinstance(one, Lognormal) else 0.0 for one in spreads]
    return np.array(median, dtype=np.float32), np.array(sigma, dtype=np.float32)


def _place(z: Few) -> tuple[Few, NDArray[np.int32]]:
    """Where in the table a score lies: how far behind which point."""
    place: Few = z + np.float32(FURTHEST)
    place *= np.float32(_PER_Z)
    np.clip(place, 0, np.float32(POINTS - 1.001), out=place)
    whole = place.astype(np.int32)
    place -= whole
    return place, whole


@lru_cache(maxsize=8192)
def _points(one: Spread) -> NDArray[np.float64]:
    """Its quantiles at the points of the table."""
    if isinstance(one, Fixed):
        return np.full(POINTS, one.value)
    if isinstance(one, Pert):
        return np.asarray(one.low + (one.high - one.low) * _beta_points(round(one.ab[0], 12), one.weight))
    if isinstance(one, Gamma):
        return np.asarray(one.scale * _gamma_points(one.k))
    return one.quantile(_upto())


@lru_cache(maxsize=1)
def _upto() -> NDArray[np.float64]:
    return np.asarray(ndtr(np.linspace(-FURTHEST, FURTHEST, POINTS)))


@lru_cache(maxsize=1024)
def _beta_points(a: float, weight: float) -> NDArray[np.float64]:
    """Of all beta-PERT spreads of one skew: low 0, high 1. Most steps share theirs with others."""
    return Pert(0.0, (a - 1) / weight if weight else 0.5, 1.0, weight).quantile(_upto())


@lru_cache(maxsize=1024)
def _gamma_points(k: float) -> NDArray[np.float64]:
    return Gamma(k, 1.0).quantile(_upto())
