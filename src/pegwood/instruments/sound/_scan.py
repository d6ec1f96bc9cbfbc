"""
First pass over a recording: where anything stands out of the room's noise at all.

One figure per millisecond, the energy of a difference of the sound, which leaves hum and rumble out. Held
against the noise of the seconds around. Nothing is named or timed here; the passages found are read again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.recordings import Recording

__all__ = ["FRAME_S", "TILE_S", "Passage", "Scan", "scan"]

FRAME_S = 0.001
TILE_S = 0.05
_BLOCK = 1 << 16
_TOP_HZ = 22_000.0
_FLOOR_FRAMES = 100
_AROUND = 20  # floors on either side that the noise of a moment is the median of: 2 s
_QUANTILE = 0.2
_STANDS_OUT = 4.0
_JOIN, _BEFORE, _AFTER, _LONGEST, _TILE = 120, 60, 60, 10_000, 50  # frames
_MOST = 20_000

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Passage:
    """
    A stretch in which something stands out of the room's noise.

    Parameters
    ----------
    start, stop : int
        First sample and one past the last, with some quiet around.
    busy : tuple of float
        Share of each twentieth of a second, from `start`, in which something stands out, [-].
    """

    start: int
    stop: int
    busy: tuple[float, ...] = ()


@dataclass(frozen=True)
class Scan:
    """
    What the first pass saw.

    Parameters
    ----------
    passages : tuple of Passage
        In order of time; at most 20,000.
    channel : int
        The channel with the strongest sound, counted from 0.
    peak : float
        Largest reading, as a fraction of full scale where there is one.
    clipped : int
        Readings at full scale.
    silent_share : float
        Share of the time in which every reading is the same, [-].
    is_cut : bool
        True where there were more passages than are kept.
    """

    passages: tuple[Passage, ...]
    channel: int
    peak: float
    clipped: int
    silent_share: float
    is_cut: bool = False


class _Frames:
    """Energies of one-millisecond frames as blocks of sound come in."""

    def __init__(self, rate: float, n_channels: int, full_scale: float | None) -> None:
        self.size = max(1, round(rate * FRAME_S))
        self.lag = max(1, round(rate / (2 * _TOP_HZ)))
        self.rest = np.zeros((0, n_channels), np.float32)
        self.last = np.zeros((self.lag, n_channels), np.float32)
        self.top = np.zeros(n_channels)
        self.peak = 0.0
        self.clipped = 0
        self.limit = None if full_scale is None else full_scale * (1 - 2.0**-7)

    def of(self, block: NDArray[np.float32]) -> Array:
        """Energies of the frames that are now whole, summed over the channels; shape (n,)."""
        high = float(max(block.max(), -block.min()))
        self.peak = max(self.peak, high)
        if self.limit is not None and high >= self.limit:
            self.clipped += int(np.count_nonzero(np.abs(block) >= self.limit))
        y = np.concatenate([self.last, self.rest, block]) if len(self.rest) or len(self.last) else block
        whole = (len(y) - self.lag) // self.size
        used = whole * self.size
        energy = np.zeros(whole)
        for channel in range(y.shape[1]):
            one = y[:, channel]
            rise = (one[self.lag : self.lag + used] - one[:used]).reshape(whole, self.size)
            e = np.einsum("ij,ij->i", rise, rise)
            if whole:
                self.top[channel] = max(self.top[channel], float(e.max()))
            energy += e
        self.last = y[used : used + self.lag]
        self.rest = y[used + self.lag :]
        return energy


def scan(recording: Recording, progress: Callable[[float], None] | None = None) -> Scan:
    """
    Go once through a recording.

    Parameters
    ----------
    recording : Recording
        What the microphone gave.
    progress : callable, optional
        Called with the fraction done, 0 to 1.

    Returns
    -------
    scan : Scan
        Where something stands out.

    Raises
    ------
    RefusedRecording
        If the recording turns out damaged.
    """
    frames = _Frames(recording.sample_rate_hz, recording.n_channels, recording.full_scale)
    runs: list[tuple[int, NDArray[np.bool_]]] = []
    silent = total = 0
    for first, energy, floor in _with_floor(recording, frames, progress):
        total += len(energy)
        silent += int(np.count_nonzero(energy == 0))
        stands_out = energy > _STANDS_OUT * floor
        for low, high in _runs(stands_out, _JOIN):
            here, start = stands_out[low:high], first + low
            last = runs[-1] if runs else None
            if last and start - last[0] - len(last[1]) <= _JOIN and len(last[1]) < _LONGEST:
                between = np.zeros(start - last[0] - len(last[1]), bool)
                runs[-1] = (last[0], np.concatenate([last[1], between, here]))
            elif len(runs) < _MOST:
                runs.append((start, here))
    return Scan(
        passages=tuple(_passage(start, here, frames.size, recording) for start, here in runs),
        channel=int(np.argmax(frames.top)),
        peak=frames.peak,
        clipped=frames.clipped,
        silent_share=silent / total if total else 0.0,
        is_cut=len(runs) >= _MOST,
    )


def _with_floor(
    recording: Recording, frames: _Frames, progress: Callable[[float], None] | None
) -> Iterator[tuple[int, Array, Array]]:
    """
    Number of the first frame, energies, and the noise at each, in stretches of a few seconds.

    Held back until two seconds on either side are known; so the memory needed does not grow with the length.
    """
    held, first = np.zeros(0), 0
    before: list[float] = []
    margin = _AROUND * _FLOOR_FRAMES
    done = 0
    for block in recording.blocks(_BLOCK):
        held = np.concatenate([held, frames.of(np.asarray(block, np.float32))])
        done += len(block)
        if progress:
            progress(done / recording.n_samples)
        ready = (len(held) - margin) // _FLOOR_FRAMES * _FLOOR_FRAMES
        if ready >= 4 * margin:
            floors = _floors(held)
            yield first, held[:ready], _spread(before, floors, ready)
            before = [*before, *floors[: ready // _FLOOR_FRAMES]][-_AROUND:]
            held, first = held[ready:], first + ready
    if len(held):
        yield first, held, _spread(before, _floors(held), len(held))


def _floors(energy: Array) -> list[float]:
    """A low quantile of each tenth of a second; the last piece, if short, goes with the one before."""
    n = max(1, len(energy) // _FLOOR_FRAMES)
    whole = n * _FLOOR_FRAMES
    if len(energy) < _FLOOR_FRAMES:
        return [float(np.quantile(energy, _QUANTILE))]
    place = int(_QUANTILE * _FLOOR_FRAMES)
    pieces = np.partition(energy[:whole].reshape(n, _FLOOR_FRAMES), place, axis=1)
    return [float(v) for v in pieces[:, place]]


def _spread(before: list[float], floors: list[float], n: int) -> Array:
    """Noise at each frame: the median of the floors around it."""
    every = np.concatenate([np.full(_AROUND - len(before), np.nan), before, floors, np.full(_AROUND, np.nan)])
    around = np.lib.stride_tricks.sliding_window_view(every, 2 * _AROUND + 1)
    medians = np.nanmedian(around, axis=1)
    medians = medians[np.minimum(np.arange(-(-n // _FLOOR_FRAMES)), len(medians) - 1)]
    return np.repeat(np.maximum(medians, 1e-13), _FLOOR_FRAMES)[:n]


def _runs(stands_out: NDArray[np.bool_], join: int) -> list[tuple[int, int]]:
    """First and one past the last of every run of frames, runs nearer than `join` taken as one."""
    at = np.flatnonzero(stands_out)
    if not len(at):
        return []
    breaks = np.flatnonzero(np.diff(at) > join)
    starts, stops = np.concatenate([[0], breaks + 1]), np.concatenate([breaks, [len(at) - 1]])
    return [(int(at[a]), int(at[b]) + 1) for a, b in zip(starts, stops, strict=True)]


def _passage(start: int, active: NDArray[np.bool_], size: int, recording: Recording) -> Passage:
    padded = np.concatenate([np.zeros(_BEFORE, bool), active, np.zeros(_AFTER, bool)])
    padded = np.concatenate([padded, np.zeros(-len(padded) % _TILE, bool)])
    busy = padded.reshape(-1, _TILE).mean(axis=1)
    first = (start - _BEFORE) * size
    skipped = max(0, -first) // (size * _TILE)
    stop = min(recording.n_samples, (start + len(active) + _AFTER) * size)
    return Passage(max(0, first), stop, tuple(float(share) for share in busy[skipped:]))
