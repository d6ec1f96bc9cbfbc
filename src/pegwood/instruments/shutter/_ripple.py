"""
The ripple of a lamp on mains: fitted while the shutter is fully open, and divided out.

Such a lamp swells and fades at twice the mains frequency. A firing that stays open for longer than a period
shows it beside both edges: a constant, a slope and a Fourier series of three harmonics are fitted there by
least squares and carried on over the edges. The light divided by that series is what a steady lamp gives.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.shutter._noise import Noise
from pegwood.instruments.shutter._window import Outline, Side, Window

__all__ = ["Ripple", "divided"]

# EN 50160 lets mains of 50 Hz stray by 1 % for all but 0.5 % of a year; mark: memory
_TWICE_MAINS_HZ = np.concatenate((np.linspace(99.0, 101.0, 21), np.linspace(118.8, 121.2, 25)))
_NEAR_HZ = np.array([100.0, 120.0])
_HARMONICS = 3
_POINTS_HZ = 5000.0  # means over so short a time are fitted
_LEAST_PERIODS, _SLOPE_PERIODS = 0.95, 2.0  # fully open, to tell the ripple, and a slope from it
_PAD = 0.35  # of an edge as it is guessed, left out beside it
_CLEAR = 40.0  # squares explained, over noise's, for the ripple to be there
_ALL_OF_IT = 0.35  # of the ripple that may be left over: else the lamp does something else
_DARKEST = 0.3  # of the mean light: a lamp that nearly goes out leaves nothing to divide
_LONGEST = 6  # stretches that tell the frequency
_CARRIED = 1.5  # a bent line carried on beyond where it was fitted errs by more than the fit says

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Ripple:
    """
    What was divided out of one firing.

    Parameters
    ----------
    hertz : float
        Its frequency, [Hz].
    amplitude : float
        Half of its swing, over the mean light, [-].
    u : float
        Standard uncertainty of the lamp's light at the edges that is left, over the mean light, [-].
    """

    hertz: float
    amplitude: float
    u: float


@dataclass(frozen=True)
class _Stretch:
    """Light when fully open: its means over a short time, when, and the edges beside it, [s]."""

    side: Side
    dark: Array
    t: Array
    y: Array
    edges: tuple[float, ...]

    @property
    def seconds(self) -> float:
        return float(self.t[-1] - self.t[0]) if len(self.t) else 0.0


@dataclass(frozen=True)
class _Fit:
    values: Array
    covariance: Array
    left: float  # variance of a mean that is left over
    hertz: float
    columns: int  # of them not of the series


def divided(
    windows: Sequence[Window], outlines: Sequence[Outline], noises: Sequence[Noise], rate: float
) -> list[tuple[Window, Ripple | None]]:
    """
    The same windows as a steady lamp would have given them, where their lamp on mains is seen.

    Parameters
    ----------
    windows : sequence of Window
        Of one channel.
    outlines : sequence of Outline
        Of each.
    noises : sequence of Noise
        On the scale of each.
    rate : float
        Samples per second, [Hz].

    Returns
    -------
    divided : list of (Window, Ripple or None)
        None, and the window as it was, where no ripple is clear or it is not seen for long enough.
    """
    stretches = [_stretches(window, rough, rate) for window, rough in zip(windows, outlines, strict=True)]
    hertz = _frequency([(s, n) for found, n in zip(stretches, noises, strict=True) for s in found], rate)
    if hertz is None:
        return [(window, None) for window in windows]
    return [
        _without(window, found, noise, hertz, rate)
        for window, found, noise in zip(windows, stretches, noises, strict=True)
    ]


def _stretches(window: Window, rough: Outline, rate: float) -> list[_Stretch]:
    """Where it is fully open: in one, or beside each edge of a long firing."""
    first = rough.opening[1] + _PAD * (rough.opening[1] - rough.opening[0]) + 1
    last = rough.closing[1] - _PAD * (rough.closing[0] - rough.closing[1]) - 1
    opens, closes = (0.5 * sum(edge) / rate for edge in (rough.opening, rough.closing))
    one, two = window.opening, window.closing
    if window.is_whole:
        dark = np.linspace(rough.dark_before, rough.dark_after, len(one.y))
        return [_stretch(one, dark, (first, last), (opens, closes), rate)]
    before, after = (np.full(len(s.y), d) for s, d in ((one, rough.dark_before), (two, rough.dark_after)))
    return [
        _stretch(one, before, (first, one.offset + len(one.y)), (opens,), rate),
        _stretch(two, after, (two.offset, last), (closes,), rate),
    ]


def _stretch(
    side: Side, dark: Array, ends: tuple[float, float], edges: tuple[float, ...], rate: float
) -> _Stretch:
    block = max(1, round(rate / _POINTS_HZ))
    low = max(0, math.ceil(ends[0]) - side.offset)
    n = max(0, min(len(side.y), math.floor(ends[1]) - side.offset) - low) // block
    part = slice(low, low + n * block)
    y = (side.y[part] - dark[part]).reshape(n, block).mean(axis=1)
    t = (side.offset + low - 0.5 + (np.arange(n, dtype=np.float64) + 0.5) * block) / rate
    return _Stretch(side, dark, t, y, edges)


def _frequency(stretches: list[tuple[_Stretch, Noise]], rate: float) -> float | None:
    """The one of twice the mains that explains most, where it explains far more than noise would."""
    block = max(1, round(rate / _POINTS_HZ))
    ordered = sorted(stretches, key=lambda it: it[0].seconds, reverse=True)
    long = [it for it in ordered[:_LONGEST] if it[0].seconds * _TWICE_MAINS_HZ[0] > _LEAST_PERIODS]
    if not long:
        return None
    if not any(_explained(*it, _NEAR_HZ, 1, block).max() > 0.5 * _CLEAR for it in long):
        return None  # a steady lamp, as it should be
    explained = np.sum([_explained(*it, _TWICE_MAINS_HZ, _HARMONICS, block) for it in long], axis=0)
    best = int(explained.argmax())
    return _between(explained, best) if explained[best] > _CLEAR * len(long) else None


def _explained(stretch: _Stretch, noise: Noise, hertz: Array, harmonics: int, block: int) -> Array:
    """Squares that a series of each frequency explains, over the variance that noise has."""
    variance = max(noise.of_sum(block) / block**2, 1e-12)
    still = _least_squares(stretch, 0.0, 0).left
    left = np.array([_least_squares(stretch, one, harmonics).left for one in hertz.tolist()])
    return (still - left) * len(stretch.y) / variance


def _between(explained: Array, best: int) -> float:
    """Where a parabola through the best frequency and those beside it is highest."""
    three = slice(best - 1, best + 2)
    hertz = _TWICE_MAINS_HZ[three]
    if len(hertz) < 3 or np.ptp(hertz) > 1:  # at an end of either
        return float(_TWICE_MAINS_HZ[best])
    a, b, _ = np.polyfit(hertz - hertz[1], explained[three], 2)
    aside = float(np.clip(-b / (2 * a), hertz[0] - hertz[1], hertz[2] - hertz[1])) if a < 0 else 0.0
    return float(hertz[1]) + aside


def _design(t: Array, middle: float, hertz: float, harmonics: int, has_slope: bool) -> Array:
    columns = [np.ones_like(t)]
    if has_slope:
        columns.append(t - middle)
    for h in range(1, harmonics + 1):
        angle = 2 * math.pi * h * hertz * (t - middle)
        columns += [np.cos(angle), np.sin(angle)]
    return np.stack(columns, axis=1)


def _least_squares(stretch: _Stretch, hertz: float, harmonics: int) -> _Fit:
    has_slope = stretch.seconds * _TWICE_MAINS_HZ[0] > _SLOPE_PERIODS
    x = _design(stretch.t, float(stretch.t.mean()), hertz, harmonics, has_slope)
    values = np.linalg.lstsq(x, stretch.y, rcond=None)[0]
    rest = stretch.y - x @ values
    left = float(rest @ rest) / max(1, len(rest) - x.shape[1])
    covariance: Array = left * np.linalg.pinv(x.T @ x)
    return _Fit(np.asarray(values, dtype=np.float64), covariance, left, hertz, 1 + has_slope)


def _without(
    window: Window, stretches: list[_Stretch], noise: Noise, hertz: float, rate: float
) -> tuple[Window, Ripple | None]:
    """One window, and what was divided out of it."""
    sides, found = [], []
    for stretch in stretches:
        ripple = _fitted(stretch, noise, hertz, rate)
        if ripple is None:
            return window, None
        fit, amplitude, u = ripple
        found.append((amplitude, u))
        side = stretch.side
        t = (side.offset + np.arange(len(side.y))) / rate
        lamp = 1 + _series(fit, t, stretch)
        sides.append(Side(stretch.dark + (side.y - stretch.dark) / lamp, side.offset))
    amplitude, u = (max(values) for values in zip(*found, strict=True))
    steady = replace(window, opening=sides[0], closing=sides[-1])
    return steady, Ripple(hertz, amplitude, u)


def _fitted(stretch: _Stretch, noise: Noise, hertz: float, rate: float) -> tuple[_Fit, float, float] | None:
    """The series of one stretch, its amplitude and how uncertain it is at the edges; None where unclear."""
    if stretch.seconds * hertz < _LEAST_PERIODS:
        return None
    block = max(1, round(rate / _POINTS_HZ))
    still, fit = _least_squares(stretch, hertz, 0), _least_squares(stretch, hertz, _HARMONICS)
    by_noise = noise.of_sum(block) / block**2
    mean = float(fit.values[0])
    if mean <= 0 or (still.left - fit.left) * len(stretch.y) < _CLEAR * max(by_noise, fit.left):
        return None
    period = np.linspace(0, 1 / hertz, 64) + float(stretch.t.mean())
    wave = _series(fit, period, stretch)
    amplitude = 0.5 * float(np.ptp(wave))
    unexplained = math.sqrt(max(0.0, fit.left - 2 * by_noise)) / mean
    if wave.min() < _DARKEST - 1 or unexplained > _ALL_OF_IT * amplitude / math.sqrt(2):
        return None
    at_edges = _rows(fit, np.array(stretch.edges), stretch)
    at_edges[:, : fit.columns] = 0  # what is constant is in the level that the edges are held against
    variances = np.einsum("ij,jk,ik->i", at_edges, fit.covariance, at_edges)
    return fit, amplitude, _CARRIED * math.sqrt(float(variances.max())) / mean


def _rows(fit: _Fit, t: Array, stretch: _Stretch) -> Array:
    return _design(t, float(stretch.t.mean()), fit.hertz, _HARMONICS, fit.columns > 1)


def _series(fit: _Fit, t: Array, stretch: _Stretch) -> Array:
    """The ripple over the mean light."""
    rows = _rows(fit, t, stretch)[:, fit.columns :]
    found: Array = rows @ fit.values[fit.columns :] / fit.values[0]
    return found
