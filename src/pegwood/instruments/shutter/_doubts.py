"""Reasons to give no figures: too weak, too short, too slow, or not coupled as it should be."""

from __future__ import annotations

import math

import numpy as np

from pegwood.instruments.shutter._draft import Draft
from pegwood.instruments.shutter._fitting import Edge
from pegwood.instruments.shutter._flicker import FLICKERS, MAX_FLICKER, REMEDY, flicker_reason
from pegwood.instruments.shutter._noise import Noise
from pegwood.instruments.shutter._resolved import FEWEST_SAMPLES, resolved_at
from pegwood.instruments.shutter._window import Side, Window

__all__ = ["refusal", "undershoot"]

_MAX_EDGE_S = 0.15
# In so long a firing so slow an edge is no shutter's; nor is one that comes or goes at once and then settles,
# half done in so small a part of it, if both edges do (or both together) and take so long (practice).
_LAMP_S, _LAMP_EDGE_S, _SETTLING_S, _AT_ONCE, _BOTH_AT_ONCE = 0.25, 0.03, 0.012, 0.36, 0.6
_SWINGS, _SLOWLY = 0.12, 3.0  # of full light; times the noise from reading to reading
_UNDERSHOOT = 0.02
_UNSETTLED = 0.05
_STRAY = 0.01  # of the exposure
_BENT = 0.1
_COARSE = 0.25  # of full light: so wide a step of the converter looks like anything
_REOPENS = 0.5  # of full light; a bounce stays below (practice)


def undershoot(
    window: Window,
    sides: tuple[Side, Side],
    ends: tuple[int, float],
    noise: Noise,
    level: float,
    edges: tuple[Edge, Edge],
) -> tuple[float, float, float]:
    """
    How far the dark level right after closing lies below that before opening.

    Parameters
    ----------
    window : Window
        Readings as they were.
    sides : (Side, Side)
        Readings less the dark line.
    ends : (int, float)
        Beginning and end of the light, [sample].
    noise : Noise
        On the scale of the window.
    level : float
        Full-open level.
    edges : (Edge, Edge)
        Opening and closing.

    Returns
    -------
    undershoot, u, off_line : float
        As a fraction of full light, its standard uncertainty, and the part of it that no straight line
        through the darkness on both sides explains, [-].
    """
    one, two = sides
    width = edges[1].half - edges[0].half
    n = int(max(16, min(width, 0.25 * len(one.y), 4096)))
    before = one.y[max(0, ends[0] - one.offset - 2 * n) : max(0, ends[0] - one.offset)]
    begin = math.ceil(ends[1] - two.offset)
    after = two.y[begin : begin + n]
    if len(before) < 8 or len(after) < 8 or level <= 0:
        return 0.0, math.inf, 0.0
    u = math.sqrt(noise.of_sum(len(before)) / len(before) ** 2 + noise.of_sum(len(after)) / len(after) ** 2)
    # both sides are free of the straight line through both darks: put the difference of the darks back
    drift = _rise(window, one, two, ends)
    off_line = float(np.mean(before)) - float(np.mean(after))
    return (off_line - drift) / level, u / level, off_line / level


def _rise(window: Window, one: Side, two: Side, ends: tuple[int, float]) -> float:
    """What the straight dark line rises by from the beginning to the end of the pulse."""
    at_start = int(np.clip(ends[0] - one.offset, 0, len(one.y) - 1))
    at_stop = int(np.clip(ends[1] - two.offset, 0, len(two.y) - 1))
    line_start = window.opening.y[at_start] - one.y[at_start]
    line_stop = window.closing.y[at_stop] - two.y[at_stop]
    return float(line_stop - line_start)


def refusal(result: Draft, window: Window, sample_rate_hz: float) -> str:
    """
    Why a pulse gives no figures.

    Parameters
    ----------
    result : Draft
        What was measured.
    window : Window
        The readings.
    sample_rate_hz : float
        Samples per second, [Hz].

    Returns
    -------
    reason : str
        Empty where it does give figures.
    """
    return _not_a_firing(result, sample_rate_hz) or _not_trusted(result, window)


