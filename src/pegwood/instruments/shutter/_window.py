"""
Second pass: the readings around one pulse, scaled so that darkness is about 0 and full light about 1.

A long firing is not read whole: only its two edges are, each with some darkness and some full light beside
it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.recordings import Recording
from pegwood.instruments.shutter._events import Pulse
from pegwood.instruments.shutter._noise import Noise, estimate_noise, rough_sigma
from pegwood.instruments.shutter._scan import Envelope

__all__ = ["Outline", "Side", "Window", "load", "noise_of", "outline", "running_mean"]

_QUIET_S = 0.07
_INSIDE_S = 0.08
_INSIDE_BINS = 12  # a pulse begins some bins before its edge, in a long recording wide ones
_SPLIT_S = 0.28
_FOOT = 0.3  # of full light: edges are guessed between this and as much below full light
_SMOOTH_TO = 0.04  # of full light: noise after smoothing, good enough to find the half height
_CUT_OFF = "it opens or closes outside of what can be looked at: leave darkness before and after it"

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Side:
    """
    Readings around one edge.

    Parameters
    ----------
    y : array, shape (n,)
        Scaled readings.
    offset : int
        Number of the first of them in the recording.
    """

    y: Array
    offset: int


@dataclass(frozen=True)
class Window:
    """
    Readings around one pulse.

    Parameters
    ----------
    pulse : Pulse
        What is looked at.
    opening, closing : Side
        The same object where the pulse was read whole.
    quiet_before, quiet_after : int
        Readings without light at the beginning of `opening` and at the end of `closing`.
    clipped_at : float or None
        Scaled reading at which the converter clips.
    resolution : float
        Smallest step of the readings, scaled.
    inside : (float, float) or None
        Mean scaled reading between the two sides, and the sample in its middle; None where all was read.
    """

    pulse: Pulse
    opening: Side
    closing: Side
    quiet_before: int
    quiet_after: int
    clipped_at: float | None
    resolution: float
    inside: tuple[float, float] | None

    @property
    def is_whole(self) -> bool:
        """True where the pulse was read whole."""
        return self.opening is self.closing


@dataclass(frozen=True)
class Outline:
    """
    Rough outline of a pulse, in samples of the recording.

    Parameters
    ----------
    level : float
        Light when open, scaled.
    beside : tuple of (float, float)
        Light where the opening and the closing edge meet the plateau, and its slope from there into the
        plateau, per sample.
    opening, closing : tuple of float
        Guess of an edge: where it touches darkness, and where full light.
    half_up, half_down : float
        Where half of the level is crossed.
    dark_before, dark_after : float
        Levels without light.
    """

    level: float
    beside: tuple[tuple[float, float], tuple[float, float]]
    opening: tuple[float, float]
    closing: tuple[float, float]
    half_up: float
    half_down: float
    dark_before: float
    dark_after: float


def load(recording: Recording, channel: int, pulse: Pulse, envelope: Envelope) -> Window:
    """
    Read what is around a pulse.

    Parameters
    ----------
    recording : Recording
        The recording.
    channel : int
        Channel.
    pulse : Pulse
        From the first pass.
    envelope : Envelope
        Of the channel, for what is not read again.

    Returns
    -------
    window : Window
        Scaled readings.
    """
    rate = recording.sample_rate_hz
    margin = max(64, round(_QUIET_S * rate))
    before, after = min(pulse.quiet_before, margin), min(pulse.quiet_after, margin)
    first, last = max(0, pulse.start - before), min(recording.n_samples, pulse.stop + after)
    inside = max(4096, round(_INSIDE_S * rate), _INSIDE_BINS * envelope.bin_samples)
    scale = pulse.sign / pulse.height
    if pulse.stop - pulse.start > max(3 * inside, round(_SPLIT_S * rate)):
        opening, raw = _side(recording, channel, first, pulse.start + inside, pulse.base, scale)
        closing, raw_2 = _side(recording, channel, pulse.stop - 2 * inside, last, pulse.base, scale)
        raw = np.concatenate((raw, raw_2))
    else:
        opening, raw = _side(recording, channel, first, last, pulse.base, scale)
        closing = opening
    within = None
    if opening is not closing:
        low = -(-(opening.offset + len(opening.y)) // envelope.bin_samples)
        high = closing.offset // envelope.bin_samples
        if high > low:
            mean = (float(np.mean(envelope.mean[low:high], dtype=np.float64)) - pulse.base) * scale
            within = (mean, 0.5 * (low + high) * envelope.bin_samples)
    clipped_at = None
    if recording.full_scale is not None:
        reaches = pulse.sign * recording.full_scale * (1 - 2.0**-6) - pulse.base * pulse.sign
        clipped_at = reaches / pulse.height
    return Window(pulse, opening, closing, before, after, clipped_at, _resolution(raw) / pulse.height, within)


def _side(
    recording: Recording, channel: int, start: int, stop: int, base: float, scale: float
) -> tuple[Side, NDArray[Any]]:
    raw = recording.read(start, stop)[:, channel]
    return Side((raw.astype(np.float64) - base) * scale, start), raw


def _resolution(raw: NDArray[Any]) -> float:
    """Smallest step between readings; half of what a converter of that step can hide."""
    few = raw[:: max(1, len(raw) // 1500)]
    steps = np.diff(np.unique(few))
    return float(steps.min()) if len(steps) else 0.0


def running_mean(y: Array, n: int) -> Array:
    """
    Centred mean of n neighbours; the ends use what is there.

    Parameters
    ----------
    y : array, shape (m,)
        Readings.
    n : int
        Neighbours.

    Returns
    -------
    smooth : array, shape (m,)
        Same length.
    """
    if n <= 1:
        return y
    sums = np.concatenate(([0.0], np.cumsum(y)))
    k = np.arange(len(y))
    low, high = np.maximum(k - n // 2, 0), np.minimum(k + (n + 1) // 2, len(y))
    smooth: Array = (sums[high] - sums[low]) / (high - low)
    return smooth


def outline(window: Window) -> Outline | str:
    """
    Rough outline of the pulse: the longest stretch above half of its level.

    Parameters
    ----------
    window : Window
        The readings.

    Returns
    -------
    outline : Outline or str
        Or why there is none; an empty reason where nothing stands out of the noise.
    """
    opening, closing = window.opening, window.closing
    guard_before = min(window.quiet_before, len(opening.y) // 3)
    guard_after = min(window.quiet_after, len(closing.y) // 3)
    dark_before = float(np.mean(opening.y[:guard_before])) if guard_before >= 4 else 0.0
    dark_after = (
        float(np.mean(closing.y[len(closing.y) - guard_after :])) if guard_after >= 4 else dark_before
    )
    if guard_before < 4:
        dark_before = dark_after
    quiet = opening.y[:guard_before] if guard_before >= guard_after else closing.y[-guard_after:]
    sigma = max(_spread(quiet[-2048:]), 1e-9)
    # the height from the first pass is an average; a click of a few samples stands far above it
    height = max(1.0, float(opening.y.max()) - 4 * sigma)
    longest = max(1, (window.pulse.stop - window.pulse.start) // 5)
    n = int(min((sigma / (_SMOOTH_TO * height)) ** 2 + 1, longest))
    if window.is_whole:
        dark = np.linspace(dark_before, dark_after, len(opening.y))
        smooth_open = smooth_close = running_mean(opening.y - dark, n)
    else:
        smooth_open = running_mean(opening.y - dark_before, n)
        smooth_close = running_mean(closing.y - dark_after, n)
    level = _level(smooth_open, smooth_close, window)
    noise = sigma / n**0.5
    if level <= max(6 * noise, 1e-9):
        return ""
    runs = _runs_above(smooth_open, 0.5 * level)
    if window.is_whole:
        if not runs:
            return _CUT_OFF
        up, down = max(runs, key=lambda run: run[1] - run[0])
    else:
        falls = _runs_above(smooth_close, 0.5 * level)
        if not runs or not falls:
            return _CUT_OFF
        up, down = runs[-1][0], falls[0][1]
    if up <= 0 or down >= len(smooth_close) - 1:
        return _CUT_OFF
    edge = min(0.4, max(_FOOT, 2.5 * noise / level))
    rise = _edge(smooth_open, up, level, edge, n, limit=(up + down) / 2 if window.is_whole else None)
    fall = _edge(
        smooth_close[::-1],
        len(smooth_close) - 1 - down,
        level,
        edge,
        n,
        limit=len(smooth_close) - 1 - (up + down) / 2 if window.is_whole else None,
    )
    last = closing.offset + len(smooth_close) - 1
    room = 0.5 * (down - up) if window.is_whole else float(len(opening.y) + len(closing.y))
    beside = (
        _beside(opening.y - dark_before, rise, room, sigma, level),
        _beside(closing.y[::-1] - dark_after, fall, room, sigma, level),
    )
    return Outline(
        level,
        beside,
        (opening.offset + rise[0], opening.offset + rise[1]),
        (last - fall[0], last - fall[1]),
        float(opening.offset + up),
        float(closing.offset + down),
        dark_before,
        dark_after,
    )


def _spread(y: Array) -> float:
    if len(y) < 8:
        return 0.0
    return max(float(np.std(y)), rough_sigma(y))


def _level(smooth_open: Array, smooth_close: Array, window: Window) -> float:
    """Level when open: the usual reading near the top, or the top of a curve that has no plateau."""
    y = smooth_open if window.is_whole else np.concatenate((smooth_open, smooth_close))
    peak = float(np.max(y))
    high = y[y > 0.75 * peak]
    high = high[:: len(high) // 2000 + 1]
    level = float(np.median(high))
    if window.is_whole and len(high):
        near_top = int(np.count_nonzero(y > 0.8 * level))
        wide = int(np.count_nonzero(y > 0.5 * level))
        if near_top < 0.75 * wide:
            return peak
    return level


def _beside(
    y: Array, edge: tuple[float, float], room: float, sigma: float, level: float
) -> tuple[float, float]:
    """
    Light where the edge ends and its slope from there on, where there is a plateau to tell it from.

    The slope is taken only where it is clear: a lamp on mains wavers while the blades open.
    """
    span = edge[1] - edge[0]
    start = math.ceil(edge[1] + 0.3 * span + 1)
    n = int(max(8, 2 * span, (3 * sigma / (0.01 * level)) ** 2))
    n = min(n, int(0.5 * (edge[0] + edge[1]) + room - start), len(y) - start)
    if n < max(4, 0.5 * span):
        return level, 0.0
    k = np.arange(n) - (n - 1) / 2
    seen = float(np.mean(y[start : start + n]))
    slope = float(k @ y[start : start + n]) / float(k @ k)
    if abs(slope) < 5 * sigma / float(k @ k) ** 0.5:
        slope = 0.0
    at_edge = seen - slope * (start + (n - 1) / 2 - edge[1])
    return (at_edge, slope) if abs(at_edge - level) < 0.35 * level else (level, 0.0)


def _runs_above(y: Array, threshold: float) -> list[tuple[int, int]]:
    """First and last index of every stretch above the threshold."""
    above = np.zeros(len(y) + 2, dtype=np.bool_)
    np.greater(y, threshold, out=above[1:-1])
    at = np.flatnonzero(above[1:] != above[:-1])
    return list(zip(at[::2].tolist(), (at[1::2] - 1).tolist(), strict=True))


def _edge(y: Array, half: int, level: float, edge: float, n: int, limit: float | None) -> tuple[float, float]:
    """Guess where an edge that crosses half height at `half` begins and ends, as indices."""
    dark = np.flatnonzero(y[: half + 1] <= edge * level)
    low = int(dark[-1]) if len(dark) else 0
    top = len(y) - 1 if limit is None else int(min(len(y) - 1, max(limit, half)))
    full = np.flatnonzero(y[half : top + 1] >= (1 - edge) * level)
    high = half + int(full[0]) if len(full) else top
    span = max(high - low, 1) / max(1 - 2 * edge, 0.2)
    span = max(1.0, (max(span**2 - n**2, 0.04 * span**2)) ** 0.5)
    middle = (low + high) / 2
    return middle - span / 2, middle + span / 2


def noise_of(windows: list[Window]) -> Noise:
    """
    Noise of a channel from the darkness beside its pulses, in the unit of the recording.

    Parameters
    ----------
    windows : list of Window
        Windows of one channel.

    Returns
    -------
    noise : Noise
        Pooled.
    """
    pieces: list[Array] = []
    for window in windows:
        height = window.pulse.height
        if window.quiet_before >= 16:
            pieces.append(window.opening.y[: window.quiet_before] * height)
        if window.quiet_after >= 16:
            pieces.append(window.closing.y[-window.quiet_after :][::-1] * height)
    return estimate_noise(pieces)
