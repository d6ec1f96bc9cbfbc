"""
Noise of a channel, from the quiet stretches beside its firings.

The noise need not be white: amplifiers and converters colour it. An autoregressive model (Yule-Walker,
order by the Bayesian information criterion) gives how much the sum of n readings varies beyond n
independent ones. What such a model can't hold, hum and slow wander, is read from the variance of block
means, and the larger of the two is used.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solve_toeplitz

__all__ = ["Noise", "estimate_noise", "median_of", "rough_sigma", "usual_sigma"]

_MAX_ORDER = 24
_PIECE = 4096
_MAX_PIECES = 24
_LAGS = 8192
_OCTAVES = 40  # more than any recording has

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Noise:
    """
    Noise of one channel without light.

    Parameters
    ----------
    sigma : float
        Standard deviation of one reading.
    df : float
        Degrees of freedom of `sigma`, [-].
    inflation : array, shape (n,)
        Variance of the sum of 1, 2, 4, 8 ... readings over that of independent ones, [-].
    rough : float
        Standard deviation as the second differences give it: what is left when everything slow is taken out.
    """

    sigma: float
    df: float
    inflation: Array
    rough: float

    def scaled(self, factor: float) -> Noise:
        """
        The same noise in another unit.

        Parameters
        ----------
        factor : float
            Above zero.

        Returns
        -------
        noise : Noise
            Scaled.
        """
        return replace(self, sigma=self.sigma * factor, rough=self.rough * factor)

    @cached_property
    def of_octaves(self) -> tuple[float, ...]:
        """Variance of the mean of 1, 2, 4, 8 ... neighbouring readings, in their squared unit."""
        octave = np.arange(_OCTAVES)
        grown = self.inflation[np.minimum(octave, len(self.inflation) - 1)]
        return tuple((self.sigma**2 * grown / 2.0**octave).tolist())

    def of_sum(self, n: float) -> float:
        """
        Variance of the sum of n neighbouring readings.

        Parameters
        ----------
        n : float
            Readings.

        Returns
        -------
        variance : float
            In the squared unit of the readings.
        """
        if n <= 0:
            return 0.0
        # lengths are the powers of two
        octave = min(math.log2(max(n, 1.0)), len(self.inflation) - 1.000001)
        low = int(octave)
        grown = self.inflation[low] + (octave - low) * (self.inflation[low + 1] - self.inflation[low])
        return self.sigma**2 * n * float(grown)


def rough_sigma(y: Array) -> float:
    """
    Noise from second differences, blind to anything that bends slowly.

    Parameters
    ----------
    y : array, shape (n,)
        Readings.

    Returns
    -------
    sigma : float
        For white noise its standard deviation; nan for fewer than 8 readings.
    """
    if len(y) < 8:
        return float("nan")
    second = y[2:] - 2 * y[1:-1] + y[:-2]
    return float(np.sqrt(np.mean(second**2) / 6))


def median_of(y: Array) -> float:
    """
    Median of finite readings, which it reorders; several times as fast as NumPy's for a few hundred.

    Parameters
    ----------
    y : array, shape (n,)
        One or more.

    Returns
    -------
    median : float
        The middle one, or the mean of both.
    """
    middle = len(y) // 2
    y.partition(middle)
    return float(y[middle]) if len(y) % 2 else 0.5 * float(y[middle] + y[:middle].max())


def usual_sigma(y: Array) -> float:
    """
    Noise from second differences by their median, which a knock does not raise.

    Parameters
    ----------
    y : array, shape (n,)
        Readings, three or more.

    Returns
    -------
    sigma : float
        For white normal noise its standard deviation (0.6745: the quartile of the normal distribution).
    """
    second = y[2:] - 2 * y[1:-1] + y[:-2]
    return median_of(np.abs(second, out=second)) / (0.6745 * math.sqrt(6))


def estimate_noise(pieces: Sequence[Array]) -> Noise:
    """
    Noise from quiet stretches.

    Parameters
    ----------
    pieces : sequence of array
        Quiet stretches without light, any lengths.

    Returns
    -------
    noise : Noise
        With at least one degree of freedom.
    """
    used = [_without_line(p) for p in _thinned(pieces) if len(p) >= 8]
    if not used:
        return Noise(0.0, 1.0, np.ones(2), 0.0)
    n = sum(len(p) for p in used)
    df = max(1.0, n - 2.0 * len(used))
    sigma = float(np.sqrt(sum(float(p @ p) for p in used) / df))
    rough = float(np.sqrt(np.mean([rough_sigma(p) ** 2 for p in used])))
    lengths: Array = 2.0 ** np.arange(20, dtype=np.float64)
    if sigma == 0:
        return Noise(0.0, df, np.ones_like(lengths), 0.0)
    grown, effective = _coloured(used, n, lengths)
    grown = np.maximum(grown, _wander(used, sigma, lengths, grown))
    return Noise(sigma, max(1.0, df * effective), grown, rough)


def _thinned(pieces: Sequence[Array]) -> list[Array]:
    chosen = pieces if len(pieces) <= _MAX_PIECES else pieces[:: len(pieces) // _MAX_PIECES + 1]
    return [np.asarray(p[-_PIECE:], dtype=np.float64) for p in chosen]


def _without_line(y: Array) -> Array:
    k = np.arange(len(y)) - (len(y) - 1) / 2
    straight: Array = y - y.mean() - k * (float(k @ y) / float(k @ k))
    return straight


def _coloured(pieces: list[Array], n: int, lengths: Array) -> tuple[Array, float]:
    """Inflation by an autoregressive model, and the share of the readings that are as good as independent."""
    order = min(_MAX_ORDER, n // 20)
    lag = [sum(float(p[: len(p) - k] @ p[k:]) for p in pieces if len(p) > k) for k in range(order + 1)]
    correlation = np.array(lag) / lag[0]
    best = _yule_walker(correlation, n)
    if len(best) == 0:
        return np.ones_like(lengths), 1.0
    from scipy.signal import lfilter, lfiltic  # slow to load, and white noise does not need it

    filter_ = np.concatenate(([1.0], -best))
    # the autocorrelation runs on beyond the order of the model by the model itself
    state = lfiltic([1.0], filter_, correlation[len(best) : 0 : -1])
    tail = lfilter([1.0], filter_, np.zeros(_LAGS), zi=state)[0]
    rho = np.concatenate((correlation[1 : len(best) + 1], tail))[:_LAGS]
    k = np.arange(1, len(rho) + 1)
    sums, weighted = np.cumsum(rho), np.cumsum(k * rho)
    grown = []
    for length in lengths:
        m = min(int(length) - 1, len(rho))
        grown.append(1.0 if m == 0 else 1 + 2 * (sums[m - 1] - weighted[m - 1] / length))
    independent = 1 / (1 + 2 * float(np.sum(rho**2)))
    return np.maximum(grown, 1e-3), min(1.0, independent)


def _yule_walker(correlation: Array, n: int) -> Array:
    """Coefficients of the order the Bayesian information criterion likes best; none for white noise."""
    best, best_score = np.zeros(0), 0.0
    for order in range(1, len(correlation)):
        try:
            coefficients = solve_toeplitz(correlation[:order], correlation[1 : order + 1])
        except np.linalg.LinAlgError:
            break
        left = 1 - float(coefficients @ correlation[1 : order + 1])
        if left <= 1e-9:
            break
        score = n * np.log(left) + order * np.log(n)
        if score < best_score:
            best, best_score = coefficients, score
    return best


def _wander(pieces: list[Array], sigma: float, lengths: Array, expected: Array) -> Array:
    """Inflation seen in block sums where it is clearly beyond what the model expects; elsewhere zero."""
    seen = np.zeros_like(lengths)
    for i, length in enumerate(lengths):
        m = int(length)
        blocks = [p[: len(p) // m * m].reshape(-1, m).sum(axis=1) for p in pieces if len(p) >= 4 * m]
        count = sum(len(b) - 2 for b in blocks)
        if m < 4 or count < 6:
            continue
        variance = sum(float(b @ b) for b in blocks) / count
        ratio = variance / (m * sigma**2)
        if ratio * (1 - 3 * np.sqrt(2 / count)) > expected[i]:
            seen[i] = ratio
    return np.maximum.accumulate(seen) if seen.any() else seen
