"""
Pulses in the envelope of a channel: places where the light leaves its level and comes back to it.

Rules, in words:

1. A bin is *active* when its readings range, or its mean steps, far beyond what is usual in this recording.
2. Neighbouring active bins make a group; between groups it is quiet and has a level.
3. A group after which the level is as before is a pulse. A group that steps to a new level opens a pulse if
   a later group brings the old level back; otherwise it is only a step (room light, lamp switched).
4. A pulse that goes well past its level on the other side as well is a knock, or an AC-coupled input: no
   pulse.
5. A pulse right beside a swing to the other side is the ringing of a knock; so is one between two others with
   next to no darkness on either side, and whatever is close to that: a wave has no darkness.
6. A short pulse of the same direction just after another is a bounce and belongs to it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.shutter._scan import Envelope

__all__ = ["Finding", "Pulse", "find_pulses"]

_RANGE_FACTOR = 2.6
_STEP_FACTOR = 8.0
_MAX_GROUPS = 4000
_RETURN = 0.25  # of the step: near enough to the old level
_BIPOLAR = 0.25  # of the pulse, on the other side
_BOUNCE_S = 0.05
_RINGING_S = 0.06
_WAVE = 0.6  # of a pulse: less darkness on both sides of it, and it is half of a wave,
_ALIKE = 0.5  # if what follows on either side is so high
_CREPT = 0.05  # of a step: the level does not stay where the step left it
_NESTED = 1.6  # peak over level: something else happens on top of a step
_LEVEL_BINS = 30
_SLOW_BINS = 5

Array = NDArray[np.floating[Any]]


@dataclass(frozen=True)
class Pulse:
    """
    A place to look at closely.

    Parameters
    ----------
    start, stop : int
        First sample and one past the last, generously.
    sign : int
        +1 where light raises the reading, -1 where it lowers it.
    height : float
        Rough height, in the unit of the readings.
    base : float
        Rough level without light.
    quiet_before, quiet_after : int
        Quiet samples on either side up to the next event.
    """

    start: int
    stop: int
    sign: int
    height: float
    base: float
    quiet_before: int = 0
    quiet_after: int = 0


@dataclass(frozen=True)
class Finding:
    """
    What a channel holds.

    Parameters
    ----------
    pulses : list of Pulse
        In order of time, one direction only.
    two_sided : list of Pulse
        Places that swing to both sides.
    steps : int
        Steps of the light that never came back.
    sagging : bool
        True if the level creeps back after its steps, as it does behind a high-pass filter.
    opposite : list of Pulse
        Pulses against the direction of the others.
    """

    pulses: list[Pulse]
    two_sided: list[Pulse]
    steps: int
    sagging: bool
    opposite: list[Pulse]


@dataclass(frozen=True)
class _Group:
    first: int
    last: int  # included
    before: float
    after: float
    low: float
    high: float


def find_pulses(
    envelope: Envelope, sample_rate_hz: float, n_samples: int, seams: tuple[int, ...] = ()
) -> Finding:
    """
    Find the pulses of one channel.

    Parameters
    ----------
    envelope : Envelope
        From the first pass.
    sample_rate_hz : float
        Samples per second, [Hz].
    n_samples : int
        Length of the recording.
    seams : tuple of int
        Samples at which the readings may step by what was done to them: nothing that happened.

    Returns
    -------
    finding : Finding
        Pulses and what else was seen.
    """
    at_seams = [at // envelope.bin_samples for at in seams]
    groups = _groups(envelope, at_seams)
    found, two_sided, steps, sagging = _pair(groups, envelope)
    found = _join_bounces(found, sample_rate_hz, envelope.bin_samples)
    main = _main_sign(found)
    kept = [p for p in found if p.sign == main]
    opposite = [p for p in found if p.sign != main]
    kept, ringing = _without_ringing(kept, two_sided + opposite, sample_rate_hz)
    two_sided = two_sided + ringing
    edges = [(g.first * envelope.bin_samples, (g.last + 1) * envelope.bin_samples) for g in groups]
    edges = sorted([*edges, *((at, at) for at in seams)])
    kept = [_with_quiet(p, edges, n_samples) for p in kept]
    kept, waves = _without_waves(kept, groups, envelope.bin_samples, sample_rate_hz)
    two_sided = two_sided + waves
    return Finding(kept, two_sided, steps, sagging, opposite)


def _groups(envelope: Envelope, at_seams: list[int]) -> list[_Group]:
    """Runs of active bins with the quiet levels beside them."""
    spread = envelope.high - envelope.low
    mean = envelope.mean
    if len(mean) < 8:
        return []
    step = np.abs(mean[2:] - mean[:-2])
    full = float(envelope.high.max() - envelope.low.min())
    range_limit = max(_RANGE_FACTOR * float(np.median(spread[::5])), 0.004 * full)
    step_limit = max(_STEP_FACTOR * float(np.median(step[::5])), 0.004 * full)
    slow = _slow_step(mean)
    slow_limit = max(_STEP_FACTOR * float(np.median(slow[::5])), 0.01 * full)
    if full <= 0:
        return []
    for _ in range(12):
        active = spread > range_limit
        active[1:-1] |= step > step_limit
        active |= slow > slow_limit
        runs = [run for run in _runs(active) if not _is_seam(run, at_seams)]
        if len(runs) <= _MAX_GROUPS:
            break
        range_limit, step_limit = 1.4 * range_limit, 1.4 * step_limit
        slow_limit *= 1.4
    return _with_levels(runs, envelope)


def _slow_step(mean: Array) -> Array:
    """Step between the mean of the bins before and after each bin: sees a gentle edge in heavy noise."""
    sums = np.concatenate(([0.0], np.cumsum(mean, dtype=np.float64)))
    step = np.zeros(len(mean))
    if len(mean) > 2 * _SLOW_BINS:
        blocks = (sums[_SLOW_BINS:] - sums[:-_SLOW_BINS]) / _SLOW_BINS
        step[_SLOW_BINS:-_SLOW_BINS] = np.abs(blocks[_SLOW_BINS + 1 :] - blocks[: -_SLOW_BINS - 1])
    return step


def _runs(active: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First and last bin of every run, widened by one bin; runs closer than two bins are one."""
    at = np.flatnonzero(np.diff(np.concatenate(([False], active, [False])).astype(np.int8)))
    starts, ends = at[::2] - 1, at[1::2]
    runs: list[tuple[int, int]] = []
    for first, last in zip(starts.tolist(), ends.tolist(), strict=True):
        first, last = max(first, 0), min(last, len(active) - 1)
        if runs and first - runs[-1][1] <= 2:
            runs[-1] = (runs[-1][0], last)
        else:
            runs.append((first, last))
    return runs


