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
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.recordings import Recording
from pegwood.instruments.shutter._steady import Known, Rows, Steady

__all__ = ["Corners", "Fit", "believed", "fit", "gathered", "merged", "sags_less"]

Array = NDArray[np.float64]

_BLOCK, _BLOCKS_HZ = 16, 6000.0  # samples averaged for the fit: so many, or down to this rate
_SLOWEST_HZ, _FASTEST_HZ = 0.02, 60.0  # corners that are believed
_SURE, _CLEAR = 5.0, 4.0  # standard uncertainties, to believe in a capacitor, and in a second one
_AGREE = 4.0  # standard uncertainties within which two findings are of one input
_MISFIT = 0.02  # of the swing: what the known light may be off
_LEFT_OVER = 0.02
_CUT_OFF = 0.999  # of full scale


@dataclass(frozen=True)
class Corners:
    """
    Sum a and product b of the corners, [1/s], [1/s^2], and the bend, with their covariance.

    The bend is half of b times what the input settles at, in the unit of the readings, [1/s^2]. `excess` is
    the variance left over, in terms of what noise leaves; the covariance is scaled by it. `gain` is what an
    error of the right side of the normal equations does to the three.
    """

    a: float
    b: float
    bend: float
    covariance: Array
    excess: float = 1.0
    gain: Array = field(default_factory=lambda: np.zeros((3, 3)))

    @property
    def slower(self) -> float:
        """The lower corner, [rad/s]; where noise makes a pair of them complex, their middle."""
        return self.a / 2 - math.sqrt(max(0.0, self.a**2 / 4 - self.b)) if self.b else self.a


@dataclass(frozen=True)
class Fit:
    """
    The corners, and the standard deviation of one reading.

    Where more is left over than noise leaves, the fit is not `clean` and the covariance is scaled by the
    ratio (R. T. Birge, Physical Review 40, 207, 1932; mark: memory). `guard_s` was left out behind each edge,
    `rows` is what was fitted.
    """

    corners: Corners
    sigma: float
    is_clean: bool = True
    guard_s: float = 0.0
    rows: tuple[Rows, ...] = ()


def gathered(recording: Recording, channel: int, known: Sequence[Known], base: float) -> list[Steady] | None:
    """
    Read all stretches of constant light of a channel, once.

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
    steady : list of Steady or None
        None where a reading was cut off: what is missing there is missing in every integral behind it.
    """
    rate = recording.sample_rate_hz
    block = max(_BLOCK, round(rate / _BLOCKS_HZ))
    found = []
    for one in known:
        y = recording.read(one.start, one.stop)[:, channel].astype(np.float64) - base
        if recording.full_scale is not None and np.abs(y + base).max() >= _CUT_OFF * recording.full_scale:
            return None
        found.append(Steady.read(y, one, 1 / rate, block))
    return found


def fit(steady: Sequence[Steady], most_s: float, guard_s: float = 0.0) -> Fit | None:
    """
    Corners of a channel by least squares over all stretches of constant light.

    Parameters
    ----------
    steady : sequence of Steady
        Stretches of constant light.
    most_s : float
        How much of each is used, [s].
    guard_s : float
        How much is left out behind each edge, [s].

    Returns
    -------
    fit : Fit or None
        None where no high-pass is clear.
    """
    most, guard = (round(s / steady[0].step) for s in (most_s, guard_s))
    rows = [one for one in (it.rows(most, guard) for it in steady) if one is not None]
    sigma = math.sqrt(float(np.mean([it.sigma**2 for it in steady])))
    corners = believed(rows, max(it.highest for it in steady), sigma)
    if corners is None:
        return None
    count = sum(len(it.seen) for it in rows)
    is_clean = corners.excess < 1 + _LEFT_OVER + 4 * math.sqrt(2 / count)
    return Fit(corners, sigma * math.sqrt(steady[0].samples), is_clean, guard_s, tuple(rows))


def sags_less(steady: Steady, corners: Corners) -> bool:
    """
    Whether the darkness beside an edge clearly sags less than behind a high-pass that is known beforehand.

    Parameters
    ----------
    steady : Steady
        That darkness.
    corners : Corners
        What is known of the input.

    Returns
    -------
    sags_less : bool
        True where the one corner that fits best lies below half of the slower one by more than four of its
        standard uncertainties.
    """
    rows = steady.rows(steady.means.shape[1], 0)
    found = None if rows is None else _corners([rows], 1, steady.sigma)
    if found is None:
        return False
    return bool(found.a + _AGREE * math.sqrt(found.covariance[0, 0]) < 0.5 * corners.slower)


