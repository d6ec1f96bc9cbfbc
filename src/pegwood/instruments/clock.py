"""
The clock of a recorder, held against a reference tone or the pulses of a time signal.

A crystal is off by some tens of millionths, and so is every time that is told with it. A recording of
something whose frequency or period is known far better says by how much.

Source of the method: the frequency of a tone is the slope of its phase, by least squares over short pieces
(S. A. Tretter, IEEE Trans. Information Theory 31, 832, 1985; mark: memory); the period of pulses is the slope
of their times over their count.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal, Self

import numpy as np
from numpy.typing import NDArray
from scipy import signal

from pegwood.instruments.recordings import Recording, RefusedRecording
from pegwood.instruments.saved_calibration import read_saved
from pegwood.instruments.uncertainty import Component, Measured, combine

__all__ = ["ClockCalibration", "clock_from_pulses", "clock_from_tone"]

Array = NDArray[np.float64]

_FARTHEST = 5e-4  # no crystal is so far off: another frequency was recorded
_PERIODS = 100  # of the tone in a piece
_FEWEST_PIECES, _FEWEST_PULSES = 40, 10
_CLEAR_RAD = 0.5  # scatter of the phase beyond which it is no steady tone
_PULSE_S = 0.02  # of a pulse that is compared with the others
_BIN_S = 1e-3
_LISTEN_S = 4.0
_ALIKE = 0.5  # correlation with the mean pulse
_SCATTER_S = 2e-3
_DRIFT_PPM = 10.0
_DRIFT_SOURCE = "Crystals (AT cut) drift by some 10 ppm between a cold and a warm room, from memory"
_PPM = 1e-6
_LONGEST_NAME = 200


@dataclass(frozen=True)
class ClockCalibration:
    """
    By how much a recorder's clock is off.

    Parameters
    ----------
    error : Measured
        True sample rate over the stated one, less one, [-].
    stated_rate_hz : float
        Sample rate the file states, [Hz]: another rate may come from another crystal.
    by : "tone" or "pulses"
        What it was held against.
    reference : float
        Frequency of the tone, [Hz], or period of the pulses, [s].
    file : str
        Name of the recording.
    """

    error: Measured
    stated_rate_hz: float
    by: Literal["tone", "pulses"]
    reference: float
    file: str = ""

    def fits(self, recording: Recording) -> bool:
        """
        Whether a recording was sampled at the rate that was calibrated.

        Parameters
        ----------
        recording : Recording
            As it came.

        Returns
        -------
        fits : bool
            True within a millionth.
        """
        return abs(recording.sample_rate_hz / self.stated_rate_hz - 1) <= 1e-6

    def applied_to(self, recording: Recording) -> Recording:
        """
        The same recording on the true time.

        Parameters
        ----------
        recording : Recording
            From the same recorder at the same rate.

        Returns
        -------
        recording : Recording
            With its true sample rate and the uncertainty of that.

        Raises
        ------
        RefusedRecording
            If it was sampled at another rate.
        """
        stated = recording.sample_rate_hz
        if not self.fits(recording):
            raise RefusedRecording(
                f"{recording.name}: the clock was calibrated at {self.stated_rate_hz:g} samples per second, "
                f"and this has {stated:g}. Calibrate it at that rate, or leave the calibration out."
            )
        rate = stated * (1 + self.error.value)
        return replace(recording, sample_rate_hz=rate, clock_u=self.error.u)

    def to_json(self) -> dict[str, Any]:
        """
        As plain data, which `from_mapping` reads.

        Returns
        -------
        data : dict
            Ready for strict JSON; relative figures, [-].
        """
        return {
            "calibration": "clock",
            "file": self.file,
            "stated_rate_hz": self.stated_rate_hz,
            "by": self.by,
            "reference_hz" if self.by == "tone" else "reference_s": self.reference,
            "error": self.error.value,
            "error_u": self.error.u,
            "error_95": list(self.error.coverage_interval()),
            "budget": [
                {"name": c.name, "u": c.u, "note": c.note, "source": c.source or None, "mark": c.mark or None}
                for c in self.error.budget
            ],
        }

    @classmethod
    def from_mapping(cls, data: Mapping[str, Any]) -> Self:
        """
        A calibration that was saved.

        Parameters
        ----------
        data : mapping
            What `to_json` gave.

        Returns
        -------
        calibration : ClockCalibration
            Its budget is one line, that of the calibration.

        Raises
        ------
        ValueError
            If it is none, or its figures can't be.
        """
        return read_saved(data, "clock", cls._of)

    @classmethod
    def _of(cls, data: Mapping[str, Any]) -> Self | None:
        by: Literal["tone", "pulses"] = "tone" if data.get("by") == "tone" else "pulses"
        error, u = float(data["error"]), float(data["error_u"])
        rate = float(data["stated_rate_hz"])
        reference = float(data["reference_hz" if by == "tone" else "reference_s"])
        if not (abs(error) <= _FARTHEST and 0 < u <= _FARTHEST and 0 < rate < 1e9 and 0 < reference < 1e9):
            return None
        part = Component("calibration", u, note="of this clock, saved")
        return cls(combine(error, [part]), rate, by, reference, str(data.get("file", ""))[:_LONGEST_NAME])


def clock_from_tone(
    recording: Recording, frequency_hz: float, reference_ppm: float, channel: int = 0
) -> ClockCalibration:
    """
    Hold the clock against a tone.

    Parameters
    ----------
    recording : Recording
        Of the tone, a minute or more.
    frequency_hz : float
        Its true frequency, [Hz].
    reference_ppm : float
        Within how many millionths that is known, [-].
    channel : int
        Channel that holds it.

    Returns
    -------
    calibration : ClockCalibration
        With its budget.

    Raises
    ------
    RefusedRecording
        If the tone is not there, is too short, or breaks off.
    ValueError
        If frequency or reference can't be.
    """
    rate = recording.sample_rate_hz
    _check(reference_ppm)
    if not 10 <= frequency_hz <= 0.45 * rate:
        raise ValueError(f"A tone of {frequency_hz:g} Hz can't be heard at {rate:g} samples per second")
    n = round(_PERIODS / frequency_hz * rate)
    _check_pitch(recording, channel, frequency_hz)
    phases = _phases(recording, channel, frequency_hz, n)
    if len(phases) < _FEWEST_PIECES:
        needed = _FEWEST_PIECES * n / rate
        raise RefusedRecording(
            f"{recording.name}: too short for a tone of {frequency_hz:g} Hz. Record at least {needed:.0f} s."
        )
    slope, u, scatter = _line(np.arange(len(phases)) * n / rate, phases)
    off = slope / (2 * math.pi * frequency_hz)
    if scatter > _CLEAR_RAD or abs(off) > _FARTHEST:
        raise RefusedRecording(
            f"{recording.name}: no steady tone of {frequency_hz:g} Hz in channel {channel}, or the recording "
            "has gaps. Record the tone alone, not too loud, without a break."
        )
    error = 1 / (1 + off) - 1  # a clock that is fast stretches the tone: it sounds lower
    return _calibration(
        recording, error, u / (2 * math.pi * frequency_hz), reference_ppm, "tone", frequency_hz
    )


def _check_pitch(recording: Recording, channel: int, frequency_hz: float) -> None:
    """The loudest tone must be the one that was named: the phase alone takes any that is whole turns off."""
    y = recording.read(0, min(recording.n_samples, round(_LISTEN_S * recording.sample_rate_hz)))[:, channel]
    spectrum = np.abs(np.fft.rfft((y - y.mean()) * np.hanning(len(y))))
    if not spectrum.any():
        raise RefusedRecording(
            f"{recording.name}: nothing at all is heard in channel {channel}. Look at the plug and level, "
            "or name another channel."
        )
    loudest_hz = float(spectrum.argmax()) * recording.sample_rate_hz / len(y)
    if abs(loudest_hz - frequency_hz) > 3 * recording.sample_rate_hz / len(y) + _FARTHEST * frequency_hz:
        raise RefusedRecording(
            f"{recording.name}: the loudest tone in channel {channel} is at {loudest_hz:.4g} Hz, not at "
            f"{frequency_hz:g} Hz. Name its true frequency, or record the tone alone."
        )


def _phases(recording: Recording, channel: int, frequency_hz: float, n: int) -> Array:
    """Phase of the tone against its true frequency on the recorder's own time, piece by piece, [rad]."""
    window = signal.windows.hann(n, sym=False)
    turn = -2j * math.pi * frequency_hz / recording.sample_rate_hz
    pieces: list[complex] = []
    for block in recording.blocks(n):
        if len(block) < n:
            break
        y = block[:, channel].astype(np.float64)
        at = len(pieces) * n
        pieces.append(complex(np.sum(window * (y - y.mean()) * np.exp(turn * (at + np.arange(n))))))
    return np.unwrap(np.angle(pieces)) if pieces else np.zeros(0)


