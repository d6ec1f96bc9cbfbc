"""
How long a step takes, as a distribution: the named shapes, each with its mean, variance, cdf and quantile.

Low, likely and high do not settle a distribution: that takes a shape, and the shape moves a price more than
any reckoning with it does (five tasks as triangles or as beta-PERT: their 80 % points are 24 minutes apart;
facts, decisions 6; seen). So every result that rests on a shape names it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special
from scipy.optimize import brentq

Floats = NDArray[np.float64]
#: Standard deviations from the middle to the 90th percentile of a normal distribution.
Z_90 = float(special.ndtri(0.9))
#: A gamma narrower than this is told from a normal distribution by nothing that matters.
MOST_K = 1e6


class Spread(Protocol):
    """A distribution of minutes, days or money, none of it below 0."""

    def __hash__(self) -> int: ...

    @property
    def mean(self) -> float:
        """Its mean."""
        ...

    @property
    def variance(self) -> float:
        """Its variance."""
        ...

    def cdf(self, x: ArrayLike) -> Floats:
        """Chance of x at most, [1]."""
        ...

    def quantile(self, p: ArrayLike) -> Floats:
        """What is not exceeded with chance p, 0 < p < 1."""
        ...


@dataclass(frozen=True)
class Fixed:
    """Always the same."""

    value: float

    def __post_init__(self) -> None:
        _check(self.value >= 0, f"{self.value:g} cannot be. Expected 0 or more.", self.value)

    @property
    def mean(self) -> float:
        return self.value

    @property
    def variance(self) -> float:
        return 0.0

    def cdf(self, x: ArrayLike) -> Floats:
        return np.asarray(np.asarray(x) >= self.value, dtype=np.float64)

    def quantile(self, p: ArrayLike) -> Floats:
        return np.full(np.shape(p), self.value)


@dataclass(frozen=True)
class Pert:
    """
    Beta-PERT: a beta distribution over low to high with its mode at likely.

    Its mean is the textbook's (low + 4 likely + high) / 6; its variance is its own,
    (mean - low) (high - mean) / 7, where the textbook takes ((high - low) / 6)**2: see `textbook`. (Malcolm,
    Roseboom, Clark and Fazar 1959 for PERT; memory.) With `weight` 0 it is the uniform distribution.
    """

    low: float
    likely: float
    high: float
    weight: float = 4.0

    def __post_init__(self) -> None:
        _check_three(self.low, self.likely, self.high)
        _check(self.weight >= 0, f"a weight of {self.weight:g} cannot be. Expected 0 or more.", self.weight)

    @property
    def ab(self) -> tuple[float, float]:
        """The two parameters of the beta distribution."""
        width = self.high - self.low
        return (
            1 + self.weight * (self.likely - self.low) / width,
            1 + self.weight * (self.high - self.likely) / width,
        )

    @property
    def mean(self) -> float:
        return (self.low + self.weight * self.likely + self.high) / (self.weight + 2)

    @property
    def variance(self) -> float:
        return (self.mean - self.low) * (self.high - self.mean) / (self.weight + 3)

    def cdf(self, x: ArrayLike) -> Floats:
        share = (np.asarray(x, dtype=np.float64) - self.low) / (self.high - self.low)
        return np.asarray(special.betainc(*self.ab, np.clip(share, 0, 1)))

    def quantile(self, p: ArrayLike) -> Floats:
        return np.asarray(self.low + (self.high - self.low) * special.betaincinv(*self.ab, np.asarray(p)))


@dataclass(frozen=True)
class Triangular:
    """A triangle over low to high with its top at likely."""

    low: float
    likely: float
    high: float

    def __post_init__(self) -> None:
        _check_three(self.low, self.likely, self.high)

    @property
    def mean(self) -> float:
        return (self.low + self.likely + self.high) / 3

    @property
    def variance(self) -> float:
        a, m, b = self.low, self.likely, self.high
        return (a * a + m * m + b * b - a * m - a * b - m * b) / 18

    def cdf(self, x: ArrayLike) -> Floats:
        a, m, b = self.low, self.likely, self.high
        x = np.clip(np.asarray(x, dtype=np.float64), a, b)
        up = (x - a) ** 2 / ((b - a) * (m - a)) if m > a else np.zeros_like(x)
        down = 1 - (b - x) ** 2 / ((b - a) * (b - m)) if b > m else np.ones_like(x)
        return np.where(x < m, up, down)

    def quantile(self, p: ArrayLike) -> Floats:
        a, m, b = self.low, self.likely, self.high
        p = np.asarray(p, dtype=np.float64)
        up, down = a + np.sqrt(p * (b - a) * (m - a)), b - np.sqrt((1 - p) * (b - a) * (b - m))
        return np.where(p < (m - a) / (b - a), up, down)


@dataclass(frozen=True)
class Lognormal:
    """Its logarithm is normal: a median, and a standard deviation of the logarithm."""

    median: float
    sigma: float

    def __post_init__(self) -> None:
        _check(self.median > 0, f"a median of {self.median:g} cannot be. Expected above 0.", self.median)
        _check(self.sigma > 0, f"a sigma of {self.sigma:g} cannot be. Expected above 0.", self.sigma)

    @property
    def mean(self) -> float:
        return self.median * math.exp(self.sigma**2 / 2)

    @property
    def variance(self) -> float:
        return self.mean**2 * math.expm1(self.sigma**2)

    def cdf(self, x: ArrayLike) -> Floats:
        x = np.asarray(x, dtype=np.float64)
        with np.errstate(divide="ignore"):
            z = np.log(np.maximum(x, 0) / self.median) / self.sigma
        return np.asarray(special.ndtr(z))

    def quantile(self, p: ArrayLike) -> Floats:
        return np.asarray(self.median * np.exp(self.sigma * special.ndtri(np.asarray(p))))


@dataclass(frozen=True)
class Gamma:
    """A gamma distribution of shape k and scale; with k = 1 the exponential."""

    k: float
    scale: float

    def __post_init__(self) -> None:
        _check(self.k > 0, f"a k of {self.k:g} cannot be. Expected above 0.", self.k)
        _check(self.scale > 0, f"a scale of {self.scale:g} cannot be. Expected above 0.", self.scale)

    @property
    def mean(self) -> float:
        return self.k * self.scale

    @property
    def variance(self) -> float:
        return self.k * self.scale**2

    def cdf(self, x: ArrayLike) -> Floats:
        x = np.maximum(np.asarray(x, dtype=np.float64), 0)
        return np.asarray(special.gammainc(self.k, x / self.scale))

    def quantile(self, p: ArrayLike) -> Floats:
        return np.asarray(self.scale * special.gammaincinv(self.k, np.asarray(p)))


@cache
def gamma_of_ratio(ratio: float) -> float:
    """The k of the gamma whose 90 % point is so many times its 10 % point."""

    def off(log_k: float) -> float:
        k = math.exp(log_k)
        low, high = special.gammaincinv(k, 0.1), special.gammaincinv(k, 0.9)
        return math.log(high / low) - math.log(ratio) if low > 0 else math.inf

    if off(math.log(MOST_K)) >= 0:
        return MOST_K
    return math.exp(float(brentq(off, math.log(0.02), math.log(MOST_K), xtol=1e-12)))


def _check_three(low: float, likely: float, high: float) -> None:
    _check(
        0 <= low <= likely <= high and low < high,
        f"{low:g}, {likely:g}, {high:g}: expected low, likely, high in this order, and low below high.",
        low,
        likely,
        high,
    )


def _check(holds: bool, says: str, *figures: float) -> None:
    if not (holds and all(math.isfinite(one) for one in figures)):
        raise ValueError(says)
