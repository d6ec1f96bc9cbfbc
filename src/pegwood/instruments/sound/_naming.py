"""
Which sound is the opening, which the closing, and how likely each is what it is called.

The sounds are taken as a marked point process: any of them may be a stray (a knock, cocking, a voice), or
part of a firing that was heard opening and closing, or of one too fast to be told apart, or of one whose
opening was not heard. A firing has further sounds around it: release, ticks of the slow-speed gear while it
is open, rattle, perhaps a mirror. All ways of explaining a recording are weighed at once by the
forward-backward recursion for semi-Markov chains (Rabiner 1989, from memory), and what is not known of a
recording (how loud a closing is, whether there are ticks, strays, a mirror) is weighed with them. The speed
on the dial chooses no sound.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.sound._onsets import Onset
from pegwood.instruments.sound._practice import Practice, Role, practice

__all__ = ["Named", "Pair", "name_sounds"]

_MOST_BETWEEN = 240
_MOST_IN_A_ROW = 40
_LEAST_TOLD = 0.01
_KNOCK_LEFT_DB = 5.0  # mean of what a knock has not lost 20 ms later
_FULL_FALL_DB = 25.0
_ODD = 0.15  # share of firings that are off the time of the others
_MOST_TIMES, _LEAST_MASS, _LEAST_WEIGHT = 12, 0.05, 0.01
_HUM_DB, _HUMS, _ECHO_S, _SHORT_PAUSE_S = 2.5, 0.7, 0.2, 0.012
_STILL = 0.3  # share of the usual strays while the shutter is open

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Pair:
    """Numbers of the sounds that may be opening and closing of one firing, and the chance that they are."""

    opening: int
    closing: int
    chance: float


@dataclass(frozen=True)
class Named:
    """
    Chances for every sound.

    Parameters
    ----------
    opening, closing : array, shape (n,)
        Chance of being the opening, the closing of a firing, [-].
    fast : array, shape (n,)
        Chance of being a whole firing, too fast to be told apart, [-].
    unheard : array, shape (n,)
        Chance of being the closing of a firing whose opening is none of the sounds, [-].
    pairs : tuple of Pair
        Pairs with a chance above 0.01, the likeliest first.
    mirror : float
        Chance that a mirror is heard in the recording, [-].
    """

    opening: Array
    closing: Array
    fast: Array
    unheard: Array
    pairs: tuple[Pair, ...]
    mirror: float


@dataclass(frozen=True)
class _Sounds:
    """The sounds under every choice of what is not known: arrays of shape (choices, n)."""

    t: Array
    level: Array
    knock: Array  # log ratio of a knock's fall against a stray's; shape (n,)
    hum: Array  # log ratio of a gear's hum against quiet in the pause behind each; shape (n,)
    stray: Array  # log density of strays
    gear_rate: Array  # shape (choices, 1)
    stray_rate: Array
    mirror: Array
    prior: Array  # log; shape (choices,)
    usual: Array  # log of the time most firings have, or NaN; shape (choices, 1)


def name_sounds(
    onsets: Sequence[Onset],
    sample_rate_hz: float,
    *,
    is_slow: bool | None = None,
    has_mirror: bool | None = None,
) -> Named:
    """
    Weigh all ways of explaining the sounds.

    Parameters
    ----------
    onsets : sequence of Onset
        All sounds of the recording in order of time.
    sample_rate_hz : float
        Samples per second, [Hz].
    is_slow : bool or None
        True where the dial is known to stand at a slow speed.
    has_mirror : bool or None
        Whether a mirror moves, where that is known.

    Returns
    -------
    named : Named
        Chances that add up to at most 1 for every sound.
    """
    if not onsets:
        none = np.zeros(0)
        return Named(none, none, none, none, (), 0.0)
    known = practice()
    sounds = _under_every_choice(onsets, sample_rate_hz, known, has_mirror)
    fast = known.firing["share_fast_if_slow" if is_slow else "share_fast"]
    named, weight = _weigh(sounds, _Scores(sounds, known, fast))
    shortest = known.firing["repeat_from_s" if has_mirror is False else "repeat_from_with_mirror_s"]
    times = _times_that_come_back(named, sounds.t, known, shortest)
    if not len(times):
        return named
    sounds = _with_times(sounds, weight, times, known)
    return _weigh(sounds, _Scores(sounds, known, fast))[0]


def _times_that_come_back(named: Named, t: Array, known: Practice, shortest: float) -> Array:
    """
    Times that most firings of the recording may have, as logarithms on an even grid.

    None so short that a release or a mirror comes back as evenly.
    """
    step = known.firing["repeat_spread"]
    grid = np.arange(math.log(shortest), math.log(known.firing["slowest_s"]), step)
    mass = np.zeros(len(grid))
    for pair in named.pairs:
        log_t = math.log(t[pair.closing] - t[pair.opening])
        mass += pair.chance * (np.abs(grid - log_t) < 1.5 * step)
    likely = np.argsort(-mass)[:_MOST_TIMES]
    return np.asarray(grid[likely][mass[likely] > _LEAST_MASS])


def _with_times(sounds: _Sounds, weight: Array, times: Array, known: Practice) -> _Sounds:
    """The likely choices, each with no time that comes back and with each of these."""
    firing = known.firing
    kept = np.flatnonzero(weight > math.log(_LEAST_WEIGHT) + weight.max())
    per_time = firing["share_repeat"] * firing["repeat_spread"]
    per_time /= math.log(firing["slowest_s"] / firing["fastest_s"])
    usual = np.concatenate([[np.nan], times])
    share = np.log(np.concatenate([[1 - per_time * len(times)], np.full(len(times), per_time)]))
    chosen, which = np.repeat(kept, len(usual)), np.tile(np.arange(len(usual)), len(kept))
    return replace(
        sounds,
        level=sounds.level[chosen],
        stray=sounds.stray[chosen],
        gear_rate=sounds.gear_rate[chosen],
        stray_rate=sounds.stray_rate[chosen],
        mirror=sounds.mirror[chosen],
        prior=sounds.prior[chosen] + share[which],
        usual=usual[which][:, None],
    )


def _under_every_choice(
    onsets: Sequence[Onset], rate: float, known: Practice, has_mirror: bool | None
) -> _Sounds:
    t = np.array([onset.at for onset in onsets]) / rate
    level = np.array([onset.level_db for onset in onsets])
    left = np.array([min(o.noise_db, _FULL_FALL_DB) - min(o.fall_db, _FULL_FALL_DB) for o in onsets])
    knock = np.exp(-np.maximum(left, 0.0) / _KNOCK_LEFT_DB) / _KNOCK_LEFT_DB
    knock_log = np.log(knock + 1e-4) - np.log(0.5 * knock + 0.5 / _FULL_FALL_DB)
    hum = _hum(np.array([onset.hum_db for onset in onsets]), t)
    names = ("loudest", "gear", "stray", "mirror")
    every = list(itertools.product(*(known.choices[name] for name in names)))
    if has_mirror is not None:
        every = [c for c in every if bool(c[3][0]) == has_mirror]
    value = np.array([[v for v, _ in choice] for choice in every])
    prior = np.array([math.log(math.prod(share for _, share in choice)) for choice in every])
    relative = level[None, :] - (level.max() - value[:, :1])
    stray_rate = value[:, 2:3]
    stray = np.log(stray_rate) + _log_normal(relative, known.roles["stray"])
    # strays that are not there count for the choice of their rate
    length = float(t[-1] - t[0]) + 2.0
    evidence = prior + stray.sum(axis=1) - stray_rate[:, 0] * length
    usual = np.full((len(every), 1), np.nan)
    return _Sounds(
        t, relative, knock_log, hum, stray, value[:, 1:2], stray_rate, value[:, 3:4], evidence, usual
    )


def _hum(hum_db: Array, t: Array) -> Array:
    """A pause is loud behind ticks that stand out, and quiet in a room unless its echo still rings."""
    pause = np.diff(t, append=t[-1:] + 1.0)
    is_loud = hum_db > _HUM_DB
    by_chance = np.where(pause > _ECHO_S, 0.04, 0.3)
    ratio = np.where(is_loud, np.log(_HUMS / by_chance), np.log((1 - _HUMS) / (1 - by_chance)))
    return np.asarray(np.where(pause > _SHORT_PAUSE_S, ratio, 0.0))


def _log_normal(x: Array, role: Role) -> Array:
    z = (x - role.level_db) / role.spread_db
    return np.asarray(-0.5 * z * z - math.log(role.spread_db * math.sqrt(2 * math.pi)))


class _Scores:
    """
    Log ratios of a firing's sounds against as many strays, under every choice.

    Parameters
    ----------
    sounds : _Sounds
        What was heard.
    known : Practice
        The table.
    fast : float
        Share of firings too fast to be told apart.
    """

    def __init__(self, sounds: _Sounds, known: Practice, fast: float) -> None:
        self.t, roles, firing = sounds.t, known.roles, known.firing
        self.slowest_s, self.fastest_s = firing["slowest_s"], firing["fastest_s"]
        self.log_range = math.log(self.slowest_s / self.fastest_s)
        self.usual, self.spread = sounds.usual, firing["repeat_spread"]
        self.rattle_s = roles["rattle"].to_s
        self.cocking_s, self.row_gap_s, self.row_rate = (
            firing[key] for key in ("cocking_s", "row_gap_s", "row_rate")
        )
        self.row_begins, self.stray_rate = math.log(firing["rows_per_second"]), sounds.stray_rate
        rate, unheard = math.log(firing["per_second"]), firing["share_unheard"]
        # while the shutter is open there are ticks of its gear, and hands are still
        open_rate = np.exp(_log_normal(sounds.level, roles["gear"])) * sounds.gear_rate
        open_rate = open_rate + _STILL * np.exp(sounds.stray)
        self.loss = sounds.gear_rate + (_STILL - 1) * sounds.stray_rate
        self.inside = _sums(np.log(open_rate) - sounds.stray)
        self.hum = _sums(np.where(sounds.gear_rate > 0, sounds.hum[None, :], 0.0))
        self.rattles = _sums(np.log1p(_density(roles["rattle"], sounds.level) / open_rate))
        mirror = roles["mirror"]
        before = _beside(sounds, [(roles["release"], 1.0), (mirror, sounds.mirror)], -1)
        after = _beside(sounds, [(roles["rattle"], 1.0), (mirror, sounds.mirror)], +1)
        knock = sounds.knock[None, :] - sounds.stray
        opening = _log_normal(sounds.level, roles["opening"]) + knock + before
        first = 0.6 * np.exp(_log_normal(sounds.level, roles["release"]))
        first = first + 0.4 * np.exp(_log_normal(sounds.level, roles["gear"]))
        self.closing = _log_normal(sounds.level, roles["closing"]) + knock + after
        self.opening = opening + rate + math.log(1 - fast - unheard)
        self.unheard = np.log(first) - sounds.stray + rate + math.log(unheard)
        self.single = self.closing + before + rate + math.log(fast)

    def ending_at(self, k: int) -> tuple[int, Array, Array]:
        """First sound that may have been the opening; log ratios of openings heard and unheard."""
        low = int(np.searchsorted(self.t, self.t[k] - self.slowest_s))
        low = max(low, k - _MOST_BETWEEN)
        took = self.t[k] - self.t[low:k]
        timing = self._timing(took)
        between = self.inside[:, k : k + 1] - self.inside[:, low + 1 : k + 1] - self.loss * took
        rattling = np.minimum(np.searchsorted(self.t, self.t[low:k] + self.rattle_s), k)
        between = between + self.hum[:, k : k + 1] - self.hum[:, low:k]
        between = between + self.rattles[:, rattling] - self.rattles[:, low + 1 : k + 1]
        between = between + timing + self.closing[:, k : k + 1]
        return low, between + self.opening[:, low:k], between + self.unheard[:, low:k]

    def _timing(self, took: Array) -> Array:
        """Log density of a time; shape (choices, n)."""
        log_t = np.log(np.maximum(took, 1e-6))
        z = (log_t - self.usual) / self.spread
        near = np.exp(-0.5 * z * z) / (self.spread * math.sqrt(2 * math.pi))
        density = np.where(
            np.isnan(self.usual), 1 / self.log_range, _ODD / self.log_range + (1 - _ODD) * near
        )
        return np.asarray(np.where(took >= self.fastest_s, np.log(density) - log_t, -np.inf))

    def burst_to(self, k: int) -> tuple[int, Array]:
        """First sound of a row of clicks (winding, cocking) that ends with this one; log ratios."""
        low = max(0, k - _MOST_IN_A_ROW)
        wide = np.flatnonzero(np.diff(self.t[low : k + 1]) > self.row_gap_s)
        low = low + int(wide[-1]) + 1 if len(wide) else low
        clicks = np.arange(k - low + 1, 1, -1)
        took = self.t[k] - self.t[low:k]
        gain = clicks * (math.log(self.row_rate) - np.log(self.stray_rate))
        return low, gain - (self.row_rate - self.stray_rate) * took + self.row_begins - math.log(
            self.row_rate
        )


def _sums(x: Array) -> Array:
    return np.concatenate([np.zeros((len(x), 1)), np.cumsum(x, axis=1)], axis=1)


def _density(role: Role, level: Array) -> Array:
    """Sounds per second and dB."""
    return np.asarray(role.expected / (role.to_s - role.from_s) * np.exp(_log_normal(level, role)))


def _beside(sounds: _Sounds, roles: list[tuple[Role, float | Array]], direction: int) -> Array:
    """Log ratio, for every sound, that those near it on one side are of these kinds rather than strays."""
    t, out = sounds.t, np.zeros_like(sounds.level)
    out -= sum(role.expected * share for role, share in roles)
    for k in range(len(t)):
        extra: float | Array = 0.0
        low, high = k, k
        for role, _ in roles:
            ends = t[k] + direction * np.array([role.to_s, 0.0])
            at = np.sort(np.searchsorted(t, ends))
            low, high = min(low, int(at[0])), max(high, int(at[1]) + (direction > 0))
        low, high = (low, k) if direction < 0 else (k + 1, high)
        if low >= high:
            continue
        gap = np.abs(t[low:high] - t[k])
        for role, share in roles:
            there = (gap >= role.from_s) & (gap <= role.to_s)
            extra = extra + share * there * _density(role, sounds.level[:, low:high])
        out[:, k] += np.log1p(extra * np.exp(-sounds.stray[:, low:high])).sum(axis=1)
    return out


def _weigh(sounds: _Sounds, scores: _Scores) -> tuple[Named, Array]:
    """Forward and backward over all sounds; the chances over all choices, and the log weights of these."""
    m, n = sounds.level.shape
    forward = np.zeros((m, n + 1))
    # how many sounds are over when the next firing may begin: a shutter must be cocked first
    free = np.searchsorted(sounds.t, sounds.t - scores.cocking_s)
    for k in range(n):
        low, heard, unheard = scores.ending_at(k)
        ways = [forward[:, k], forward[:, free[k]] + scores.single[:, k]]
        if k > low:
            ways.append(_log_sum(np.logaddexp(heard, unheard) + forward[:, free[low:k]]))
        first, burst = scores.burst_to(k)
        if k > first:
            ways.append(_log_sum(burst + forward[:, first:k]))
        forward[:, k + 1] = _log_sum(np.stack(ways, axis=1))
    weight = sounds.prior + forward[:, n]
    weight = weight - _log_sum(weight[None, :])[0]
    backward = np.full((m, n + 1), -np.inf)
    backward[:, n] = weight - forward[:, n]
    opening, closing, single, missed = (np.zeros(n) for _ in range(4))
    pairs: list[Pair] = []
    for k in range(n - 1, -1, -1):
        after = backward[:, k + 1]
        low, heard, unheard = scores.ending_at(k)
        alone = scores.single[:, k] + after
        single[k] = np.exp(forward[:, free[k]] + alone).sum()
        backward[:, k] = np.logaddexp(backward[:, k], after)
        backward[:, free[k]] = np.logaddexp(backward[:, free[k]], alone)
        first, burst = scores.burst_to(k)
        if k > first:
            backward[:, first:k] = np.logaddexp(backward[:, first:k], burst + after[:, None])
        if k > low:
            before = forward[:, free[low:k]]
            chance = np.exp(before + heard + after[:, None]).sum(axis=0)
            missed[k] = np.exp(before + unheard + after[:, None]).sum()
            opening[low:k] += chance
            closing[k] = chance.sum()
            pairs += [Pair(low + int(i), k, float(chance[i])) for i in np.flatnonzero(chance > _LEAST_TOLD)]
            both = np.logaddexp(heard, unheard) + after[:, None]
            at, begins = np.unique(free[low:k], return_index=True)
            backward[:, at] = np.logaddexp(backward[:, at], np.logaddexp.reduceat(both, begins, axis=1))
    pairs.sort(key=lambda pair: -pair.chance)
    mirror = float(np.exp(weight[sounds.mirror[:, 0] > 0]).sum())
    return Named(opening, closing, single, missed, tuple(pairs), mirror), weight


def _log_sum(x: Array) -> Array:
    top = x.max(axis=1)
    top = np.where(np.isfinite(top), top, 0.0)
    with np.errstate(divide="ignore"):
        return np.asarray(top + np.log(np.exp(x - top[:, None]).sum(axis=1)))
