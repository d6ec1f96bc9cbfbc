"""A screen of known refresh rate, seen by the sensor: the recorder's clock against the screen's."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.recordings import Recording, RefusedRecording
from pegwood.instruments.shutter.selftest import SelfTest, outcome_of
from pegwood.instruments.uncertainty import Component, combine

__all__ = ["check_screen"]

CLOCK_PERCENT = 0.1
_SCREEN_PPM = 100.0
_BLOCK_S = 0.5
_FEWEST_BLOCKS = 8
_CLEAR = 0.95  # how nearly all stretches must agree on the phase
_STANDS_OUT = 10.0  # in power, over the neighbourhood
_MAINS_HZ = (50.0, 60.0, 100.0, 120.0)
_LIMIT_SOURCE = "Workshop's choice: no effective time is stated closer than a thousandth"


@dataclass(frozen=True)
class _Line:
    """A steady tone: its rate by the recorder's clock, how well that is known, and how clear it is."""

    hz: float
    u_hz: float
    clearness: float
    stands_out: float
    blocks: int


def check_screen(recording: Recording, refresh_hz: float, *, percent: float = CLOCK_PERCENT) -> SelfTest:
    """
    Whether the recorder's clock agrees with the refresh of a screen.

    Parameters
    ----------
    recording : Recording
        The sensor before a screen that shows white, or white and black in turn.
    refresh_hz : float
        Refresh rate of the screen, to its decimals (59.94 is not 60), [Hz].
    percent : float
        How far it may be off, [%].

    Returns
    -------
    test : SelfTest
        With the reasons.

    Raises
    ------
    RefusedRecording
        If no steady flicker near that rate, or half of it, is in the recording.
    ValueError
        If no screen has such a rate.

    Notes
    -----
    The phase of the light at the rate told is followed through stretches of half a second (a discrete Fourier
    sum under a Hann window); its slope is the difference of the rates.
    """
    if not 20 <= refresh_hz <= 1000:
        raise ValueError(f"No screen is renewed {refresh_hz:g} times a second. Give such as 59.94.")
    if recording.sample_rate_hz < 8 * refresh_hz:
        raise RefusedRecording(
            f"{recording.name}: sampled too slowly for {refresh_hz:g} Hz. Use 8000 or more."
        )
    lines = [(_line(recording, refresh_hz / k), k) for k in (1, 2)]
    line, k = max(lines, key=lambda pair: pair[0].stands_out)
    if line.blocks < _FEWEST_BLOCKS:
        raise RefusedRecording(
            f"{recording.name}: too short to test a clock. Record at least {_FEWEST_BLOCKS * _BLOCK_S:g} s."
        )
    if line.clearness < _CLEAR or line.stands_out < _STANDS_OUT:
        raise RefusedRecording(
            f"{recording.name}: no steady flicker near {refresh_hz:g} Hz. Hold the sensor against a white "
            "part of the screen, dim the screen, or show black and white in turn."
        )
    found = combine(
        line.hz * k, [Component("phase", line.u_hz * k, max(1.0, line.blocks - 2.0), "A", "of stretches")]
    )
    clock = Component(
        "screen's clock",
        refresh_hz * _SCREEN_PPM * 1e-6 / math.sqrt(3),
        note=f"within {_SCREEN_PPM:.0f} ppm of its rate",
        source="Crystals of screens and graphics cards",
        mark="practice",
    )
    check = outcome_of("refresh", found, combine(refresh_hz, [clock]), "Hz", percent, _LIMIT_SOURCE)
    notes = [f"Light comes {line.hz:.5g} times a second by the recorder's clock."]
    if k == 2:
        notes.append("Black and white in turn: one period is two refreshes.")
    if abs(found.value / refresh_hz * 1.001 - 1) < 3e-4 or abs(found.value / refresh_hz / 1.001 - 1) < 3e-4:
        notes.append("The difference is that of 60 to 59.94: look up which of the two the screen really has.")
    against = []
    if any(abs(line.hz / mains - 1) < 0.01 for mains in _MAINS_HZ):
        against.append(
            "this is also a rate of the mains, and hum or a lamp looks the same: choose another refresh "
            "rate, such as 75 Hz"
        )
    outcome = "too close to call" if check.outcome == "pass" and against else check.outcome
    period = combine(1 / found.value, [Component("phase", found.u / found.value**2)])
    return SelfTest(outcome, (check,), tuple(against), tuple(notes), period, line.blocks)


def _line(recording: Recording, near_hz: float) -> _Line:
    """Follow the phase of one rate through the recording."""
    rate = recording.sample_rate_hz
    n = round(_BLOCK_S * rate)
    window = np.hanning(n)
    steps = np.arange(n) / rate
    sums: list[complex] = []
    beside: list[float] = []
    for i, block in enumerate(recording.blocks(n)):
        if len(block) < n:
            break
        y = block.astype(np.float64)
        y -= y.mean(axis=0)
        y *= window[:, None]
        turn = np.exp(-2j * math.pi * near_hz * steps)
        at = (turn @ y) * np.exp(-2j * math.pi * near_hz * (i * n / rate))
        channel = int(np.argmax(np.abs(at)))
        sums.append(complex(at[channel]))
        off = [np.exp(-2j * math.pi * (near_hz + d) * steps) @ y[:, channel] for d in (-8.3, -6.1, 6.1, 8.3)]
        beside.append(float(np.mean(np.abs(off) ** 2)))
    if len(sums) < 3:
        return _Line(near_hz, 0.0, 0.0, 0.0, len(sums))
    phasors = np.array(sums)
    phase = np.unwrap(np.angle(phasors))
    t = (np.arange(len(phase)) - (len(phase) - 1) / 2) * n / rate
    slope = float(t @ phase) / float(t @ t)
    left: NDArray[np.float64] = phase - phase.mean() - slope * t
    u = math.sqrt(float(left @ left) / max(1, len(left) - 2) / float(t @ t))
    power = float(np.mean(np.abs(phasors) ** 2)) / max(float(np.mean(beside)), 1e-300)
    clearness = float(np.abs(np.mean(np.exp(1j * left))))
    return _Line(near_hz + slope / (2 * math.pi), u / (2 * math.pi), clearness, power, len(sums))
