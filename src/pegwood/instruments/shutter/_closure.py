"""
A contact's closing and opening in the signal of its channel.

The contact is taken as open before the firing; which way the signal moves when it closes does not matter. An
edge is either a step, placed by the change point of greatest likelihood, or the charging of a capacitor
through a resistor, whose onset is fitted: where it crosses half height is late by 0.69 of the time constant.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from pegwood.instruments.shutter._noise import rough_sigma
from pegwood.instruments.shutter._window import running_mean

__all__ = ["Closure", "Instant", "find_closure"]

_STANDS_OUT = 8.0  # times the noise, smoothed
_QUIET = 0.03  # of the swing: noise that the thresholds still bear
_UP, _DOWN = 0.6, 0.4  # of the swing: closed above, open again below
_APART_S = 0.01  # openings longer than this are no bounce
_SLOWEST_SMOOTH_S = 2e-4
_LASTS = 0.2  # of the longest closing, to be taken for one
_SINKS = 0.08  # of the swing, while the contact is closed
_AGAINST = 0.25  # of the swing, past rest after opening: no direct coupling
_SAMPLING = 1 / math.sqrt(12)  # an edge may lie anywhere between two samples
_CHANGE_POINT = math.sqrt(26.0)
"""
Standard deviation of the most likely place of a step in white noise, in samples, over the square of noise
over step (Hinkley 1970; Yao 1987; from memory).
"""
_STEP_SHAPE = 0.2  # of a sample: what looks like a step may be softened by less than a sample
_GAP_SOFT = (
    0.05  # of a time constant, an edge of a re-opening: neither exactly exponential, nor its start exact
)
_NOT_EXPONENTIAL = 0.03  # of a time constant: a softened edge need not be exactly exponential

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Instant:
    """
    When the contact changed, in samples of the signal.

    Parameters
    ----------
    at : float
        [sample].
    noise, shape : float
        Standard uncertainties by the noise, and by what softens the edge, [sample].
    soft : float
        Time constant of the edge; 0 for a step, [sample].
    sampling : float
        Standard uncertainty by the distance of the samples, [sample].
    """

    at: float
    noise: float
    shape: float
    soft: float
    sampling: float = _SAMPLING


@dataclass(frozen=True)
class Closure:
    """
    One closing of a contact with its bounces, in samples of the signal.

    Parameters
    ----------
    closes : Instant
        First closing.
    opens : Instant or None
        Last opening; None where the signal ends before, or does not hold its level.
    gaps : tuple of float
        How long it was open again each time in between, [sample].
    gap_u : float
        Standard uncertainty of one of them, [sample].
    hidden : float
        Re-openings shorter than this would not be seen, [sample].
    swing : float
        Difference between closed and open, signed, in the unit of the signal.
    again : bool
        True if there is another closing, before or after, far apart from this one.
    drifts : bool
        True if the signal sinks while the contact is closed, or swings past rest when it opens: no direct
        coupling.
    """

    closes: Instant
    opens: Instant | None
    gaps: tuple[float, ...]
    gap_u: float
    hidden: float
    swing: float
    again: bool
    drifts: bool


def find_closure(y: Array, n_rest: int, rate: float) -> Closure | None:
    """
    Find the first closing of a contact.

    Parameters
    ----------
    y : array, shape (n,)
        Signal of the contact's channel around a firing.
    n_rest : int
        Samples at its beginning in which the contact is open.
    rate : float
        Samples per second, [Hz].

    Returns
    -------
    closure : Closure or None
        None where nothing stands out of the noise.
    """
    rest = y[: max(n_rest, 16)]
    level = float(np.median(rest))
    sigma = max(float(np.std(rest)), rough_sigma(rest))
    swing, n = _swing(y - level, sigma, rate)
    if swing == 0:
        return None
    signal = (y - level) / swing
    noise = sigma / abs(swing)
    smooth = running_mean(signal, n)
    runs = _without_clicks(_closed_runs(smooth))
    if not runs or runs[0][0] < 2:
        return None
    group = _lasting_group(runs, _APART_S * rate)
    first, last = group[0], group[-1]
    closes = _instant(signal, first[0], first[1], noise, n)
    opens = None
    if last[1] < len(signal) - 2:
        # looked at in the mirror, an opening is a closing
        opens = _instant(1 - signal, last[1], len(signal) - 1, noise, n)
    soft = max(closes.soft, opens.soft if opens else 0.0)
    gaps = tuple(_gap(smooth, a, b, soft) for a, b in pairwise(group))
    drifts = _sinks(signal, last, noise) or _swings_past(signal[last[1] :], noise)
    return Closure(
        closes=closes,
        opens=None if drifts else opens,
        gaps=gaps,
        gap_u=_gap_u(soft, noise, n),
        hidden=n + 1 + 1.2 * soft,
        swing=swing,
        again=len(group) < len(runs),
        drifts=drifts,
    )


def _gap(smooth: Array, before: tuple[int, int], after: tuple[int, int], soft: float) -> float:
    """
    How long the contact was open between two closings, [sample].

    A softened edge passes a threshold late, by its time constant times the logarithm of how far it started
    from it; a touch that was too short to reach the full swing starts nearer. What it reached is seen.
    """
    seen = float(after[0] - before[1])
    if not soft:
        return seen
    top = float(np.clip(smooth[before[0] : before[1]].max(), _UP, 1.0))
    foot = float(np.clip(smooth[before[1] : after[0]].min(), 0.0, _DOWN))
    return seen + soft * math.log(top / (1 - foot))


def _gap_u(soft: float, noise: float, n: int) -> float:
    """Standard uncertainty of the length of a re-opening: two edges, each passing its threshold, [sample]."""
    shape = _GAP_SOFT * soft if soft else _STEP_SHAPE
    by_noise = noise / math.sqrt(n) * (n + 2.5 * soft)  # over the slope: 1 / n of a step, 0.4 / soft
    stairs = 0.15 * (n - 1)  # a mean of few readings climbs a step in stairs, and may miss one (tried)
    return math.sqrt(2) * math.hypot(_SAMPLING, shape, by_noise, stairs)


def _sinks(signal: Array, run: tuple[int, int], noise: float) -> bool:
    """Whether a closed contact's level falls in the middle half of the time it is closed."""
    quarter = (run[1] - run[0]) // 4
    if quarter < 6:
        return False
    middle = signal[run[0] + quarter : run[1] - quarter]
    third = len(middle) // 3
    fallen = float(np.mean(middle[:third]) - np.mean(middle[-third:]))
    return fallen > _SINKS + 5 * noise * math.sqrt(2 / third)


