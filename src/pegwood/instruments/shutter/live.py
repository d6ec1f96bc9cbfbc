"""
Firings as they come in: a listener that is given sound piece by piece and says what it heard.

Two stages. A cheap watch goes over every millisecond: where the readings range or step far beyond what has
been usual, something happens; when it has been quiet again for a moment, the same analysis that reads files
reads the surroundings. That first figure is provisional. Once as much darkness follows as the analysis can
use, or the next firing begins, the surroundings are read once more, and that figure is settled.

Behind a capacitor a long firing is two swings with quiet between them, and the first swing by itself looks
like a firing. So what fades away as it would behind a capacitor, or is much shorter than the dial says, is
held back until it is sure that no second swing follows; once a long firing has shown that the input passes
direct current, nothing is.

Readings are averaged over neighbours where a firing is long enough to lose nothing by it: what is shown live
comes in time, and the recording, read whole afterwards, has the last word.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.recordings import RefusedRecording, held
from pegwood.instruments.shutter.analysis import analyse
from pegwood.instruments.shutter.results import Shot, ShutterResult

__all__ = ["LONGEST_S", "SETTLE_S", "Heard", "Listener"]

#: Quiet that must follow before anything is read, [s]; blades bounce within 50 ms (practice).
SETTLE_S = 0.075
#: The longest firing that is timed while listening, [s].
LONGEST_S = 25.0

_KEPT_S = LONGEST_S + 4
_USUAL_S = 12.0  # what "usual" is taken from
_WARM_UP_S = 0.25
_FINE_S, _BIN_S = 1.5e-4, 1e-3  # as in the first pass over a file
_SPREAD, _STEP = 4.0, 8.0  # times what is usual
_LEAST_SPREAD, _LEAST_STEP = 0.01, 0.03  # of all that was seen lately; a capacitor's tail stays below
_FLOOR = 3e-5  # one step of a 16-bit converter whose full scale is 1
_REACH = 5  # bins before and after a step
_SLACK_S = 0.02  # within which two looks mean the same
_DARK_S = (0.1, 0.55)  # darkness that is read on either side
_DARK_WIDTHS = 15.0  # and in between, so many times the firing
_ENOUGH_HZ = 8000.0  # neighbours are averaged down to this rate, and to so many readings across a firing:
_ENOUGH_AT_FIRST, _ENOUGH = 90.0, 400.0  # for the provisional figure, and for the settled one
_FADES = 2.0  # closing over opening, from where it may be a capacitor's tail
_SHORT = 0.5  # of what the dial says
_SLOW_S = 1 / 30  # a speed from which a second swing may come late
_HOLD_S, _HOLD_MARKED = 0.5, 3.0  # how long it is held back: so much, and so many times what the dial says
_UNMARKED_S = 1.0  # where nobody said what the dial says
_DIRECT_S = 0.1  # a firing this long with a level plateau shows that direct current passes
WAITING = "light was seen; whether it is a firing shows when it stays dark"
FADED = (
    "it comes at once and fades away: a flash, or the light is still on behind an AC-coupled input. "
    "The recording, read whole, tells"
)

Samples = NDArray[np.float32]
Array = NDArray[np.floating[Any]]


@dataclass(frozen=True)
class Heard:
    """
    One firing, or light that was seen and could not be timed.

    Parameters
    ----------
    number : int
        Counted from 1; the same firing keeps its number when it is read again.
    begins, ends : int
        First and last light, [frame] from the start of the session.
    shot : Shot or None
        What the analysis made of it, `at_s` from the start of the session; None where it gives no figures.
    reason : str
        Why there are none.
    settled : bool
        False while more darkness may still change the figures.
    coupling : "DC", "AC" or "unknown"
        As far as the surroundings show.
    """

    number: int
    begins: int
    ends: int
    shot: Shot | None
    reason: str
    settled: bool
    coupling: str


class Listener:
    """
    Hears a light gate's sound piece by piece.

    Memory does not grow with the length of the session: the last half minute of readings is held.

    Parameters
    ----------
    sample_rate_hz : float
        Frames per second, [Hz].
    n_channels : int
        Channels.
    position : int
        Frame at which it begins to listen.
    known : sequence of Heard
        What was heard before, in order: a listener that takes over goes on from there.
    """

    def __init__(
        self, sample_rate_hz: float, n_channels: int, *, position: int = 0, known: Sequence[Heard] = ()
    ) -> None:
        self.rate = sample_rate_hz
        self.position = position
        self.expected_s: float | None = None
        self._is_direct = any(_passes_direct(one) for one in known)
        self._watch = _Watch(sample_rate_hz, n_channels, position)
        self._held: deque[tuple[int, Samples]] = deque()
        self._number = max((one.number for one in known), default=0)
        self._done = max((one.ends for one in known if one.settled), default=position)
        self._open = [one for one in known if not one.settled]
        self._looked = self._done  # frame up to which all that happened was looked at

    def hear(self, frames: Samples) -> list[Heard]:
        """
        Take the next piece of sound.

        Parameters
        ----------
        frames : array, shape (n, n_channels)
            Readings as a fraction of full scale.

        Returns
        -------
        heard : list of Heard
            What is new, and what changed; empty nearly always.
        """
        self._held.append((self.position, frames))
        self.position += len(frames)
        while self._held[0][0] + len(self._held[0][1]) < self.position - _KEPT_S * self.rate:
            self._held.popleft()
        self._watch.see(frames)
        return self._look(final=False)

    def finish(self) -> list[Heard]:
        """
        Nothing more comes: settle what is open with the darkness there is.

        Returns
        -------
        heard : list of Heard
            What changed.
        """
        return self._look(final=True)

    def _look(self, *, final: bool) -> list[Heard]:
        runs = [run for run in self._watch.runs if run[1] > self._done]
        if not runs:
            return []
        quiet = self.position - runs[-1][1]
        if quiet < SETTLE_S * self.rate and not final:
            return []
        dark = self._dark(runs[-1])
        hold = max(dark, self._hold())
        stage = runs[-1][1] + max(after for after in (0, dark, hold) if after <= max(quiet, 0))
        if stage <= self._looked and not final:
            return []
        self._looked = stage
        is_settled, is_held = final or quiet >= dark, not final and quiet < hold
        enough = _ENOUGH if is_settled else _ENOUGH_AT_FIRST
        heard = self._told(self._read(runs, enough), runs, is_settled=is_settled, is_held=is_held)
        self._forget(runs)
        return heard

    def _hold(self) -> int:
        """How long what may be the first of two swings is held back, [frame]."""
        expected = _UNMARKED_S if self.expected_s is None else self.expected_s
        return int(self.rate * (_HOLD_S + min(_HOLD_MARKED * expected, LONGEST_S / 2)))

    def _dark(self, run: tuple[int, int]) -> int:
        """Darkness worth waiting for after a run, [frame]."""
        return int(self.rate * float(np.clip(_DARK_WIDTHS * self._width_s(run), *_DARK_S)))

    def _width_s(self, run: tuple[int, int]) -> float:
        """Length of what happened, without the reach of the watch to both sides, [s]."""
        return max((run[1] - run[0]) / self.rate - 2 * _REACH * _BIN_S, _BIN_S)

    def _read(self, runs: list[tuple[int, int]], enough: float) -> tuple[ShutterResult | None, int, int]:
        """The analysis of the surroundings, the frame they begin at, and the frames to a reading."""
        first = runs[0][0]
        before = self._dark((first, runs[-1][1]))
        begins = max(first - before, (self._done + first) // 2 if self._done < first else self._done)
        frames, begins = self._frames(begins)
        frames = _apart(frames)
        widest = self._width_s((first, runs[-1][1])) if len(runs) < 3 else min(map(self._width_s, runs))
        factor = int(max(1, min(self.rate / _ENOUGH_HZ, widest * self.rate / enough)))
        frames = frames[: len(frames) // factor * factor].reshape(-1, factor, frames.shape[1]).mean(axis=1)
        try:
            return analyse(held(frames, self.rate / factor, "live", full_scale=1.0)), begins, factor
        except RefusedRecording:
            return None, begins, factor

    def _frames(self, begins: int) -> tuple[Samples, int]:
        pieces = [(at, piece) for at, piece in self._held if at + len(piece) > begins]
        begins = max(begins, pieces[0][0])
        whole = np.concatenate([piece for _, piece in pieces])
        return whole[begins - pieces[0][0] :], begins

    def _told(
        self,
        read: tuple[ShutterResult | None, int, int],
        runs: list[tuple[int, int]],
        *,
        is_settled: bool,
        is_held: bool,
    ) -> list[Heard]:
        result, begins, factor = read
        found = [] if result is None else self._found(result, begins, factor, runs)
        heard: list[Heard] = []
        before = {one.number: one for one in self._open}
        self._open = []
        slack = round(_SLACK_S * self.rate)
        for one in found:
            later = any(start > one.ends + slack for start, _ in runs)
            judged = self._judged(one, is_held=is_held and not later)
            settled = judged.reason != WAITING and (is_settled or later)
            told = replace(judged, settled=settled, number=self._number_of(one, before.values()))
            if before.pop(told.number, None) != told:
                heard.append(told)
            if told.settled:
                self._is_direct = self._is_direct or _passes_direct(told)
                self._done = max(self._done, told.ends, *(b for a, b in runs if a <= told.ends))
            else:
                self._open.append(told)
        if is_settled and not is_held:
            reason = "with the darkness that followed it could no longer be told for a firing"
            heard += [replace(one, shot=None, reason=reason, settled=True) for one in before.values()]
            self._done = max([self._done, *(one.ends for one in before.values())])
        else:
            self._open += before.values()
        return sorted(heard, key=lambda one: one.number)

    def _judged(self, one: Heard, *, is_held: bool) -> Heard:
        """Held back, or refused, where it may be only the first of two swings behind a capacitor."""
        if one.coupling == "AC" or self._is_direct:
            return one
        expected = _UNMARKED_S if self.expected_s is None else self.expected_s
        fades = one.shot is not None and _fades(one.shot)
        is_short = one.shot is None or one.shot.effective.value < _SHORT * expected
        if is_held and (fades or is_short):
            return replace(one, shot=None, reason=WAITING)
        if fades and expected > _SLOW_S:
            return replace(one, shot=None, reason=FADED)
        return one

    def _found(
        self, result: ShutterResult, begins: int, factor: int, runs: list[tuple[int, int]]
    ) -> list[Heard]:
        """Firings in order of time; of several channels the first that saw it speaks."""
        shift = (begins + (factor - 1) / 2) / self.rate
        slack = round(_SLACK_S * self.rate)
        found: list[Heard] = []
        for shot in result.shots:
            start = round((shot.at_s + shift) * self.rate)
            length = shot.effective.value if shot.total is None else shot.total.value
            stop = start + max(1, round(length * self.rate))
            if found and start <= found[-1].ends:
                continue
            there = replace(shot, at_s=shot.at_s + shift, moments={}, half_open=None, half_closed=None)
            found.append(Heard(0, start, stop, there, "", False, result.coupling))
        for channel, at_s, reason in result.unread:
            start = round((at_s + shift) * self.rate)
            if channel == 0 and not any(one.begins - 0.05 * self.rate <= start <= one.ends for one in found):
                stop = next((b for a, b in runs if a - slack <= start <= b), start + 1)
                found.append(Heard(0, start, stop, None, reason, False, result.coupling))
        return sorted(found, key=lambda one: one.begins)

    def _number_of(self, one: Heard, before: Iterable[Heard]) -> int:
        """The number it was told under before, or the next."""
        slack = round(_SLACK_S * self.rate)
        for other in before:
            if other.begins - slack <= one.ends and one.begins <= other.ends + slack:
                return other.number
        self._number += 1
        return self._number

    def _forget(self, runs: list[tuple[int, int]]) -> None:
        """Give up what began too long ago: a lamp switched on, a knock, a firing longer than is timed."""
        late = self.position - LONGEST_S * self.rate
        for start, stop in runs:
            if start < late:
                self._done = max(self._done, stop)


def _fades(shot: Shot) -> bool:
    """Whether it comes at once and dies away, as the first swing behind a capacitor does."""
    if shot.opening is None or shot.closing is None or shot.total is None:
        return False
    slow = shot.closing.value
    return slow > _FADES * shot.opening.value and slow > 0.5 * shot.total.value


def _passes_direct(one: Heard) -> bool:
    """Whether a firing shows that the input passes direct current."""
    long = one.shot is not None and one.shot.effective.value > _DIRECT_S
    return long and one.settled and one.coupling == "DC" and one.shot is not None and not _fades(one.shot)


def _apart(frames: Samples) -> Samples:
    """Without channels that only repeat the first: browsers give many a single sensor on two."""
    first = frames[:, :1]
    own = [0, *(c for c in range(1, frames.shape[1]) if not np.array_equal(frames[:, c : c + 1], first))]
    return frames[:, own]


class _Watch:
    """
    Where something happens, millisecond by millisecond.

    `runs` are the (first, last) frames of what stands out, in order; runs that touch are one.
    """

    def __init__(self, rate: float, n_channels: int, position: int) -> None:
        self._fine = max(1, round(rate * _FINE_S))
        self._bin = max(4, round(rate * _BIN_S / self._fine)) * self._fine
        self._begun = position
        self._n = 0  # bins seen
        self._most = int(_USUAL_S * rate / self._bin)
        self._warm = int(_WARM_UP_S * rate / self._bin)
        self._kept_runs = int(_KEPT_S * rate)
        self._rest = np.zeros((0, n_channels), np.float32)
        self._low, self._high, self._mean = (np.zeros((0, n_channels), np.float32) for _ in range(3))
        self.runs: list[tuple[int, int]] = []

    def see(self, frames: Samples) -> None:
        """Take the next readings, shape (n, n_channels)."""
        frames = np.concatenate((self._rest, frames))
        bins = len(frames) // self._bin
        self._rest = frames[bins * self._bin :]
        if not bins:
            return
        fine = frames[: bins * self._bin].reshape(bins, -1, self._fine, frames.shape[1]).mean(axis=2)
        fresh = fine.min(axis=1), fine.max(axis=1), fine.mean(axis=1)
        kept = (self._low, self._high, self._mean)
        self._low, self._high, self._mean = (
            np.concatenate((old, new))[-self._most :] for old, new in zip(kept, fresh, strict=True)
        )
        self._n += bins
        if self._n >= self._warm:
            self._note(min(bins + 2 * _REACH, len(self._mean)))

    def _note(self, fresh: int) -> None:
        """Add what stands out among the newest bins to the runs."""
        spread = self._high - self._low
        rising = np.cumsum(self._mean, axis=0, dtype=np.float64)
        sums = np.concatenate((np.zeros((1, spread.shape[1])), rising))
        blocks = (sums[_REACH:] - sums[:-_REACH]) / _REACH
        step = np.abs(blocks[_REACH:] - blocks[:-_REACH])  # [i]: between bins i..i+4 and i+5..i+9
        if not len(step):
            return
        seen = self._high.max(axis=0) - self._low.min(axis=0)
        usual = np.median(spread[::5], axis=0), np.median(step[::5], axis=0)
        stands_out = spread > np.maximum(_SPREAD * usual[0], np.maximum(_LEAST_SPREAD * seen, _FLOOR))
        steps = step > np.maximum(_STEP * usual[1], np.maximum(_LEAST_STEP * seen, _FLOOR))
        active = stands_out.any(axis=1)
        active[_REACH : _REACH + len(steps)] |= steps.any(axis=1)
        first = self._n - len(active)
        for i in np.flatnonzero(active[-fresh:]) + len(active) - fresh:
            start = self._begun + int(first + i) * self._bin
            if self.runs and start <= self.runs[-1][1] + 2 * self._bin:
                self.runs[-1] = self.runs[-1][0], max(self.runs[-1][1], start + self._bin)
            else:
                self.runs.append((start, start + self._bin))
        oldest = self._begun + self._n * self._bin - self._kept_runs
        while self.runs and self.runs[0][1] < oldest:
            self.runs.pop(0)
