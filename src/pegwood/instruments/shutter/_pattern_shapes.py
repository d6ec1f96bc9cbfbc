"""
Shapes that errors over the marked speeds may have.

Every hypothesis is a straight line in one amplitude a: error = offset + slope a, with a normal about `mean`
with standard deviation `sd`. That keeps the integral over a exact. A shape that is not straight (a time added
to every speed: log2(1 + d/t)) is cut into narrow pieces that are.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from pegwood.instruments.shutter._pattern_data import Knowledge, Practice, SignRow

__all__ = ["Hypotheses", "shapes"]

_BREAKS = 9
_PIECES = 28
_WIDEST_DELAY = 2.8
"""Standard deviations of the logarithm of a delay that the pieces reach on either side."""
_STEEPEST_EV = 4.0
"""A time missing that takes more than this off the fastest speed leaves no exposure to speak of."""

Line = tuple[np.ndarray, np.ndarray, float, float, float, float, float]
GROUPS = {"all": 0, "slow": 1, "equal": 1, "fast": 2, "delay": 2, "one": 3}


@dataclass(frozen=True)
class Hypotheses:
    """
    Shapes with their priors, one row each; times run over the measured speeds and then the candidates.

    Parameters
    ----------
    sign : array of int, shape (k,)
        Which sign of `names` each belongs to.
    group : array of int, shape (k,)
        Two of one group exclude each other.
    offset, slope : array, shape (k, n)
        Error at amplitude 0, [EV], and per unit of amplitude, [-].
    mean, sd : array, shape (k,)
        The amplitude's prior, [EV].
    at, step : array, shape (k,)
        What places it, [s]: a break, a speed, or a time added at amplitude 0 and what is added per unit of
        amplitude.
    log_weight : array, shape (k,)
        Logarithm of its share of its sign, [-].
    names : tuple of str
        Signs' ids.
    """

    sign: np.ndarray
    group: np.ndarray
    offset: np.ndarray
    slope: np.ndarray
    mean: np.ndarray
    sd: np.ndarray
    at: np.ndarray
    step: np.ndarray
    log_weight: np.ndarray
    names: tuple[str, ...]

    @property
    def expected(self) -> np.ndarray:
        """Errors at the prior's mean, shape (k, n), [EV]."""
        return np.asarray(self.offset + self.slope * self.mean[:, None])


def shapes(times_s: np.ndarray, n_measured: int, known: Knowledge) -> Hypotheses:
    """
    Every hypothesis for the speeds at hand.

    Parameters
    ----------
    times_s : array, shape (n,)
        Times that stand behind the markings: those measured first, [s].
    n_measured : int
        How many of them are measured; only such a speed can be the one that is off alone.
    known : Knowledge
        Signs and practice.

    Returns
    -------
    hypotheses : Hypotheses
        Sound shutters' own offset (sign "") first.
    """
    practice, n = known.practice, len(times_s)
    names, rows = [""], [(0, 0, np.zeros(n), np.ones(n), 0.0, practice.sound_offset_ev, 0.0, 0.0, 1.0)]
    for sign in known.signs.values():
        if sign.shape not in GROUPS:
            continue
        names.append(sign.id)
        lines = list(_lines(sign, times_s, n_measured, practice))
        total = sum(line[-1] for line in lines)
        rows += [(len(names) - 1, GROUPS[sign.shape], *line[:-1], line[-1] / total) for line in lines]
    sign_, group, offset_, slope_, mean_, sd_, at_, step, weight = map(np.array, zip(*rows, strict=True))
    return Hypotheses(sign_, group, offset_, slope_, mean_, sd_, at_, step, np.log(weight), tuple(names))


def _lines(sign: SignRow, times_s: np.ndarray, n_measured: int, practice: Practice) -> Iterator[Line]:
    """Offset, slope, mean, sd, place, step and weight of each hypothesis of a sign."""
    none = np.zeros(len(times_s))
    stops = np.log2(times_s)
    if sign.shape == "equal":
        for at in _breaks(practice.slow_break_s):
            slow = (times_s >= at).astype(float)
            middle = math.log2(practice.bypassed_s)
            yield -stops * slow, slow, middle, practice.bypassed_sd_ev, at, 0.0, 1.0
        return
    if sign.shape == "delay":
        yield from _delays(sign.direction, times_s, n_measured, practice)
        return
    for slope, at in _slopes(sign.shape, times_s, n_measured, practice):
        for size in sign.sizes:
            yield none, slope, size.mean_ev, size.sd_ev, at, 0.0, size.weight


def _slopes(
    shape: str, times_s: np.ndarray, n_measured: int, practice: Practice
) -> Iterator[tuple[np.ndarray, float]]:
    stops = np.log2(times_s)
    if shape == "all":
        yield np.ones(len(times_s)), 0.0
    elif shape == "one":
        for time in np.unique(times_s[:n_measured]):
            yield (times_s == time).astype(float), float(time)
    else:
        slow = shape == "slow"
        full = math.log2(practice.slow_full_s if slow else practice.fast_full_s)
        for at in _breaks(practice.slow_break_s if slow else practice.fast_break_s):
            yield ((times_s >= at) if slow else (times_s <= at)).astype(float), at
            if abs(full - math.log2(at)) > 1:  # gradual: nothing at the break, all of it at `full`
                yield np.clip((stops - math.log2(at)) / (full - math.log2(at)), 0.0, 1.0), at


def _breaks(ends_s: tuple[float, float]) -> list[float]:
    low, high = (math.log2(end) for end in ends_s)
    return [2 ** (low + (high - low) * (i + 0.5) / _BREAKS) for i in range(_BREAKS)]


def _delays(direction: int, times_s: np.ndarray, n_measured: int, practice: Practice) -> Iterator[Line]:
    """log2(1 + d/t) in pieces of a log-normal d, each straight about its middle and weighed by its share."""
    edges = np.linspace(-_WIDEST_DELAY, _WIDEST_DELAY, _PIECES + 1)
    shares = np.diff(ndtr(edges))
    delays = direction * practice.delay_median_s * practice.delay_factor**edges
    fastest = float(times_s[:n_measured].min())
    for share, (low, high) in zip(shares, itertools.pairwise(delays), strict=True):
        delay, half = 0.5 * (low + high), 0.5 * abs(high - low)
        if 1 + delay / fastest <= 2**-_STEEPEST_EV:
            continue
        left = np.maximum(1 + delay / times_s, 2**-_STEEPEST_EV)  # candidates may be faster than all measured
        slope = half / (times_s * left * math.log(2))
        yield np.log2(left), slope, 0.0, 1 / math.sqrt(3), float(delay), half, float(share)
    if 1 + delays[0] / fastest <= 2**-_STEEPEST_EV:  # no delay of this table fits: the least one stands in
        left = np.full(len(times_s), 2**-_STEEPEST_EV)
        yield np.log2(left), np.zeros(len(times_s)), 0.0, 1.0, float(delays[0]), 0.0, 1.0
