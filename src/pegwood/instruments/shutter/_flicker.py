"""
Does the lamp flicker? What the light of one firing, and of all firings of a channel, shows of it.

A lamp on mains swells and fades 100 or 120 times a second, a dimmed one is switched on and off some hundred
to some thousand times. The exposure of an edge then no longer fits the full-open level it is divided by. Five
signs, in words:

1. Fully open, the light scatters more than its noise, at any time scale (`modulation`).
2. A plateau too short for that is tilted or bent, and so tells what a lamp on mains would do (`swell`).
3. Between two bright moments of one firing the light sinks (`valley`).
4. The light jumps where no edge begins or ends (`jump`).
5. One firing is a comb of pulses, or several follow each other faster than anybody fires (`comb`).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.shutter._noise import Noise, median_of

__all__ = [
    "COMB",
    "FLICKERS",
    "MAINS_HZ",
    "MAX_FLICKER",
    "REMEDY",
    "TOO_CLOSE_S",
    "edge_doubt",
    "flicker_reason",
    "jump",
    "lit_noise",
    "modulation",
    "swell",
    "valley",
]

MAX_FLICKER = 0.15
"""
Amplitude of the lamp's flicker over its mean, beyond which a firing gives no figures, [-]. Mark: practice;
chosen where simulated lamps of all kinds stay inside the stated uncertainty. ISO 516:2019 wants 0.05 (seen).
"""
FLICKERS = "the lamp flickers"
REMEDY = "use a lamp on a battery or on direct current"
COMB = f"{FLICKERS}: its light comes in pulses, one close on the other: {REMEDY}"
MAINS_HZ = 100.0  # twice 50 Hz; at twice 60 Hz the same lamp moves faster
TOO_CLOSE_S = 0.011  # between firings: no shutter is wound so fast, and half a wave of mains is shorter
_SHORTEST_S = 3e-4  # plateau from which a swell is read
_STEP_S = 2e-5  # sharper than an edge of a shutter, as slow as a common sensor
_JUMP = 0.06  # of full light,
_STEEPER = 8.0  # and so many times what the slower edge climbs in one point on the average
_SLOWEST_HZ = 30_000.0  # below, an edge has too few points

Array = NDArray[np.float64]


def flicker_reason(amplitude: float) -> str:
    """
    Why a firing is refused, with the remedy.

    Parameters
    ----------
    amplitude : float
        Of the flicker, over the mean of the light, [-].

    Returns
    -------
    reason : str
        One line.
    """
    percent = 100 * min(amplitude, 1.0)
    return f"{FLICKERS} by about {percent:.0f} %: {REMEDY}"


def lit_noise(y: Array, noise: Noise) -> float:
    """
    How much noisier the light is than darkness, blind to the jumps of a lamp that is switched.

    Parameters
    ----------
    y : array, shape (n,)
        Readings in the light.
    noise : Noise
        Of the channel, on their scale.

    Returns
    -------
    ratio : float
        Of variances, at least 1, [-].
    """
    if len(y) < 16 or noise.rough <= 0:
        return 1.0
    step = y[1:] - y[:-1]
    rough = median_of(np.abs(step[1:] - step[:-1])) / (0.6745 * math.sqrt(6))
    return max(1.0, (rough / noise.rough) ** 2)


def modulation(y: Array, noise: Noise, level: float, lit_ratio: float) -> float:
    """
    How much the light wavers while fully open, beyond white noise, at whichever time scale shows most.

    Parameters
    ----------
    y : array, shape (n,)
        Readings of a plateau.
    noise : Noise
        Of the channel, on their scale.
    level : float
        Full-open level.
    lit_ratio : float
        Variance of the noise in the light over that in darkness, [-].

    Returns
    -------
    rms : float
        Over the level, [-].
    """
    if level <= 0:
        return 0.0
    most, means = 0.0, y - level
    for expected in noise.of_octaves[1:]:
        means = _halved(means)
        count = len(means)
        if count < 6:
            break
        variance = (float(means @ means) - float(means.sum()) ** 2 / count) / (count - 1)
        most = max(most, variance - lit_ratio * expected * (1 + 4 * math.sqrt(2 / count)))
    return math.sqrt(most) / level


def _halved(y: Array) -> Array:
    """Means of neighbouring pairs; one left over is dropped."""
    half: Array = y[:-1:2] + y[1::2]
    half *= 0.5
    return half


def swell(y: Array, noise: Noise, level: float, lit_ratio: float, rate: float) -> float:
    """
    Amplitude of a lamp on mains that would tilt and bend a short plateau as much.

    Parameters
    ----------
    y : array, shape (n,)
        Readings of a plateau.
    noise : Noise
        Of the channel, on their scale.
    level : float
        Full-open level.
    lit_ratio : float
        Variance of the noise in the light over that in darkness, [-].
    rate : float
        Samples per second, [Hz].

    Returns
    -------
    amplitude : float
        Over the level, [-]; 0 where the plateau is too short to tell, or holds half a period and more.
    """
    n = len(y)
    if n < 12 or not _SHORTEST_S * rate <= n <= 0.5 * rate / MAINS_HZ or level <= 0:
        return 0.0
    k = np.arange(n) - (n - 1) / 2
    bow = k**2 - float(k @ k) / n
    variance = lit_ratio * noise.of_sum(n) / n
    omega = 2 * math.pi * MAINS_HZ / rate
    parts = []
    for shape, scale in ((k, omega), (bow, 0.5 * omega**2)):
        weight = float(shape @ shape)
        size = abs(float(shape @ y)) / weight
        # how loud the light is, is known the less the fewer readings there are
        clear = 4 * (1 + 3 / math.sqrt(len(y))) * math.sqrt(variance / weight)
        parts.append(size / scale if size > clear else 0.0)
    return math.hypot(*parts) / level


def valley(y: Array, noise: Noise, level: float, lit_ratio: float) -> float:
    """
    How deep the light sinks between two bright moments, at whichever time scale shows most.

    Parameters
    ----------
    y : array, shape (n,)
        Readings from first to last light.
    noise : Noise
        Of the channel, on their scale.
    level : float
        Full-open level.
    lit_ratio : float
        Variance of the noise in the light over that in darkness, [-].

    Returns
    -------
    depth : float
        Over the level, beyond what noise does, [-].
    """
    if level <= 0:
        return 0.0
    deepest, means = 0.0, y
    for expected in noise.of_octaves:
        count = len(means)
        if count < 8:
            break
        by_noise = 2 * math.sqrt(lit_ratio * expected) * (math.sqrt(2 * math.log(count)) + 1)
        deepest = max(deepest, _sinks(means) - by_noise)
        means = _halved(means)
    return deepest / level


def _sinks(y: Array) -> float:
    """How far the readings sink below the lower of the highest one before and the highest one after."""
    # before the highest of all it is the one before that counts, behind it the one after
    top = int(y.argmax())
    up, down = y[: top + 1], y[top:][::-1]
    return max(float((np.maximum.accumulate(flank) - flank).max()) for flank in (up, down))


def jump(y: Array, noise: Noise, level: float, lit_ratio: float, rate: float, span: float) -> float:
    """
    Largest sudden step of the light that neither leaves darkness for full light nor goes back to it.

    Parameters
    ----------
    y : array, shape (n,)
        Readings around the firing, some darkness included.
    noise : Noise
        Of the channel, on their scale.
    level : float
        Full-open level.
    lit_ratio : float
        Variance of the noise in the light over that in darkness, [-].
    rate : float
        Samples per second, [Hz].
    span : float
        Duration of the slower edge, [sample].

    Returns
    -------
    step : float
        Over the level, [-]; 0 where none is clear.
    """
    m = max(1, round(_STEP_S * rate))
    w = 5
    n = len(y) // m
    if n < 2 * w + 3 or level <= 0 or rate < _SLOWEST_HZ:
        return 0.0
    means = np.add.reduceat(y[: n * m], np.arange(0, n * m, m)) / (m * level)
    k = np.arange(w) - (w - 1) / 2
    mid, slope = np.correlate(means, np.full(w, 1 / w)), np.correlate(means, k / float(k @ k))
    # straight on from the points before, and back from those behind, to the point in between
    reach = (w + 1) / 2
    ends_1 = mid[: -w - 1] + reach * slope[: -w - 1]
    ends_2 = mid[w + 1 :] - reach * slope[w + 1 :]
    step = np.abs(ends_2 - ends_1)
    sigma = math.sqrt(lit_ratio * noise.of_sum(m)) / m / level
    # an edge of a few points is not told from a jump
    least = 6 * 1.6 * sigma + max(_JUMP, _STEEPER * m / span)
    at = np.flatnonzero(step > least)
    if not len(at):
        return 0.0
    step, behind = step[at], at + w + 1
    needed = least + 2 * np.maximum(np.abs(slope[at]), np.abs(slope[behind]))
    at_once = np.abs(means[at + w + 1] - means[at + w - 1])
    clear = (step > needed) & (at_once > 0.8 * step - 4 * sigma)
    low, high = np.minimum(mid[at], mid[behind]), np.maximum(mid[at], mid[behind])
    clear &= (low > 0.1 + 3 * sigma) | (high < 0.85 - 3 * sigma)
    return float(np.max(step[clear], initial=0.0))


def edge_doubt(amplitude: float, distance_s: float) -> float:
    """
    Relative doubt about the light of an edge, held against a full-open level seen so much later or earlier.

    The slope of the lamp cancels between opening and closing, its bend does not.

    Parameters
    ----------
    amplitude : float
        Of a lamp on mains, over its mean, [-].
    distance_s : float
        From the middle of the firing to the edge, [s].

    Returns
    -------
    doubt : float
        Standard uncertainty, [-].
    """
    return amplitude / math.sqrt(2) * min(1.0, 0.5 * (2 * math.pi * MAINS_HZ * distance_s) ** 2)