def _is_seam(run: tuple[int, int], at_seams: list[int]) -> bool:
    """Whether a run is no wider than what one step at a seam makes."""
    first, last = run
    return any(at - _SLOW_BINS - 1 <= first and last <= at + _SLOW_BINS + 1 for at in at_seams)


def _with_levels(runs: list[tuple[int, int]], envelope: Envelope) -> list[_Group]:
    groups = []
    n = len(envelope.mean)
    for i, (first, last) in enumerate(runs):
        quiet_from = runs[i - 1][1] + 1 if i else 0
        quiet_to = runs[i + 1][0] if i + 1 < len(runs) else n
        before = envelope.mean[max(quiet_from, first - _LEVEL_BINS) : first]
        after = envelope.mean[last + 1 : min(quiet_to, last + 1 + _LEVEL_BINS)]
        if not len(before) or not len(after):
            continue  # the recording begins or ends in the middle of something
        inside = slice(first, last + 1)
        groups.append(
            _Group(
                first,
                last,
                float(np.mean(before)),
                float(np.mean(after)),
                float(envelope.low[inside].min()),
                float(envelope.high[inside].max()),
            )
        )
    return groups


def _pair(groups: list[_Group], envelope: Envelope) -> tuple[list[Pulse], list[Pulse], int, bool]:
    pulses: list[Pulse] = []
    two_sided: list[Pulse] = []
    steps = sags = 0
    noise = float(np.median((envelope.high - envelope.low)[::5])) if groups else 0.0
    lit = 0.0  # the step that a sagging level made last and that nothing brought back
    i = 0
    while i < len(groups):
        group = groups[i]
        up, down = group.high - group.before, group.before - group.low
        height = max(up, down)
        if abs(group.after - group.before) <= _RETURN * height:
            if min(up, down) - noise > _BIPOLAR * height:
                two_sided.append(_pulse(group, group, envelope))
            else:
                pulses.append(_pulse(group, group, envelope))
            i += 1
            continue
        moved = group.after - group.before
        j = _closing(groups, i)
        if j is not None and lit * moved < 0 and 0.5 < -moved / lit < 2:
            steps += 2  # the dark between two openings, seen from the light
            sags += 2
            i = j + 1
            continue
        if j is not None:
            pulses.append(_pulse(group, groups[j], envelope))
            i = j + 1
            continue
        steps += 1
        lit = 0.0
        if i + 1 < len(groups):
            sags += abs(groups[i + 1].before - group.before) < 0.5 * abs(moved)
            crept = abs(groups[i + 1].before - group.after)
            lit = moved if crept > _CREPT * abs(moved) + noise else 0.0
        i += 1
    return pulses, two_sided, steps, sags >= 2 and sags * 2 >= steps


