"""Readings that are in memory already, as a recording."""

from __future__ import annotations

from pegwood.instruments.recordings._limits import check_finite
from pegwood.instruments.recordings._recording import Recording, Samples
from pegwood.instruments.recordings._table import TableRecording

__all__ = ["held"]


def held(samples: Samples, sample_rate_hz: float, name: str, *, full_scale: float | None = None) -> Recording:
    """
    A recording of readings that somebody holds.

    Parameters
    ----------
    samples : array, shape (n_samples, n_channels)
        Readings.
    sample_rate_hz : float
        Samples per second, [Hz].
    name : str
        Name for people.
    full_scale : float, optional
        Reading at which the converter clips.

    Returns
    -------
    recording : Recording
        It keeps the array and copies nothing.

    Raises
    ------
    RefusedRecording
        If a reading is not a finite number.
    """
    check_finite(name, samples, 0)
    n_samples, n_channels = samples.shape
    return TableRecording(
        name=name,
        sample_rate_hz=sample_rate_hz,
        n_channels=n_channels,
        n_samples=n_samples,
        format="held in memory",
        full_scale=full_scale,
        samples=samples,
    )