def _swings_past(after: Array, noise: float) -> bool:
    """Whether the signal goes far past rest once the contact has opened."""
    n = 9
    if len(after) < 2 * n:
        return False
    return float(running_mean(after, n).min()) < -_AGAINST - 5 * noise / 3


def _swing(y: Array, sigma: float, rate: float) -> tuple[float, int]:
    """Closed less open, 0 where there is nothing; and over how many samples noise has to be averaged."""
    longest = max(1, round(_SLOWEST_SMOOTH_S * rate))
    smooth = running_mean(y, longest)
    top = float(smooth[int(np.argmax(np.abs(smooth)))])
    if abs(top) <= max(_STANDS_OUT * sigma / math.sqrt(longest), 1e-12):
        return 0.0, 1
    along = y / top
    closed = along[running_mean(along, longest) > 0.7]
    swing = top * float(np.median(closed)) if len(closed) else top
    n = math.ceil((sigma / abs(swing) / _QUIET) ** 2)
    return swing, int(np.clip(n, 1, longest))


def _closed_runs(y: Array) -> list[tuple[int, int]]:
    """First sample above half, and first below it again, of every stretch that is clearly closed."""
    state = np.zeros(len(y), dtype=np.int8)
    state[y > _UP] = 1
    state[y < _DOWN] = -1
    known = np.flatnonzero(state)
    if not len(known):
        return []
    held = state[known[np.maximum(np.searchsorted(known, np.arange(len(y)), side="right") - 1, 0)]]
    at = np.flatnonzero(np.diff(np.concatenate(([-1], held, [-1]))))
    return [(int(a), int(b)) for a, b in zip(at[::2], at[1::2], strict=True)]