def _closing(groups: list[_Group], i: int) -> int | None:
    """The group that brings the level back after the step at `i`, if one does."""
    opened = groups[i]
    moved = opened.after - opened.before
    sign = 1 if moved > 0 else -1
    peak = abs(moved)
    for j in range(i + 1, len(groups)):
        closing = groups[j]
        if sign * (closing.before - opened.before) < 0.5 * abs(moved):
            return None  # it crept back without an edge
        top = closing.high if sign > 0 else closing.low
        peak = max(peak, sign * (top - opened.before))
        if abs(closing.after - opened.before) <= _RETURN * abs(moved):
            bottom = closing.low if sign > 0 else closing.high
            past = sign * (opened.before - bottom)
            if peak > _NESTED * abs(moved) or past > _NESTED * abs(moved):
                return None
            return j
    return None


def _pulse(first: _Group, last: _Group, envelope: Envelope) -> Pulse:
    inside = slice(first.first, last.last + 1)
    high, low = float(envelope.high[inside].max()), float(envelope.low[inside].min())
    base = 0.5 * (first.before + last.after)
    sign = 1 if high - base >= base - low else -1
    height = high - base if sign > 0 else base - low
    return Pulse(
        first.first * envelope.bin_samples, (last.last + 1) * envelope.bin_samples, sign, height, base
    )


def _join_bounces(pulses: list[Pulse], sample_rate_hz: float, bin_samples: int) -> list[Pulse]:
    """A lesser pulse right after another, in the same direction, belongs to it."""
    joined: list[Pulse] = []
    nearest = max(_BOUNCE_S * sample_rate_hz, 3 * bin_samples)
    for pulse in pulses:
        last = joined[-1] if joined else None
        if (
            last is not None
            and pulse.sign == last.sign
            and pulse.start - last.stop < nearest
            and pulse.height < 1.2 * last.height
            and pulse.stop - pulse.start < max(0.7 * (last.stop - last.start), 4 * bin_samples)
            and pulse.height > 0.02 * last.height
        ):
            joined[-1] = replace(last, stop=pulse.stop)
        else:
            joined.append(pulse)
    return joined


def _without_ringing(
    pulses: list[Pulse], swings: list[Pulse], sample_rate_hz: float
) -> tuple[list[Pulse], list[Pulse]]:
    """Set apart pulses right beside a swing to the other side that is nearly as strong: a knock dies away."""
    kept: list[Pulse] = []
    ringing: list[Pulse] = []
    for pulse in pulses:
        near = max(_RINGING_S * sample_rate_hz, pulse.stop - pulse.start)
        beside = any(
            swing.height > 0.5 * pulse.height
            and swing.start - near < pulse.stop
            and pulse.start < swing.stop + near
            for swing in swings
        )
        (ringing if beside else kept).append(pulse)
    return kept, ringing


def _without_waves(
    pulses: list[Pulse], groups: list[_Group], bin_samples: int, sample_rate_hz: float
) -> tuple[list[Pulse], list[Pulse]]:
    """Set apart halves of a wave (hum, the swing of a thud), which follow one another without darkness."""
    darkness = _RINGING_S * sample_rate_hz
    starts, stops = np.array([(g.first, g.last + 1) for g in groups]).reshape(-1, 2).T * bin_samples
    swings = np.array([g.high - g.low for g in groups])

    def is_wave(pulse: Pulse) -> bool:
        near = min(_WAVE * (pulse.stop - pulse.start), darkness)
        if max(pulse.quiet_before, pulse.quiet_after) >= near:
            return False
        alike = swings > _ALIKE * pulse.height  # a firing amid noise has lesser things beside it
        before, after = stops[alike & (stops <= pulse.start)], starts[alike & (starts >= pulse.stop)]
        return bool(
            len(before) and len(after) and pulse.start - before[-1] < near and after[0] - pulse.stop < near
        )

    waves = [pulse for pulse in pulses if is_wave(pulse)]

    def is_beside(pulse: Pulse) -> bool:
        near = max(darkness, pulse.stop - pulse.start)
        return any(wave.start - near < pulse.stop and pulse.start < wave.stop + near for wave in waves)

    apart = [is_beside(pulse) for pulse in pulses]
    kept = [pulse for pulse, is_apart in zip(pulses, apart, strict=True) if not is_apart]
    return kept, [pulse for pulse, is_apart in zip(pulses, apart, strict=True) if is_apart]


def _main_sign(pulses: list[Pulse]) -> int:
    """Direction of the strongest pulses."""
    strength = {s: sorted((p.height for p in pulses if p.sign == s), reverse=True)[:5] for s in (1, -1)}
    up, down = (sum(strength[s]) for s in (1, -1))
    return 1 if up >= down else -1


def _with_quiet(pulse: Pulse, edges: list[tuple[int, int]], n_samples: int) -> Pulse:
    before = max((stop for _, stop in edges if stop <= pulse.start), default=0)
    after = min((start for start, _ in edges if start >= pulse.stop), default=n_samples)
    return replace(pulse, quiet_before=pulse.start - before, quiet_after=after - pulse.stop)
