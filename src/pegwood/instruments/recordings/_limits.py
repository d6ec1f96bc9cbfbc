"""What a recording from a bench can be at all. Beyond it lies damage or mischief."""

from __future__ import annotations

import numpy as np

from pegwood.instruments.recordings._recording import RefusedRecording, Samples

__all__ = ["check_finite", "check_size"]

_MIN_SAMPLES = 32
_MAX_VALUES = 4_000_000_000  # two hours of two channels at 192 kHz are 2.8e9
_MAX_CHANNELS = 32
_MIN_RATE_HZ, _MAX_RATE_HZ = 200.0, 2e9
_MAX_READING = 1e15


def check_size(shown: str, n_samples: int, n_channels: int, sample_rate_hz: float) -> None:
    """
    Refuse an impossible size or rate.

    Parameters
    ----------
    shown : str
        Name for people.
    n_samples, n_channels : int
        Size.
    sample_rate_hz : float
        Samples per second, [Hz].

    Raises
    ------
    RefusedRecording
        If it can't be a recording of firings.
    """
    if not _MIN_RATE_HZ <= sample_rate_hz <= _MAX_RATE_HZ:
        raise RefusedRecording(
            f"{shown}: {sample_rate_hz:g} samples per second can't time a shutter. Record with 8000 or more."
        )
    if not 1 <= n_channels <= _MAX_CHANNELS:
        raise RefusedRecording(f"{shown}: {n_channels} channels. Record with at most {_MAX_CHANNELS}.")
    if n_samples < _MIN_SAMPLES:
        raise RefusedRecording(
            f"{shown}: only {n_samples} samples. Record a whole firing with some dark around it."
        )
    if n_samples * n_channels > _MAX_VALUES:
        raise RefusedRecording(
            f"{shown}: claims {n_samples} samples in {n_channels} channels, too long to be a session "
            f"at the bench. "
            "Cut it into pieces of an hour."
        )


def check_finite(shown: str, samples: Samples, first: int) -> None:
    """
    Refuse readings that are no numbers, naming the first of them.

    Parameters
    ----------
    shown : str
        Name for people.
    samples : array, shape (n, n_channels)
        Readings.
    first : int
        Number of the first sample in the whole recording.

    Raises
    ------
    RefusedRecording
        If a reading is NaN, infinite or absurdly large.
    """
    if samples.size == 0:
        return
    low, high = float(samples.min()), float(samples.max())  # NaN and Inf both come through
    if low > -_MAX_READING and high < _MAX_READING:
        return
    sample, channel = (int(i) for i in np.argwhere(~(np.abs(samples) < _MAX_READING))[0])
    raise RefusedRecording(
        f"{shown}: sample {first + sample} of channel {channel} is {samples[sample, channel]:g}, not "
        f"a usable reading. "
        "Export the recording again or cut that place out."
    )
