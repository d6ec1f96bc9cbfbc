"""What every recording offers, whatever file it came from."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["Recording", "RefusedRecording", "Samples"]

Samples = NDArray[np.floating[Any]]


class RefusedRecording(ValueError):
    """A recording that can't be used; the message is one line that says what is wrong and what to do."""

    def __init__(self, message: str) -> None:
        super().__init__(" ".join(message.split()))


@dataclass(frozen=True)
class Recording(ABC):
    """
    Samples of one or more channels at even steps of time.

    Parameters
    ----------
    name : str
        Name for people, without its folder.
    sample_rate_hz : float
        Samples per second, [Hz].
    n_channels : int
        Channels.
    n_samples : int
        Samples in each channel.
    format : str
        What the file is, such as "WAV, 16 bit".
    full_scale : float or None
        Reading at which the converter clips, where the format has one.
    sample_rate_u : float
        Relative standard uncertainty of the rate as far as the file itself shows it (rounded stamps), [-].
    warnings : tuple of str
        What was noticed while opening.
    clock_u : float or None
        Relative standard uncertainty of the rate where the recorder's clock was calibrated, [-].
    is_compressed : bool
        True where a codec has thrown part of the sound away.
    gaps : tuple of (int, int)
        Stretches without readings that a straight line bridges, first sample and one past the last.
    """

    name: str
    sample_rate_hz: float
    n_channels: int
    n_samples: int
    format: str
    full_scale: float | None = None
    sample_rate_u: float = 0.0
    warnings: tuple[str, ...] = ()
    clock_u: float | None = None
    is_compressed: bool = False
    gaps: tuple[tuple[int, int], ...] = ()

    @property
    def duration_s(self) -> float:
        """Length of the recording, [s]."""
        return self.n_samples / self.sample_rate_hz

    def stray(self, start: int, stop: int) -> Samples | None:
        """
        How far the time stamps of a stretch lie from even steps.

        Parameters
        ----------
        start, stop : int
            First sample and one past the last.

        Returns
        -------
        stray : array, shape (stop - start,), or None
            [sample], positive is late; None where there are no stamps, or none that stray.
        """
        return None

    @abstractmethod
    def blocks(self, n: int) -> Iterator[Samples]:
        """
        Go through the whole recording; can be called again.

        Parameters
        ----------
        n : int
            Samples in each block; the last may be shorter.

        Yields
        ------
        block : array, shape (<= n, n_channels)
            Readings, all finite.

        Raises
        ------
        RefusedRecording
            If the file turns out truncated, or a sample is not a finite number.
        """

    @abstractmethod
    def read(self, start: int, stop: int) -> Samples:
        """
        Read one stretch.

        Parameters
        ----------
        start, stop : int
            First sample and one past the last.

        Returns
        -------
        samples : array, shape (stop - start, n_channels)
            Readings, all finite.

        Raises
        ------
        RefusedRecording
            As for `blocks`.
        """