def clock_from_pulses(
    recording: Recording, period_s: float, reference_ppm: float, channel: int = 0
) -> ClockCalibration:
    """
    Hold the clock against the pulses of a time signal.

    Parameters
    ----------
    recording : Recording
        Of the pulses, a minute or more; some may be missing.
    period_s : float
        True time from one to the next, [s].
    reference_ppm : float
        Within how many millionths that is known, [-].
    channel : int
        Channel that holds them.

    Returns
    -------
    calibration : ClockCalibration
        With its budget.

    Raises
    ------
    RefusedRecording
        If there are too few pulses, or they do not come at even times.
    ValueError
        If period or reference can't be.
    """
    _check(reference_ppm)
    if not 0.05 <= period_s <= 60:
        raise ValueError(f"Pulses every {period_s:g} s are no time signal Pegwood can count")
    times = _pulses(recording, channel, period_s)
    if len(times) >= _FEWEST_PULSES:
        counts = _counted(times, period_s)
        slope, u, scatter = _line(counts, times)
        off = slope / period_s - 1
        if scatter < _SCATTER_S and abs(off) <= _FARTHEST and len(set(counts)) == len(counts):
            # a clock that is fast counts more samples from pulse to pulse
            return _calibration(recording, off, u / period_s, reference_ppm, "pulses", period_s)
    raise RefusedRecording(
        f"{recording.name}: no even pulses every {period_s:g} s in channel {channel}: {len(times)} were "
        f"found. Record at least {_FEWEST_PULSES} of them, alone and without a break."
    )


