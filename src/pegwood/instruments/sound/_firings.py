"""From named sounds to firings with their instants, or to the reason why there is no time."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pegwood.instruments.recordings import Recording
from pegwood.instruments.sound._naming import Named, Pair
from pegwood.instruments.sound._onsets import Onset
from pegwood.instruments.sound._picking import Pick, pick
from pegwood.instruments.sound.results import CannotTell

__all__ = ["FASTEST_S", "MIRROR_FROM_S", "SURE", "Choice", "Timed", "choose", "time_it"]

FASTEST_S = 0.025
SURE = 0.95
MIRROR_FROM_S = 0.13
_LIKELY = 0.5
_COMPANION, _ALIKE_EV = 0.8, 0.5
_TOGETHER = 0.1  # pairs whose times differ by no more are told together, and the uncertainty holds both
_FARTHEST_S = 0.06
_COUNTS = 0.02
_WITHIN = 1.8  # standard uncertainties within which every one of them lies
_TICKS, _OVER_TICKS_DB = 4, 9.0
_SOFT_DB = -13.0  # an opening softer than this against its closing may as well be a release

_TOO_FAST = (
    "opening and closing are too near each other to be told from release, rattle and echo",
    "time fast speeds with a light gate",
)
_UNHEARD = (
    "the opening is not heard clearly",
    "bring the microphone within a hand's breadth of the shutter, or touch the lens board with it",
)
_SEVERAL = (
    "more than one pair of sounds may be opening and closing",
    "lock up or take out a mirror, leave three seconds of quiet around each firing, and fire five times",
)
_MIRROR = (
    "so near each other a mirror's stroke and a curtain's look the same",
    "say that there is no mirror, or that it is locked up",
)
_ALONE = (
    "no second firing of about the same time is heard, and two knocks may look like one firing",
    "fire five times at one setting into the same recording",
)
_ONE = (
    "only one sound stands out, so there is no time between two",
    "bring the microphone nearer; a speed faster than 1/40 s needs a light gate",
)


@dataclass(frozen=True)
class Choice:
    """A pair that is taken for a firing, its chance, and those so near that either may be meant."""

    pair: Pair
    chance: float
    others: tuple[Pair, ...]


@dataclass(frozen=True)
class Timed:
    """
    Both sounds of a firing with their instants.

    Parameters
    ----------
    opened, closed : Pick
        When each sound begins.
    between_s : float
        From one to the other, over all pairs that may be meant, [s].
    naming_u_s : float
        Standard uncertainty of that from not knowing which is meant, [s].
    chance : float
        That both are what they are called, [-].
    """

    opened: Pick
    closed: Pick
    between_s: float
    naming_u_s: float
    chance: float


def choose(
    onsets: Sequence[Onset], named: Named, rate: float, *, mirror_told: bool
) -> tuple[list[Choice], list[CannotTell]]:
    """
    Take the pairs that are sure, and say of the others why not.

    Parameters
    ----------
    onsets : sequence of Onset
        All sounds.
    named : Named
        Their chances.
    rate : float
        Samples per second, [Hz].
    mirror_told : bool
        Whether it is known that no mirror strokes.

    Returns
    -------
    choices : list of Choice
        In order of time.
    unread : list of CannotTell
        In order of time.
    """
    t = np.array([onset.at for onset in onsets]) / rate
    taken: list[Choice] = []
    unread: list[CannotTell] = []
    covered: list[tuple[float, float]] = []
    for pair in named.pairs:
        span = (t[pair.opening], t[pair.closing])
        if any(low <= span[1] and span[0] <= high for low, high in covered):
            continue
        near = [other for other in named.pairs if _are_near(other, pair, t)]
        chance = sum(other.chance for other in near)
        if chance < SURE or span[1] - span[0] < FASTEST_S:
            continue
        covered.append((span[0], span[1]))
        if _is_soft(onsets, pair):
            unread.append(CannotTell(float(span[0]), *_UNHEARD))
        elif span[1] - span[0] < MIRROR_FROM_S and not mirror_told:
            unread.append(CannotTell(float(span[0]), *_MIRROR))
        elif not _comes_back(pair, named, t):
            unread.append(CannotTell(float(span[0]), *_ALONE))
        else:
            taken.append(Choice(pair, min(1.0, chance), tuple(near)))
    unread += _unread(t, named, covered)
    return sorted(taken, key=lambda choice: choice.pair.opening), unread


def _comes_back(pair: Pair, named: Named, t: np.ndarray) -> bool:
    """Another firing of about the same time is likely at least: two knocks in a row are not that even."""
    span, took = (t[pair.opening], t[pair.closing]), t[pair.closing] - t[pair.opening]
    return any(
        other.chance >= _COMPANION
        and (t[other.opening] > span[1] or t[other.closing] < span[0])
        and abs(math.log2((t[other.closing] - t[other.opening]) / took)) <= _ALIKE_EV
        for other in named.pairs
    )


def _is_soft(onsets: Sequence[Onset], pair: Pair) -> bool:
    """The opening is far below the closing, or hardly above the ticks of the gear behind it."""
    opening = onsets[pair.opening].level_db
    between = [onset.level_db for onset in onsets[pair.opening + 1 : pair.closing]]
    if opening - onsets[pair.closing].level_db < _SOFT_DB:
        return True
    return len(between) >= _TICKS and opening - float(np.quantile(between, 0.75)) < _OVER_TICKS_DB


def _are_near(other: Pair, pair: Pair, t: np.ndarray) -> bool:
    reach = _TOGETHER * (t[pair.closing] - t[pair.opening])
    moved = abs(t[other.opening] - t[pair.opening]) + abs(t[other.closing] - t[pair.closing])
    return bool(moved <= min(reach, _FARTHEST_S))


def _unread(t: np.ndarray, named: Named, covered: list[tuple[float, float]]) -> list[CannotTell]:
    """Where a firing is likely and no pair is sure."""
    ends = named.closing + named.fast + named.unheard
    free = np.array([not any(low <= at <= high for low, high in covered) for at in t], bool)
    out: list[CannotTell] = []
    k = 0
    while k < len(t):
        if not free[k] or ends[k] < 0.02:
            k += 1
            continue
        last = k
        while last + 1 < len(t) and free[last + 1] and t[last + 1] - t[last] < 0.4:
            last += 1
        here = slice(k, last + 1)
        if ends[here].sum() >= _LIKELY:
            out.append(_why(float(t[k]), named, here, t))
        k = last + 1
    return out


def _why(at_s: float, named: Named, here: slice, t: np.ndarray) -> CannotTell:
    pairs = [pair for pair in named.pairs if here.start <= pair.closing < here.stop]
    slow = sum(pair.chance for pair in pairs if t[pair.closing] - t[pair.opening] >= FASTEST_S)
    chances = {
        _SEVERAL: slow,
        _TOO_FAST: float(named.fast[here].sum()) + sum(pair.chance for pair in pairs) - slow,
        _UNHEARD: float(named.unheard[here].sum()),
    }
    reason, remedy = max(chances, key=lambda why: chances[why])
    if (reason, remedy) == _TOO_FAST and here.stop - here.start == 1:
        reason, remedy = _ONE
    if (reason, remedy) == _SEVERAL and pairs:
        best = max(pairs, key=lambda pair: pair.chance)
        took = 1e3 * (t[best.closing] - t[best.opening])
        reason += f" (the likeliest, {took:.0f} ms apart, has a chance of {best.chance:.2f})"
    return CannotTell(at_s, reason, remedy)


def time_it(recording: Recording, onsets: Sequence[Onset], choice: Choice, channel: int) -> Timed:
    """
    The instants of a firing's sounds.

    Parameters
    ----------
    recording : Recording
        What the microphone gave.
    onsets : sequence of Onset
        All sounds.
    choice : Choice
        Which of them.
    channel : int
        Channel to listen to.

    Returns
    -------
    timed : Timed
        With their uncertainties.
    """
    wanted = {k for pair in choice.others for k in (pair.opening, pair.closing)}
    picks = {k: pick(recording, onsets[k], channel) for k in sorted(wanted)}
    chances = np.array([pair.chance for pair in choice.others])
    times = np.array([picks[pair.closing].at_s - picks[pair.opening].at_s for pair in choice.others])
    share = chances / chances.sum()
    mean = float(share @ times)
    naming = max(
        math.sqrt(float(share @ (times - mean) ** 2)),
        float(np.abs(times - mean)[share > _COUNTS].max()) / _WITHIN,
    )
    best = choice.pair
    return Timed(picks[best.opening], picks[best.closing], mean, naming, choice.chance)
