"""
First pass over a recording: an envelope of every channel, of bounded size however long the recording is.

Samples are averaged over about 0.15 ms (short beside the fastest shutter, long beside a sample) and the
smallest, largest and mean of these averages are kept for every bin. When there are too many bins,
neighbours are merged: an hour is kept in bins of about 4 ms, in 12 MB for each channel.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.recordings import Recording

__all__ = ["Envelope", "scan"]

_FINE_S = 1.5e-4
_BIN_S = 1e-3
_MAX_BINS = 1 << 20
_BLOCK = 1 << 17

Array = NDArray[np.floating[Any]]


@dataclass(frozen=True)
class Envelope:
    """
    Smallest, largest and mean reading in every bin of one channel.

    Parameters
    ----------
    bin_samples : int
        Samples in a bin.
    low, high, mean : array, shape (n_bins,)
        Of the readings averaged over about 0.15 ms.
    """

    bin_samples: int
    low: Array
    high: Array
    mean: Array


def scan(recording: Recording, progress: Callable[[float], None] | None = None) -> list[Envelope]:
    """
    Go through the recording once.

    Parameters
    ----------
    recording : Recording
        Any length.
    progress : callable, optional
        Called with the fraction done.

    Returns
    -------
    envelopes : list of Envelope
        One for each channel.
    """
    fine = max(1, round(recording.sample_rate_hz * _FINE_S))
    width = max(4, round(recording.sample_rate_hz * _BIN_S / fine)) * fine
    if recording.n_samples < 40 * width:  # a snippet: finer bins, so that there is something to call quiet
        width = max(1, recording.n_samples // (40 * fine)) * fine
    bins = _Bins(recording.n_channels, width)
    block_samples = max(1, _BLOCK // width) * width
    done = 0
    for block in recording.blocks(block_samples):
        for piece, piece_width in _whole_and_rest(block, width):
            bins.add(*_extremes(piece, piece_width, fine))
        done += len(block)
        if progress is not None:
            progress(done / recording.n_samples)
    return bins.envelopes()


def _whole_and_rest(block: Array, width: int) -> Iterator[tuple[Array, int]]:
    """The whole bins of a block, then what is left over as one short bin."""
    whole = len(block) // width * width
    if whole:
        yield block[:whole], width
    if whole < len(block):
        yield block[whole:], len(block) - whole


def _extremes(block: Array, width: int, fine: int) -> tuple[Array, Array, Array]:
    """Low, high and mean of every bin, each of shape (n_channels, n_bins)."""
    channels = np.ascontiguousarray(block.T)
    fine = fine if width % fine == 0 else 1
    if fine > 1:
        # a product with a constant vector is the fastest mean numpy has
        channels = channels.reshape(-1, fine) @ np.full(fine, 1 / fine, channels.dtype)
    cells = channels.reshape(block.shape[1], -1, width // fine)
    n = cells.shape[2]
    mean = cells @ np.full(n, 1 / n, cells.dtype)
    if n > 64:
        return cells.min(axis=2), cells.max(axis=2), mean
    # a few passes over all bins are much faster than very many short reductions
    low, high = cells[:, :, 0].copy(), cells[:, :, 0].copy()
    for i in range(1, n):
        np.minimum(low, cells[:, :, i], out=low)
        np.maximum(high, cells[:, :, i], out=high)
    return low, high, mean


class _Bins:
    """Bins as they come in, merged by pairs whenever they become too many."""

    def __init__(self, n_channels: int, width: int) -> None:
        self.width = width
        self._parts: list[tuple[Array, Array, Array]] = []
        self._held = 0
        self._factor = 1
        self._waiting: list[tuple[Array, Array, Array]] = []
        self._n_channels = n_channels

    def add(self, low: Array, high: Array, mean: Array) -> None:
        part = (low, high, mean)
        if self._factor > 1:
            self._waiting.append(part)
            joined = _join(self._waiting)
            whole = joined[0].shape[1] // self._factor * self._factor
            self._waiting = [tuple(a[:, whole:] for a in joined)]  # type: ignore[list-item]
            part = _merge(tuple(a[:, :whole] for a in joined), self._factor)
        self._parts.append(part)
        self._held += part[0].shape[1]
        if self._held > _MAX_BINS:
            self._halve()

    def _halve(self) -> None:
        joined = _join(self._parts)
        whole = joined[0].shape[1] // 2 * 2
        left = tuple(a[:, whole:] for a in joined)
        self._parts = [_merge(tuple(a[:, :whole] for a in joined), 2)]
        if left[0].shape[1]:
            # one bin of the old width without a partner: spread it to the finest width so that order is kept
            spread = tuple(np.repeat(a, self._factor, axis=1) for a in left)
            self._waiting = [spread, *self._waiting]  # type: ignore[list-item]
        self._factor *= 2
        self._held = self._parts[0][0].shape[1]

    def envelopes(self) -> list[Envelope]:
        if self._waiting and self._waiting[0][0].shape[1]:
            rest = _join(self._waiting)
            self._parts.append(_merge(rest, rest[0].shape[1]))
        low, high, mean = _join(self._parts)
        width = self.width * self._factor
        return [Envelope(width, low[c], high[c], mean[c]) for c in range(self._n_channels)]


def _join(parts: list[tuple[Array, Array, Array]]) -> tuple[Array, Array, Array]:
    low, high, mean = (np.concatenate([part[i] for part in parts], axis=1) for i in range(3))
    return low, high, mean


def _merge(bins: tuple[Array, ...], factor: int) -> tuple[Array, Array, Array]:
    low, high, mean = (a.reshape(a.shape[0], -1, factor) for a in bins)
    return low.min(axis=2), high.max(axis=2), mean.mean(axis=2)