def _pulses(recording: Recording, channel: int, period_s: float) -> Array:
    """Times of pulses that are alike, on the recorder's own time, [s]."""
    rate = recording.sample_rate_hz
    n = max(1, round(_BIN_S * rate))
    tops = np.concatenate(
        [
            np.abs(y[: len(y) // n * n].reshape(-1, n) - np.median(y)).max(axis=1)
            for block in recording.blocks(n * round(max(period_s, 1.0) / _BIN_S))
            if len(y := block[:, channel].astype(np.float64)) >= n
        ]
        or [np.zeros(0)]
    )
    if len(tops) < 3 or tops.max() <= 0:
        return np.zeros(0)
    loud = float(np.quantile(tops, 1 - _BIN_S / period_s / 2))
    up = tops > 0.5 * (loud + float(np.median(tops)))
    starts = np.flatnonzero(up[1:] & ~up[:-1]) + 1
    apart = round(0.5 * period_s / _BIN_S)
    first = [s for i, s in enumerate(starts.tolist()) if i == 0 or s - starts[i - 1] > apart]
    return _aligned(recording, channel, [s * n for s in first], round(_PULSE_S * rate))


def _aligned(recording: Recording, channel: int, starts: list[int], width: int) -> Array:
    """Pulses shifted until they lie on the mean of all, to a fraction of a sample."""
    half = width // 2
    cut = [
        (s - half, recording.read(s - half, s - half + 2 * width)[:, channel].astype(np.float64))
        for s in starts
        if s >= half and s - half + 2 * width <= recording.n_samples
    ]
    if len(cut) < _FEWEST_PULSES:
        return np.zeros(0)
    cut = [(at, y - y.mean()) for at, y in cut]
    mean = cut[len(cut) // 2][1]
    for _ in range(3):
        places = [_shift(y, mean) for _, y in cut]
        lined = [
            np.interp(np.arange(len(y)) + shift, np.arange(len(y)), y)
            for (_, y), (shift, _) in zip(cut, places, strict=True)
        ]
        mean = np.mean(lined, axis=0)
    good = [at + shift for (at, _), (shift, alike) in zip(cut, places, strict=True) if alike > _ALIKE]
    return np.asarray(good, dtype=np.float64) / recording.sample_rate_hz


def _shift(y: Array, mean: Array) -> tuple[float, float]:
    """Samples by which a pulse comes after the mean one, and how alike they are."""
    against = signal.correlate(y, mean, mode="full")
    top = int(np.clip(against.argmax(), 1, len(against) - 2))
    before, at, after = against[top - 1 : top + 2]
    bend = before - 2 * at + after
    fraction = 0.5 * (before - after) / bend if bend < 0 else 0.0
    scale = math.sqrt(float(y @ y) * float(mean @ mean)) or 1.0
    return top - (len(mean) - 1) + float(fraction), float(at) / scale


def _counted(times: Array, period_s: float) -> Array:
    """The number of each pulse, by its distance to the one before: a clock's error does not add up so."""
    return np.concatenate(([0.0], np.cumsum(np.maximum(np.round(np.diff(times) / period_s), 1.0))))


def _line(x: Array, y: Array) -> tuple[float, float, float]:
    """Slope by least squares, its standard uncertainty with correlated residuals allowed for, and scatter."""
    away = x - x.mean()
    spread = float(away @ away)
    slope = float(away @ y) / spread
    rest = y - y.mean() - slope * away
    scatter = math.sqrt(float(rest @ rest) / max(1, len(x) - 2))
    power = float(rest @ rest)
    alike = float(rest[1:] @ rest[:-1]) / power if power > 0 else 0.0
    alike = min(max(alike, 0.0), 0.95)
    return slope, scatter / math.sqrt(spread) * math.sqrt((1 + alike) / (1 - alike)), scatter


def _check(reference_ppm: float) -> None:
    if not 0 <= reference_ppm <= 1000:
        raise ValueError(f"A reference within {reference_ppm:g} millionths is none: give 0 to 1000")


def _calibration(
    recording: Recording,
    error: float,
    u: float,
    reference_ppm: float,
    by: Literal["tone", "pulses"],
    reference: float,
) -> ClockCalibration:
    parts = [
        Component("fit", u, kind="A", note="slope of the phase" if by == "tone" else "slope of the times"),
        Component(
            "reference",
            reference_ppm * _PPM / math.sqrt(3),
            note=f"known within {reference_ppm:g} ppm",
            source="whoever named the reference",
            mark="practice",
        ),
        Component(
            "temperature",
            _DRIFT_PPM * _PPM / math.sqrt(3),
            note="between this calibration and the recordings it is used for",
            source=_DRIFT_SOURCE,
            mark="memory",
        ),
    ]
    return ClockCalibration(combine(error, parts), recording.sample_rate_hz, by, reference, recording.name)
