"""
The high-pass of an input, by least squares where the light is known to be constant.

Behind one capacitor the light x arrives as y with y' + w y = x', so x = y + w * integral of y; behind two,
x = y + (w1 + w2) * integral of y + w1 w2 * double integral of y (w in rad/s; the high-pass of the textbooks,
from memory). That is linear in a = w1 + w2 and b = w1 w2, and before and after a firing x is known: it is
dark. Linear least squares over that darkness gives a and b with their covariance, whatever the firing looks
like; a constant and a slope for each firing take up what was left of the one before, a common parabola takes
up the converter's own offset. A step of the light between two levels, each constant, tells as much.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.recordings import Recording
from pegwood.instruments.shutter._noise import rough_sigma

__all__ = [
    "Corners",
    "Fit",
    "Known",
    "believed",
    "columns",
    "fit",
    "free_of",
    "merged",
    "normal_rows",
    "seen_through",
]

Array = NDArray[np.float64]
Rows = tuple[Array, Array]

_DRAWS = 64
_BLOCK = 16  # samples averaged for the fit
_SLOWEST_HZ, _FASTEST_HZ = 0.02, 60.0  # corners that are believed
_SURE, _CLEAR = 5.0, 4.0  # standard uncertainties, to believe in a capacitor, and in a second one
_AGREE = 4.0  # standard uncertainties within which two findings are of one input
_MISFIT = 0.02  # of the swing: what the known light may be off
_LEFT_OVER = 0.02
_CUT_OFF = 0.999  # of full scale


@dataclass(frozen=True)
class Known:
    """
    Two stretches of constant light, [start, left) and [right, stop), and what happens between them, [sample].

    `lit` is the stretch that is lit by an unknown level, 0 or 1; None where both are dark.
    """

    start: int
    left: int
    right: int
    stop: int
    lit: int | None = None

    @property
    def stretches(self) -> tuple[slice, slice]:
        """Both, counted from the start."""
        return slice(0, self.left - self.start), slice(self.right - self.start, self.stop - self.start)

    def within(self, most: int) -> Known:
        """With no more of either."""
        start, stop = max(self.start, self.left - most), min(self.stop, self.right + most)
        return Known(start, self.left, self.right, stop, self.lit)

    def guarded(self, more: int) -> Known:
        """With so much more left out behind the edge."""
        return Known(self.start, self.left, min(self.right + more, self.stop), self.stop, self.lit)

    def in_bins(self, bin_samples: int) -> Known:
        """The same in whole bins; a bin that holds an edge is not constant."""
        start, right = -(-self.start // bin_samples), -(-self.right // bin_samples)
        return Known(start, self.left // bin_samples, right, self.stop // bin_samples, self.lit)


@dataclass(frozen=True)
class Corners:
    """
    Sum a and product b of the corners, [1/s], [1/s^2], and the bend, with their covariance.

    The bend is half of b times what the input settles at, in the unit of the readings, [1/s^2].
    """

    a: float
    b: float
    bend: float
    covariance: Array
    excess: float = 1.0  # variance left over, in terms of what noise leaves; the covariance is scaled by it

    @property
    def slower(self) -> float:
        """The lower corner, [rad/s]; where noise makes a pair of them complex, their middle."""
        return self.a / 2 - math.sqrt(max(0.0, self.a**2 / 4 - self.b)) if self.b else self.a


@dataclass(frozen=True)
class Fit:
    """
    The corners, and the standard deviation of one reading.

    Where more is left over than noise leaves, the fit is not `clean` and the covariance is scaled by the
    ratio (R. T. Birge, Physical Review 40, 207, 1932; mark: memory). `guard_s` was left out behind each edge.
    """

    corners: Corners
    sigma: float
    is_clean: bool = True
    guard_s: float = 0.0


@dataclass(frozen=True)
class _Moments:
    """What noise adds to the normal matrix and the right side, the covariance of that side, what is left."""

    normal: Array
    right: Array
    scores: Array
    left: float


def fit(recording: Recording, channel: int, known: Sequence[Known], base: float) -> Fit | None:
    """
    Corners of a channel by least squares over all stretches of constant light.

    Parameters
    ----------
    recording : Recording
        As it came.
    channel : int
        Channel.
    known : sequence of Known
        Where the light is constant.
    base : float
        Reading that the input settles at.

    Returns
    -------
    fit : Fit or None
        None where no high-pass is clear, or where a reading was cut off: what is missing there is missing
        in every integral behind it.
    """
    step = 1 / recording.sample_rate_hz
    rows: list[Rows] = []
    height, rough = 0.0, [0.0]
    for one in known:
        y = recording.read(one.start, one.stop)[:, channel].astype(np.float64) - base
        if recording.full_scale is not None and np.abs(y + base).max() >= _CUT_OFF * recording.full_scale:
            return None
        height = max(height, float(np.abs(y).max()))
        rows.append(normal_rows(y, one, step, _BLOCK))
        rough.append(rough_sigma(_block_means(y[one.stretches[0]], _BLOCK)))
    sigma = math.sqrt(_BLOCK * float(np.mean(np.square(rough[1:] or rough))))
    first = believed(rows, height)
    if first is None:
        return None
    corners = believed(rows, height, _moments(rows, known, first, sigma, step))
    if corners is None:
        return None
    count = sum(len(seen) for _, seen in rows)
    return Fit(corners, sigma, corners.excess < 1 + _LEFT_OVER + 4 * math.sqrt(2 / count))


def sags_less(
    recording: Recording, channel: int, known: Sequence[Known], base: float, corners: Corners
) -> bool:
    """
    Whether the darkness clearly sags less than behind a high-pass that is known beforehand.

    Parameters
    ----------
    recording, channel, known, base
        As in `fit`.
    corners : Corners
        What is known of the input.

    Returns
    -------
    sags_less : bool
        True where the one corner that fits best lies below half of the slower one by more than four of its
        standard uncertainties.
    """
    step = 1 / recording.sample_rate_hz
    rows, rough = [], [0.0]
    for one in known:
        y = recording.read(one.start, one.stop)[:, channel].astype(np.float64) - base
        rows.append(normal_rows(y, one, step, _BLOCK))
        rough.append(rough_sigma(_block_means(y[one.stretches[0]], _BLOCK)))
    sigma = math.sqrt(_BLOCK * float(np.mean(np.square(rough[1:] or rough))))
    found = _corners(rows, 1, _moments(rows, known, corners, sigma, step)) if rows else None
    if found is None:
        return False
    return bool(found.a + _AGREE * math.sqrt(found.covariance[0, 0]) < 0.5 * corners.slower)


def _moments(
    rows: Sequence[Rows], known: Sequence[Known], found: Corners, sigma: float, step: float
) -> _Moments:
    """
    What noise does to the normal equations, by drawing some.

    The integrals are noisy as well. Least squares takes its columns for exact; left alone, the noise they
    hold pulls the corners towards zero, and what is left over is no longer independent from row to row (W. A.
    Fuller, Measurement Error Models, moment-corrected least squares; mark: memory). The means of
    blocks are drawn at once: within a block an integral gathers next to nothing.
    """
    draws = max(2, _DRAWS // len(known))
    rng = np.random.default_rng(len(known))
    values = np.array([found.a, found.b, 0.0])
    normal, right, scores, left = np.zeros((3, 3)), np.zeros(3), np.zeros((3, 3)), 0.0
    for (parts, _), one in zip(rows, known, strict=True):
        coarse = _in_blocks(one)
        for _ in range(draws):
            noise = sigma / math.sqrt(_BLOCK) * rng.standard_normal(coarse.stop)
            noisy, seen = normal_rows(noise, coarse, _BLOCK * step, 1)
            noisy[:, 2] = 0.0  # time itself is exact
            normal += noisy.T @ noisy / draws
            right += noisy.T @ seen / draws
            rest = seen - noisy @ values
            left += float(rest @ rest) / draws
            score = parts.T @ rest
            scores += np.outer(score, score) / draws
    return _Moments(normal, right, scores, left)


def _in_blocks(known: Known) -> Known:
    """The same counted in blocks, as many in each stretch as `normal_rows` has means of."""
    left, right = ((s.stop - s.start) // _BLOCK for s in known.stretches)
    between = left + round((known.right - known.left) / _BLOCK)
    return Known(0, left, between, between + right, known.lit)


def believed(rows: Sequence[Rows], height: float, moments: _Moments | None = None) -> Corners | None:
    """
    The corners of two capacitors where the second is clear, else of one; None where none is.

    Parameters
    ----------
    rows : sequence of (array, array)
        From `normal_rows`.
    height : float
        Highest reading.
    moments : _Moments, optional
        What noise does to them.

    Returns
    -------
    corners : Corners or None
        With their covariance.
    """
    found = _corners(rows, 3, moments)
    if found is None or not found.b > _CLEAR * math.sqrt(found.covariance[1, 1]):
        found = _corners(rows, 1, moments)
    if found is None:
        return None
    slowest, fastest = 2 * math.pi * _SLOWEST_HZ, 2 * math.pi * 2 * _FASTEST_HZ
    is_clear = found.a > _SURE * math.sqrt(found.covariance[0, 0])
    rest = math.sqrt(_left(rows, found) / sum(len(seen) for _, seen in rows))
    return found if slowest < found.a < fastest and is_clear and rest < _MISFIT * height else None


def _corners(rows: Sequence[Rows], count: int, moments: _Moments | None) -> Corners | None:
    """Of two capacitors, or of one; without `moments` the covariance is that of ordinary least squares."""
    solved = solve(rows, count, moments)
    if solved is None:
        return None
    values, covariance = np.zeros(3), np.zeros((3, 3))
    values[:count], covariance[:count, :count] = solved
    found = Corners(float(values[0]), float(values[1]), float(values[2]), covariance)
    left = _left(rows, found)
    if moments is None:
        spare = sum(len(seen) - 2 for _, seen in rows) - count
        return replace(found, covariance=covariance * left / spare)
    excess = max(1.0, left / moments.left) if moments.left > 0 else 1.0
    return replace(found, covariance=covariance * excess, excess=excess)


def _left(rows: Sequence[Rows], found: Corners) -> float:
    """Sum of the squares that are left over."""
    values = np.array([found.a, found.b, found.bend])
    return sum(float(np.sum((seen - part @ values) ** 2)) for part, seen in rows)


def merged(one: Corners, other: Corners) -> Corners | None:
    """
    Two findings of the same corners as one, each with its weight (generalised least squares).

    Parameters
    ----------
    one, other : Corners
        Independent of each other. The bend is the first one's: it belongs to a recording.

    Returns
    -------
    corners : Corners or None
        None where they contradict each other: chi-square beyond 16, four standard uncertainties of one.
    """
    if (one.b > 0) != (other.b > 0):
        # what saw one corner only saw something between the faster one and the sum of both
        seen, more = (one, other) if other.b > 0 else (other, one)
        apart = abs(seen.a - (more.a - 0.5 * more.slower))
        agree = apart < _AGREE * math.sqrt(seen.covariance[0, 0]) + more.slower
        return more if agree and more is other else None
    n = 2 if one.b > 0 else 1
    values = [np.array([it.a, it.b][:n]) for it in (one, other)]
    apart_by = values[0] - values[1]
    both = one.covariance[:n, :n] + other.covariance[:n, :n]
    if float(apart_by @ np.linalg.inv(both) @ apart_by) > _AGREE**2:
        return None
    weights = [np.linalg.inv(it.covariance[:n, :n]) for it in (one, other)]
    covariance = np.linalg.inv(weights[0] + weights[1])
    value = covariance @ (weights[0] @ values[0] + weights[1] @ values[1])
    whole = np.zeros((3, 3))
    whole[:n, :n] = covariance
    whole[2, 2] = one.covariance[2, 2]
    return Corners(float(value[0]), float(value[1]) if n == 2 else 0.0, one.bend, whole)


def normal_rows(y: Array, known: Known, step: float, block: int) -> Rows:
    """
    Columns and right side of the normal equations where the light is constant.

    Parameters
    ----------
    y : array, shape (n,)
        Readings from its start to its stop, less what the input settles at.
    known : Known
        Where the light is constant.
    step : float
        Between samples, [s].
    block : int
        Samples averaged for a row.

    Returns
    -------
    columns, seen : array, shape (m, 3), and array, shape (m,)
        Free of a constant (of one for each level of a step) and of a slope.
    """
    time = np.arange(len(y), dtype=np.float64) * step
    parts = (time, y, *columns(y, step))
    halves = [[_block_means(part[s], block) for s in known.stretches] for part in parts]
    t, *means = (np.concatenate(both) for both in halves)
    q, _ = np.linalg.qr(_free_columns(t, len(halves[0][0]), known.lit))
    seen, *found = (part - q @ (q.T @ part) for part in means)
    return -np.stack(found, axis=1), seen


def _free_columns(t: Array, n_left: int, lit: int | None) -> Array:
    """Darkness, a slope, and the level of the stretch that is lit, if one is."""
    if lit is None:
        return np.stack([np.ones_like(t), t], axis=1)
    is_lit = (np.arange(len(t)) < n_left) == (lit == 0)
    return np.stack([~is_lit, t, is_lit], axis=1).astype(np.float64)


def _block_means(y: Array, block: int) -> Array:
    whole: Array = y[: len(y) // block * block].reshape(-1, block).mean(axis=1)
    return whole


def solve(rows: Sequence[Rows], count: int, moments: _Moments | None) -> tuple[Array, Array] | None:
    """
    Least squares for the first so many columns.

    Parameters
    ----------
    rows, moments
        As in `believed`.
    count : int
        Columns.

    Returns
    -------
    values, covariance : array, array
        The covariance without `moments` is for rows of variance one; None where there is nothing but noise.
    """
    normal = sum((part[:, :count].T @ part[:, :count] for part, _ in rows), np.zeros((count, count)))
    right = sum((part[:, :count].T @ seen for part, seen in rows), np.zeros(count))
    if moments is not None:
        normal = normal - moments.normal[:count, :count]
        right = right - moments.right[:count]
    spare = sum(len(seen) - 2 for _, seen in rows) - count
    if spare < 8 or not (np.diag(normal) > 0).all():
        return None
    scale = np.sqrt(np.diag(normal))
    try:
        inverse = np.linalg.inv(normal / np.outer(scale, scale)) / np.outer(scale, scale)
    except np.linalg.LinAlgError:
        return None
    if not (np.diag(inverse) > 0).all():
        return None
    values = inverse @ right
    return values, inverse if moments is None else inverse @ moments.scores[:count, :count] @ inverse


def columns(y: Array, step: float) -> tuple[Array, Array, Array]:
    """
    Integral and double integral from the first reading on, by the trapezoidal rule; and time squared.

    Parameters
    ----------
    y : array, shape (n,)
        Readings.
    step : float
        Between samples, [s].

    Returns
    -------
    once, twice, squared : array, shape (n,)
        [s], [s^2] times the unit of the readings, and [s^2].
    """
    once = _integral(y, step)
    time = np.arange(len(y), dtype=np.float64) * step
    return once, _integral(once, step), time * time


def _integral(y: Array, step: float) -> Array:
    sums = np.empty_like(y)
    sums[0] = 0.0
    np.cumsum(0.5 * step * (y[1:] + y[:-1]), out=sums[1:])
    return sums


def free_of(light: Array, known: Known) -> tuple[Array, float]:
    """
    Light less what the fit left free, so that it is zero where it is dark.

    Parameters
    ----------
    light : array, shape (n,)
        From the start of `known` to its stop.
    known : Known
        Where it is constant.

    Returns
    -------
    light, level : array, shape (n,), and float
        And the level of the stretch that is lit; 0 where both are dark.
    """
    at, free, middle = _at_known(light, known)
    values = np.linalg.lstsq(free, light[at], rcond=None)[0]
    level, slope = float(values[0]), float(values[1])
    flat: Array = light - level - slope * (np.arange(len(light)) - middle)
    return flat, float(values[2]) - level if known.lit is not None else 0.0


def _at_known(light: Array, known: Known) -> tuple[NDArray[np.int64], Array, float]:
    """Samples at which the light is constant, the free columns there, and the middle they count from."""
    at = np.concatenate([np.arange(len(light))[s] for s in known.stretches])
    middle = float(np.mean(at))
    return at, _free_columns(at - middle, known.left - known.start, known.lit), middle


def seen_through(weight: Array, known: Known) -> Array:
    """
    Weights on light that still holds what the fit leaves free, that give what `weight` gives without it.

    Parameters
    ----------
    weight : array, shape (n,)
        Of a figure that is a weighted sum of `free_of`'s light.
    known : Known
        As there.

    Returns
    -------
    weight : array, shape (n,)
        Of the same figure as a sum of what went in there.
    """
    at, free, middle = _at_known(weight, known)
    away = np.arange(len(weight)) - middle
    taken = np.zeros(free.shape[1])
    taken[:2] = weight.sum(), float(weight @ away)
    out = weight.copy()
    out[at] -= free @ np.linalg.solve(free.T @ free, taken)
    return out
