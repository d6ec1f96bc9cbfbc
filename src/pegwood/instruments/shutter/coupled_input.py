"""
An input with capacitors, calibrated once and used for every recording that comes through it.

A torch switched on and off before the sensor gives clean steps; their droop and what follows after each tell
the corners of the input better than the few milliseconds of a firing do.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Self

import numpy as np
from scipy.ndimage import uniform_filter1d

from pegwood.instruments.recordings import Recording, RefusedRecording
from pegwood.instruments.saved_calibration import read_saved
from pegwood.instruments.shutter._coupling import LENGTHS_S, best_fit
from pegwood.instruments.shutter._highpass import Corners, Fit
from pegwood.instruments.shutter._openings import base_of, openings_in, steps_of
from pegwood.instruments.shutter._restored import Coupling
from pegwood.instruments.shutter._scan import Envelope, scan
from pegwood.instruments.shutter._steady import Known, free_of

__all__ = ["InputCalibration", "calibrate_input"]

_LONG_S = (6.0, 3.0, 1.5, *LENGTHS_S)
_STAYS = 0.95  # of a level that an input with no capacitor keeps
_SUDDEN_S = 0.005  # an LED comes and goes in less, a bulb takes twenty times as long (practice)
_LONGEST_NAME = 200
_EDGE_S = 0.005  # over which the light is looked at for edges
_OF_HIGHEST, _CLEAR = 0.4, 20.0  # an edge: of the highest step; times the usual change
_APART_S = 0.05  # what swings back sooner belongs to the same edge
_END_S = 0.05  # of darkness that both ends need at the least
_FOOT, _SMOOTH_S, _LOOK_S = 0.15, 1e-3, 0.1


@dataclass(frozen=True)
class InputCalibration:
    """
    The high-pass of an input.

    Parameters
    ----------
    corners : Corners
        With their covariance.
    steps : int
        Steps of the light it was found in.
    file : str
        Name of the recording.
    """

    corners: Corners
    steps: int
    file: str = ""

    @property
    def corners_hz(self) -> tuple[tuple[float, float], ...]:
        """Each corner with its standard uncertainty, highest first, [Hz]."""
        a, b, cov = self.corners.a, self.corners.b, self.corners.covariance
        if b == 0:
            return ((a / (2 * math.pi), math.sqrt(cov[0, 0]) / (2 * math.pi)),)
        root = math.sqrt(max(a * a / 4 - b, 0.0))
        found = []
        for sign in (1, -1):
            # w = a/2 +- sqrt(a^2/4 - b); two corners that coincide leave the slope without bound
            slope = (
                np.array([0.5 + sign * a / (4 * root), -sign / (2 * root)]) if root else np.array([0.5, 0.0])
            )
            u = math.sqrt(max(0.0, float(slope @ cov[:2, :2] @ slope)))
            found.append(((a / 2 + sign * root) / (2 * math.pi), u / (2 * math.pi)))
        return tuple(found)

    @property
    def corners_text(self) -> str:
        """Each corner with half its 95 % interval, both to two digits of that half (JCGM 100, 7.2.6)."""
        return " and ".join(_with_half(hz, 2 * u) for hz, u in self.corners_hz)

    def to_json(self) -> dict[str, Any]:
        """
        As plain data, which `from_mapping` reads.

        Returns
        -------
        data : dict
            Ready for strict JSON.
        """
        return {
            "calibration": "input",
            "file": self.file,
            "steps": self.steps,
            "corners_hz": [value for value, _ in self.corners_hz],
            "corners_u_hz": [u for _, u in self.corners_hz],
            "sum_per_s": self.corners.a,
            "product_per_s2": self.corners.b,
            "covariance": self.corners.covariance[:2, :2].tolist(),
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
        calibration : InputCalibration
            As it was.

        Raises
        ------
        ValueError
            If it is none, or its figures can't be.
        """
        return read_saved(data, "input", cls._of)

    @classmethod
    def _of(cls, data: Mapping[str, Any]) -> Self | None:
        a, b = float(data["sum_per_s"]), float(data["product_per_s2"])
        covariance = np.array(data["covariance"], dtype=np.float64)
        steps = int(data["steps"])
        if (
            covariance.shape != (2, 2)
            or not np.isfinite(covariance).all()
            or not (0 < a < 1e4 and 0 <= b < 1e8)
        ):
            return None
        size = 2 if b > 0 else 1
        if np.linalg.eigvalsh(0.5 * (covariance + covariance.T)[:size, :size]).min() <= 0:
            return None
        whole = np.zeros((3, 3))
        whole[:2, :2] = covariance
        return cls(Corners(a, b, 0.0, whole), steps, str(data.get("file", ""))[:_LONGEST_NAME])


