"""Recordings as files: WAV and FLAC as a sound card writes them, CSV as an oscilloscope does."""

from __future__ import annotations

import io
from typing import Literal

import numpy as np
import soundfile

from pegwood.demo.simulator.gate import Recording

TIME_UNITS = {"s": 1.0, "ms": 1e3, "us": 1e6}


def as_audio(
    recording: Recording, container: Literal["WAV", "FLAC"] = "WAV", subtype: str = "PCM_16"
) -> bytes:
    """
    The recording as a sound file.

    Parameters
    ----------
    recording : Recording
        Samples of full scale, [1].
    container : {"WAV", "FLAC"}
        Kind of file.
    subtype : str
        The sample's kind as libsndfile names it, such as PCM_16, PCM_24; WAV also knows FLOAT.
    """
    file = io.BytesIO()
    soundfile.write(file, recording.samples, recording.sample_rate_hz, format=container, subtype=subtype)
    return file.getvalue()


def as_csv(recording: Recording, unit: Literal["s", "ms", "us"] = "s", range_v: float = 2.0) -> bytes:
    """
    The recording as a table: a time column in `unit`, then one column per channel in volts.

    Parameters
    ----------
    recording : Recording
        Samples of full scale, [1].
    unit : {"s", "ms", "us"}
        Unit of the time column; the heading names it.
    range_v : float
        Full scale, [V].
    """
    channels = recording.samples.reshape(len(recording.samples), -1)
    times = np.arange(len(channels)) / recording.sample_rate_hz * TIME_UNITS[unit]
    heading = [f"time ({unit})", *(f"channel {i + 1} (V)" for i in range(channels.shape[1]))]
    file = io.StringIO()
    np.savetxt(
        file,
        np.column_stack([times, channels * range_v]),
        fmt=["%.9g", *["%.6f"] * channels.shape[1]],
        delimiter=",",
        header=",".join(heading),
        comments="",
    )
    return file.getvalue().encode()