def _not_a_firing(result: Draft, rate: float) -> str:
    opening, closing = result.opening, result.closing
    level = 0.5 * (result.levels[0] + result.levels[1])
    exposure = sum(result.edge_sums) + result.n_plateau * level
    counted = sum(result.n_edge) + result.n_plateau
    if level <= 0 or exposure < 10 * math.sqrt(result.noise.of_sum(counted)):
        return "too weak to be told from the noise"
    swing = result.noise.sigma
    if swing > _SWINGS and swing > _SLOWLY * result.noise.rough:
        return (
            f"the darkness beside it swings by {100 * swing:.0f} % of its light: hum, or a knock dying away"
        )
    if min(closing.half - opening.half, result.above_half) < FEWEST_SAMPLES:
        return (
            f"shorter than {FEWEST_SAMPLES:.0f} samples: a click, or a shutter too fast for "
            f"{rate:g} samples per second, which time {resolved_at(rate).timed} at the fastest"
        )
    if max(opening.span, closing.span) > _MAX_EDGE_S * rate:
        return "the light changes too slowly for a shutter"
    shorter, longer = sorted((opening.span, closing.span))
    if closing.half - opening.half > _LAMP_S * rate and _is_lamp(opening, closing, rate):
        return (
            f"the light takes {1000 * longer / rate:.0f} ms to come or to go, as that of a switched lamp does"
        )
    if not result.has_plateau and longer > 6 * max(shorter, 1.0):
        return "rises at once and fades away: an AC-coupled input, or a flash"
    return ""


def _is_lamp(opening: Edge, closing: Edge, rate: float) -> bool:
    """Whether it is rather a lamp that was switched: its light settles as the heat of a filament does."""
    longer = max(opening.span, closing.span)
    rises = (opening.half - opening.dark) / opening.span
    falls = (closing.half - closing.full) / closing.span
    at_once = max(rises, falls) < _AT_ONCE or rises + falls < _BOTH_AT_ONCE
    settles = at_once and longer > _SETTLING_S * rate
    return settles or longer > _LAMP_EDGE_S * rate


def _not_trusted(result: Draft, window: Window) -> str:
    level = 0.5 * (result.levels[0] + result.levels[1])
    low, u = result.undershoot, result.undershoot_u
    if result.resolution > _COARSE:
        return (
            f"its light is only {1 / result.resolution:.2g} steps of the converter high: turn the gain or "
            "the lamp up"
        )
    if low > max(_UNDERSHOOT, 5 * u) and not _drifts(result, window):
        return (
            f"after closing the light falls {100 * low:.0f} % of full light below its dark level: "
            "an AC-coupled input, or a knock"
        )
    if result.bounce_peak > _REOPENS:
        return (
            f"after closing the light comes back to {100 * result.bounce_peak:.0f} % of full light: "
            f"{FLICKERS}, or the blades open twice: {REMEDY}, and look at the curve"
        )
    if result.flicker > MAX_FLICKER:
        return flicker_reason(result.flicker)
    if low < -max(_UNSETTLED, 5 * u) and not _drifts(result, window):
        return f"the light does not come back: {-100 * low:.0f} % of full light stay after closing"
    exposure = sum(result.edge_sums) + result.n_plateau * level
    length = result.pulse.stop - result.pulse.start
    uncertain_dark = abs(low) * level * length
    if result.stray > max(_STRAY * exposure, 6 * math.sqrt(result.noise.of_sum(length))) + uncertain_dark:
        return "there is light before it opens or long after it closes: look at the curve"
    if abs(result.bent) > _BENT:
        return "the light does not stay on while it is open: look at the curve"
    return ""


def _drifts(result: Draft, window: Window) -> bool:
    """True where one straight line fits both darks up to the edges: the light around drifts."""
    if abs(result.off_line) > max(_UNDERSHOOT, 5 * result.undershoot_u):
        return False
    one, two = window.opening, window.closing
    n_before, n_after = result.dark_weight
    if min(n_before, n_after) < 32:
        return False
    before, after = one.y[:n_before], two.y[len(two.y) - n_after :]
    slopes = []
    variances = []
    for y in (before, after):
        k = np.arange(len(y)) - (len(y) - 1) / 2
        slopes.append(float(k @ y) / float(k @ k))
        variances.append(result.noise.of_sum(len(y)) / len(y) / float(k @ k))
    distance = two.offset + len(two.y) - n_after / 2 - (one.offset + n_before / 2)
    seen = float(np.mean(after) - np.mean(before))
    expected = 0.5 * sum(slopes) * distance
    u = 0.5 * distance * math.sqrt(sum(variances))
    u = math.hypot(u, math.sqrt(result.noise.of_sum(n_before)) / n_before)
    same_way = slopes[0] * slopes[1] > 0
    return same_way and abs(seen - expected) < max(4 * u, 0.3 * abs(seen))