def _with_half(hz: float, half_hz: float) -> str:
    if half_hz <= 0:  # saved figures may have no room for one
        return f"{hz:.4g} Hz"
    places = max(0, 1 - math.floor(math.log10(float(f"{half_hz:.1e}"))))
    return f"{hz:.{places}f} ± {half_hz:.{places}f} Hz"


def calibrate_input(recording: Recording, channel: int = 0) -> InputCalibration:
    """
    Find the high-pass of an input from a torch that is switched on and off.

    Parameters
    ----------
    recording : Recording
        A few times on and off, each for several seconds, with darkness before, between and after.
    channel : int
        Channel that holds it.

    Returns
    -------
    calibration : InputCalibration
        To be used with `analyse`.

    Raises
    ------
    RefusedRecording
        If there are no steps of the light, they are cut off, the recording does not begin and end in
        darkness and gives nothing for it, or the input shows no capacitor.
    """
    name, rate = recording.name, recording.sample_rate_hz
    if not 0 <= channel < recording.n_channels:
        raise RefusedRecording(
            f"{name}: no channel {channel}; its channels are 0 to {recording.n_channels - 1}."
        )
    envelope = scan(recording)[channel]
    if recording.full_scale is not None:
        top = max(float(envelope.high.max()), -float(envelope.low.min()))
        if top >= 0.999 * recording.full_scale:
            raise RefusedRecording(
                f"{name}: the light goes beyond what the input takes. Hold the torch farther off "
                "and record again."
            )
    steps = [
        step
        for dark in openings_in(envelope, recording, _LONG_S[0])
        for step in steps_of(dark, rate, _LONG_S[0])
    ]
    if not steps:
        _check_ends(envelope, recording)
        raise RefusedRecording(
            f"{name}: no light that was switched on and off, in channel {channel}. Let the torch shine "
            "on the sensor for five seconds and be dark for five, three times over."
        )
    base = base_of(envelope)
    found = best_fit(recording, channel, steps, base, _LONG_S)
    if found is None and not any(_sags(recording, channel, step, base) for step in steps):
        raise RefusedRecording(
            f"{name}: the level stays as the torch does, so this input passes direct current, or its "
            "corner lies below 0.02 Hz. There is nothing to calibrate."
        )
    if found is None or not all(_is_sudden(recording, channel, step, found, base) for step in steps):
        _check_ends(envelope, recording)
        raise RefusedRecording(
            f"{name}: the light does not come and go at once, or is not steady. Use an LED torch that is "
            "not dimmed, hold it still, and record again."
        )
    return InputCalibration(found.corners, len(steps), name)


def _check_ends(envelope: Envelope, recording: Recording) -> None:
    """Refuse a recording that begins or ends in light, or too close to it: one edge of it has no darkness."""
    per_s = recording.sample_rate_hz / envelope.bin_samples
    over = max(1, round(_EDGE_S * per_s))
    change = np.abs(envelope.mean[over:] - envelope.mean[:-over])
    if not len(change) or change.max() <= _CLEAR * np.median(change):
        return
    steep = np.flatnonzero(change > _OF_HIGHEST * change.max())
    edges = steep[np.diff(steep, prepend=-np.inf) > max(over, _APART_S * per_s)]
    margin = _END_S * per_s
    if len(edges) % 2 or edges[0] < margin or edges[-1] > len(change) - margin:
        raise RefusedRecording(
            f"{recording.name}: the recording must begin and end in darkness, and this one does not. "
            "Record again: dark for five seconds before the first light and for five after the last."
        )


def _sags(recording: Recording, channel: int, step: Known, base: float) -> bool:
    """Whether the level sinks while the light is on."""
    at = slice(step.start, step.stop)
    y = np.abs(recording.read(at.start, at.stop)[:, channel].astype(np.float64) - base)
    lit = y[step.stretches[step.lit or 0]]
    tenth = max(1, len(lit) // 10)
    ends = float(np.mean(lit[:tenth])), float(np.mean(lit[-tenth:]))
    return min(ends) < _STAYS * max(ends)


def _is_sudden(recording: Recording, channel: int, step: Known, found: Fit, base: float) -> bool:
    """Whether the light, its capacitors undone, goes from darkness to its level in a few milliseconds."""
    rate, it = recording.sample_rate_hz, found.corners
    known = step.within(round(_LOOK_S * rate))
    coupling = Coupling(it.a, it.b, it.bend, it.covariance, found.sigma, base, "")
    y = recording.read(known.start, known.stop)[:, channel].astype(np.float64) - base
    light, level = free_of(coupling.undone(y, 1 / rate), known)
    n = max(1, round(_SMOOTH_S * rate))
    share = uniform_filter1d(light / level if level else light, n)
    between = np.flatnonzero((share > _FOOT) & (share < 1 - _FOOT))
    return len(between) > 0 and between[-1] - between[0] < _SUDDEN_S * rate + n