def believed(rows: Sequence[Rows], height: float, sigma: float | None = None) -> Corners | None:
    """
    The corners of two capacitors where the second is clear, else of one; None where none is.

    Parameters
    ----------
    rows : sequence of Rows
        Of all stretches.
    height : float
        Highest reading.
    sigma : float, optional
        Standard deviation of the mean of a block. The integrals are noisy as well; least squares takes its
        columns for exact, and left alone the noise they hold pulls the corners towards zero. With it, what
        noise adds is taken off first (W. A. Fuller, Measurement Error Models, moment-corrected least
        squares; mark: memory).

    Returns
    -------
    corners : Corners or None
        With their covariance.
    """
    found = _corners(rows, 3, sigma)
    if found is None or not found.b > _CLEAR * math.sqrt(found.covariance[1, 1]):
        found = _corners(rows, 1, sigma)
    if found is None:
        return None
    slowest, fastest = 2 * math.pi * _SLOWEST_HZ, 2 * math.pi * 2 * _FASTEST_HZ
    is_clear = found.a > _SURE * math.sqrt(found.covariance[0, 0])
    rest = math.sqrt(_left(rows, found) / sum(len(it.seen) for it in rows))
    return found if slowest < found.a < fastest and is_clear and rest < _MISFIT * height else None


def _corners(rows: Sequence[Rows], count: int, sigma: float | None) -> Corners | None:
    """Of two capacitors, or of one, by least squares for so many columns; None where all is noise."""
    normal = sum((it.columns[:, :count].T @ it.columns[:, :count] for it in rows), np.zeros((count, count)))
    right = sum((it.columns[:, :count].T @ it.seen for it in rows), np.zeros(count))
    noise, by_noise = np.zeros((3, 3)), np.zeros(3)
    if sigma is not None:
        for it in rows:
            noise[:2, :2] += sigma**2 * it.noisy.normal
            by_noise[:2] += sigma**2 * it.noisy.right
    inverse = _inverse(normal - noise[:count, :count])
    spare = sum(it.noisy.spare for it in rows)
    if inverse is None or spare - count < 8:
        return None
    values, covariance = np.zeros(3), np.zeros((3, 3))
    values[:count] = inverse @ (right - by_noise[:count])
    found = Corners(float(values[0]), float(values[1]), float(values[2]), covariance)
    left = _left(rows, found)
    if sigma is None:
        covariance[:count, :count] = inverse * left / (spare - count)
        return found
    by_known = sum((it.scores(found.a, found.b) for it in rows), np.zeros((3, 3)))[:count, :count]
    expected = sigma**2 * spare - 2 * float(by_noise @ values) + float(values @ noise @ values)
    excess = max(1.0, left / expected) if expected > 0 else 1.0
    covariance[:count, :count] = excess * sigma**2 * inverse @ by_known @ inverse
    gain = np.zeros((3, 3))
    gain[:count, :count] = inverse
    return replace(found, excess=excess, gain=gain)


def _inverse(normal: Array) -> Array | None:
    if not (np.diag(normal) > 0).all():
        return None
    scale = np.sqrt(np.diag(normal))
    try:
        inverse: Array = np.linalg.inv(normal / np.outer(scale, scale)) / np.outer(scale, scale)
    except np.linalg.LinAlgError:
        return None
    return inverse if (np.diag(inverse) > 0).all() else None


def _left(rows: Sequence[Rows], found: Corners) -> float:
    """Sum of the squares that are left over."""
    values = np.array([found.a, found.b, found.bend])
    return sum(float(np.sum((it.seen - it.columns @ values) ** 2)) for it in rows)


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
    whole, gain = np.zeros((3, 3)), one.gain.copy()
    whole[:n, :n] = covariance
    whole[2, 2] = one.covariance[2, 2]
    gain[:n, :n] = covariance @ weights[0] @ one.gain[:n, :n]
    return Corners(float(value[0]), float(value[1]) if n == 2 else 0.0, one.bend, whole, gain=gain)