def _without_clicks(runs: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Closings without those, and without the openings, of a single sample."""
    kept: list[tuple[int, int]] = []
    for first, stop in runs:
        if kept and first - kept[-1][1] <= 1:
            kept[-1] = (kept[-1][0], stop)
        else:
            kept.append((first, stop))
    return [(first, stop) for first, stop in kept if stop - first > 1]


def _lasting_group(runs: list[tuple[int, int]], apart: float) -> list[tuple[int, int]]:
    """The first closing that lasts, with its bounces: a spike on the wire is no contact."""
    groups = [[runs[0]]]
    for run in runs[1:]:
        if run[0] - groups[-1][-1][1] > apart:
            groups.append([run])
        else:
            groups[-1].append(run)
    lasts = [sum(b - a for a, b in group) for group in groups]
    return next(group for group, length in zip(groups, lasts, strict=True) if length >= _LASTS * max(lasts))


def _instant(signal: Array, at: int, until: int, noise: float, n: int) -> Instant:
    """Place an edge from 0 to 1 that a threshold crossed at about `at`; 1 lasts until about `until`."""
    low, high = max(0, at - 4 * n - 8), min(len(signal), max(until, at + 4))
    soft = _softness(signal, at, high, n, noise)
    if soft > 0:
        top = _until_it_turns(signal, at, min(high, int(at + 8 * soft + 8)), high, n)
        fitted = _onset(signal, at, low, top, soft, noise)
        if fitted is not None:
            return fitted
    # the most likely place of a step: where the sum of what lies above half, less half, is smallest
    high = min(high, at + 4 * n + 8)
    sums = np.concatenate(([0.0], np.cumsum(signal[low:high] - 0.5)))
    place = low + int(np.argmin(sums))
    at_least = _CHANGE_POINT * noise**2
    return Instant(place - 0.5, at_least, _STEP_SHAPE, 0.0)


def _until_it_turns(signal: Array, at: int, wanted: int, until: int, n: int) -> int:
    """Where to stop looking at an edge: before the contact opens again, where its decay begins."""
    if wanted < until or until >= len(signal) - 1:
        return wanted
    return at + int(np.argmax(running_mean(signal[at:until], n))) + 1


def _softness(signal: Array, at: int, high: int, n: int, noise: float) -> float:
    """Time constant of an edge by its quarter crossings, roughly; 0 for what looks like a step, [sample]."""
    low = max(0, at - 8 * n - 200)
    smooth = running_mean(signal[low:high], n)
    below = np.flatnonzero(smooth[: at - low + 1] < 0.25)
    above = np.flatnonzero(smooth[at - low :] > 0.75)
    if not len(below) or not len(above):
        return 0.0
    rise = at - low + int(above[0]) - int(below[-1]) - 1
    soft = math.sqrt(max(rise**2 - (0.5 * n) ** 2, 0.0)) / math.log(3)
    if soft > 1.2:
        return soft
    near = smooth[max(0, int(below[-1]) + 1) : int(below[-1]) + 5]
    on_the_way = np.count_nonzero((near > 0.05 + 4 * noise) & (near < 0.95 - 4 * noise))
    return 0.8 if n == 1 and on_the_way >= 2 else 0.0


def _onset(signal: Array, at: int, low: int, high: int, soft: float, noise: float) -> Instant | None:
    """Fit 1 - exp(-(t - onset)/tau) with a free height."""
    low = max(0, min(low, int(at - 2 * soft - 8)))
    if high - low < 6:
        return None
    t = np.arange(low, high, dtype=np.float64)
    y = signal[low:high]

    def residual(theta: Array) -> Array:
        since = np.maximum(t - theta[0], 0.0) / math.exp(max(theta[1], -3.0))
        left: Array = y + theta[2] * np.expm1(-since)
        return left

    start = np.array([at - 0.7 * soft, math.log(soft), 1.0])
    found = least_squares(residual, start, x_scale=[max(soft, 1.0), 0.3, 0.1])
    onset, tau = float(found.x[0]), math.exp(float(found.x[1]))
    if not (low - 1 < onset < at + 2 and 0.05 < tau < 10 * soft):
        return None
    normal = found.jac.T @ found.jac
    seen = math.sqrt(float(np.mean(found.fun**2)))
    try:
        variance = float(np.linalg.inv(normal)[0, 0]) * max(noise, seen) ** 2
    except np.linalg.LinAlgError:
        return None
    # the fit places an onset between samples; a converter's filter rounds it off over one or two of them
    sampling = _SAMPLING * min(1.0, 2 / tau)
    return Instant(onset, math.sqrt(max(variance, 0.0)), _NOT_EXPONENTIAL * tau, tau, sampling)
