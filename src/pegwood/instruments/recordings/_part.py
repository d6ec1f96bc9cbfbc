"""A part of a recording: one stretch of it, or a few that are read one behind the other."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from pegwood.instruments.recordings._recording import Recording, RefusedRecording, Samples

__all__ = ["Part", "part_of"]

Stretch = tuple[int, int]


@dataclass(frozen=True)
class Part(Recording):
    """Stretches of another recording, joined; see `Recording`."""

    whole: Recording = field(kw_only=True)
    stretches: tuple[Stretch, ...] = field(kw_only=True)

    def blocks(self, n: int) -> Iterator[Samples]:
        """As for every recording."""
        for start in range(0, self.n_samples, n):
            yield self.read(start, min(start + n, self.n_samples))

    def read(self, start: int, stop: int) -> Samples:
        """As for every recording."""
        pieces = [self.whole.read(low, high) for low, high in self._within(start, stop)]
        return pieces[0] if len(pieces) == 1 else np.concatenate(pieces)

    def stray(self, start: int, stop: int) -> Samples | None:
        """As for every recording."""
        found = (self.whole.stray(low, high) for low, high in self._within(start, stop))
        pieces = [one for one in found if one is not None]
        return np.concatenate(pieces) if pieces else None

    def _within(self, start: int, stop: int) -> Iterator[Stretch]:
        """A stretch of this part, as stretches of the whole."""
        begins = 0
        for first, last in self.stretches:
            low, high = max(start, begins), min(stop, begins + last - first)
            if low < high:
                yield first + low - begins, first + high - begins
            begins += last - first

    def place_of(self, sample: int) -> int | None:
        """
        Where a sample of the whole recording lies in this part.

        Parameters
        ----------
        sample : int
            Counted from the start of the whole.

        Returns
        -------
        place : int or None
            Counted from the start of the part; None where the part does not hold it.
        """
        begins = 0
        for first, last in self.stretches:
            if first <= sample < last:
                return begins + sample - first
            begins += last - first
        return None


def part_of(recording: Recording, stretches: Sequence[Sequence[int]]) -> Part:
    """
    Take stretches out of a recording.

    Where two are joined the readings should be dark on both sides: a step there is no light.

    Parameters
    ----------
    recording : Recording
        The whole.
    stretches : sequence of (int, int)
        First sample and one past the last of each, in order of time, none over another.

    Returns
    -------
    part : Part
        A view; nothing is copied.

    Raises
    ------
    RefusedRecording
        If the stretches do not lie in the recording, or hold nothing.
    """
    taken = tuple((int(first), int(last)) for first, last in stretches)
    in_order = all(one[1] <= two[0] for one, two in pairwise(taken))
    if not taken or not in_order or any(not 0 <= a < b <= recording.n_samples for a, b in taken):
        raise RefusedRecording(
            f"{recording.name}: has no such part; it holds {recording.n_samples} samples. Read it whole."
        )
    return Part(
        name=recording.name,
        sample_rate_hz=recording.sample_rate_hz,
        n_channels=recording.n_channels,
        n_samples=sum(last - first for first, last in taken),
        format=recording.format,
        full_scale=recording.full_scale,
        sample_rate_u=recording.sample_rate_u,
        clock_u=recording.clock_u,
        warnings=recording.warnings,
        whole=recording,
        stretches=taken,
    )
