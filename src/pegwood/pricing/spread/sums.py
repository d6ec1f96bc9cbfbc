"""
Sums of independent spreads, by convolution on a grid: no draws, no seed, and how far off it is at most.

Each spread is rounded to the nearest point of the grid, which moves it by half a step at most; so n of them
together are moved by n half steps at most, and no quantile of the sum by more. What lies beyond the last
point of a spread without an end, and what the Fourier transform rounds off, is told as a chance.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.fft import irfft, next_fast_len, rfft

from pegwood.pricing.spread.shapes import Fixed, Floats, Spread

#: The grid, [min], where none is asked for.
GRID = 0.01
#: The chance left out beyond the last point of a spread that has no end.
TAIL = 1e-10
#: More points than this take seconds, and hundreds of megabytes.
MOST_POINTS = 1 << 23


@dataclass(frozen=True, eq=False)
class Total:
    """
    A sum's distribution.

    Attributes
    ----------
    first, step : float
        The first point of the grid, and what lies between two.
    chances : array, shape (n_points,)
        Of each point, [1].
    mean, variance : float
        Of the spreads themselves: the sum's exactly.
    off : float
        By how much a quantile may be off at most.
    beyond : float
        The chance that is misplaced at most: beyond the grid's end, or rounded off, [1].
    """

    first: float
    step: float
    chances: Floats
    mean: float
    variance: float
    off: float
    beyond: float

    def cdf(self, x: ArrayLike) -> Floats:
        """Chance of x at most, [1]; between two points of the grid as if spread evenly."""
        upto = np.concatenate(([0.0], np.cumsum(self.chances)))
        edges = self.first + self.step * (np.arange(len(upto)) - 0.5)
        return np.asarray(np.interp(np.asarray(x, dtype=np.float64), edges, upto / upto[-1]))

    def quantile(self, p: ArrayLike) -> Floats:
        """What is not exceeded with chance p, 0 < p < 1."""
        upto = np.concatenate(([0.0], np.cumsum(self.chances)))
        edges = self.first + self.step * (np.arange(len(upto)) - 0.5)
        return np.asarray(np.interp(np.asarray(p, dtype=np.float64), upto / upto[-1], edges))


def total(spreads: Iterable[Spread], grid: float = GRID) -> Total:
    """
    The sum of independent spreads.

    Parameters
    ----------
    spreads : iterable of Spread
    grid : float
        What lies between two points, in the unit of the spreads; above 0.

    Returns
    -------
    Total
        Off by (number of spreads that are not fixed) x grid / 2 at most.

    Raises
    ------
    ValueError
        If the grid is not above 0, or so fine that it would take more than `MOST_POINTS`.
    """
    if not (math.isfinite(grid) and grid > 0):
        raise ValueError(f"a grid of {grid:g} cannot be. Expected above 0.")
    parts = list(spreads)
    fixed = sum(one.mean for one in parts if isinstance(one, Fixed))
    counts: dict[Spread, int] = {}
    for one in parts:
        if not isinstance(one, Fixed):
            counts[one] = counts.get(one, 0) + 1
    mean = math.fsum(one.mean for one in parts)
    variance = math.fsum(one.variance for one in parts)
    number = sum(counts.values())
    first, chances = _convolved(counts, grid)
    return Total(
        first=fixed + first,
        step=grid,
        chances=chances,
        mean=mean,
        variance=variance,
        off=number * grid / 2,
        beyond=number * TAIL + 1e-12,
    )


def _convolved(counts: Mapping[Spread, int], grid: float) -> tuple[float, Floats]:
    ends = [(one.quantile(TAIL / 2), one.quantile(1 - TAIL / 2)) for one in counts]
    lowest = [math.floor(float(low) / grid) for low, _ in ends]
    points = [math.ceil(float(high) / grid) - low + 1 for low, (_, high) in zip(lowest, ends, strict=True)]
    size = 1 + sum((n - 1) * times for n, times in zip(points, counts.values(), strict=True))
    if size > MOST_POINTS:
        raise ValueError(
            f"a grid of {grid:g} takes {size} points, {MOST_POINTS} at most. Give a coarser grid."
        )
    length = next_fast_len(size, real=True)
    product = np.ones(length // 2 + 1, dtype=np.complex128)
    for one, low, n, times in zip(counts, lowest, points, counts.values(), strict=True):
        product *= rfft(_on_grid(one, low, n, grid), length) ** times
    chances = np.maximum(irfft(product, length)[:size], 0.0)
    return grid * sum(low * t for low, t in zip(lowest, counts.values(), strict=True)), chances


def _on_grid(one: Spread, low: int, points: int, grid: float) -> Floats:
    """The chance of each point: of what is nearest to it."""
    edges = grid * (low + np.arange(1, points) - 0.5)
    upto: Sequence[float] | Floats = one.cdf(edges)
    return np.diff(np.concatenate(([0.0], upto, [1.0])))
