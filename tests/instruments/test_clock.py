"""
A recorder's clock against a tone and against the pulses of a time signal.

The recordings are made here by NumPy on the true time; the bound is that of D. C. Rife and R. R. Boorstyn,
IEEE Trans. Information Theory 20, 591, 1974 (also S. M. Kay 1993, example 3.14; mark: memory): the variance
of a tone's angular frequency is at least 12 s^2 / ((A^2 / 2) n (n^2 - 1) dt^2).
"""

from __future__ import annotations

import json
import math

import numpy as np
import pytest

from instruments.lightcurves import Bench, Firing, as_recording
from pegwood.instruments.clock import ClockCalibration, clock_from_pulses, clock_from_tone
from pegwood.instruments.recordings import RefusedRecording
from pegwood.instruments.shutter import analyse

RATE = 8_000
AMPLITUDE, NOISE = 0.3, 0.03


def times(error: float, seconds: float) -> np.ndarray:
    """True times of the samples of a converter whose clock is off by `error`."""
    rate = RATE * (1 + error)
    return np.arange(int(seconds * rate)) / rate


def tone(error: float, frequency_hz: float = 1000.0, seconds: float = 30.0, seed: int = 0) -> np.ndarray:
    t = times(error, seconds)
    noise = np.random.default_rng(seed).standard_normal(len(t))
    return AMPLITUDE * np.sin(2 * np.pi * frequency_hz * t + seed) + NOISE * noise


def pips(error: float, seconds: float = 40.0, missing: tuple[int, ...] = (), seed: int = 0) -> np.ndarray:
    t = times(error, seconds)
    y = NOISE * np.random.default_rng(seed).standard_normal(len(t))
    for second in range(1, int(seconds)):
        if second not in missing:
            on = (t >= second) & (t < second + 0.1)
            y[on] += AMPLITUDE * np.sin(2 * np.pi * 1000 * (t[on] - second))
    return y


def fit_of(calibration: ClockCalibration) -> float:
    return next(part.u for part in calibration.error.budget if part.name == "fit")


@pytest.mark.parametrize("error", [-120e-6, 0.0, 63e-6])
@pytest.mark.parametrize("frequency_hz", [440.0, 1000.0])
def test_a_tone_tells_how_far_the_clock_is_off_and_which_way(error, frequency_hz):
    found = clock_from_tone(as_recording(tone(error, frequency_hz), RATE), frequency_hz, 0.0)
    assert abs(found.error.value - error) < 4 * fit_of(found)
    assert fit_of(found) < 1e-7


@pytest.mark.parametrize("error", [-120e-6, 0.0, 63e-6])
def test_the_pulses_of_a_time_signal_tell_the_same_though_some_are_missing(error):
    found = clock_from_pulses(as_recording(pips(error, missing=(7, 29, 30)), RATE), 1.0, 0.0)
    assert abs(found.error.value - error) < 4 * fit_of(found)
    assert fit_of(found) < 2e-6


def test_the_uncertainty_of_a_tone_is_that_of_the_published_bound_and_holds():
    errors, stated = [], []
    for seed in range(40):
        found = clock_from_tone(as_recording(tone(50e-6, seconds=12.0, seed=seed), RATE), 1000.0, 0.0)
        errors.append(found.error.value - 50e-6)
        stated.append(fit_of(found))
    n = int(12.0 * RATE)
    bound = math.sqrt(12 * NOISE**2 / (AMPLITUDE**2 / 2) / (n * (n**2 - 1))) * RATE  # [rad/s]
    relative = bound / (2 * np.pi * 1000)
    seen = float(np.sqrt(np.mean(np.square(errors))))
    # the Hann window of each piece costs a factor of sqrt(1.5)
    assert 0.8 * relative < seen < 1.6 * relative
    assert np.mean(np.abs(errors) < 1.96 * np.array(stated)) > 0.85


def test_the_budget_names_reference_and_temperature_with_their_marks():
    found = clock_from_tone(as_recording(tone(0.0), RATE), 1000.0, 2.0)
    parts = {part.name: part for part in found.error.budget}
    assert parts["reference"].u == pytest.approx(2e-6 / math.sqrt(3))
    assert parts["temperature"].mark == "memory"
    assert found.error.u == pytest.approx(math.hypot(*(part.u for part in parts.values())), rel=1e-6)


@pytest.mark.parametrize(
    ("recorded", "named"),
    [
        (lambda: tone(0.0, 990.0), "loudest tone in channel 0 is at 990 Hz"),
        (lambda: tone(0.0, 1000.7), "no steady tone"),
        (lambda: tone(0.0, seconds=2.0), "too short"),
        (lambda: 0.1 * np.random.default_rng(1).standard_normal(30 * RATE), "Hz"),
        (lambda: np.delete(tone(0.0), slice(100_000, 100_003)), "gaps"),
    ],
)
def test_what_is_not_the_named_tone_is_refused(recorded, named):
    with pytest.raises(RefusedRecording, match=named):
        clock_from_tone(as_recording(recorded(), RATE), 1000.0, 0.0)


@pytest.mark.parametrize(
    "recorded",
    [
        lambda: tone(0.0),
        lambda: pips(0.0, seconds=8.0),
        lambda: 0.1 * np.random.default_rng(1).standard_normal(30 * RATE),
        lambda: np.zeros(30 * RATE),
        lambda: pips(0.01),
    ],
)
def test_what_are_no_even_pulses_is_refused(recorded):
    with pytest.raises(RefusedRecording, match="no even pulses"):
        clock_from_pulses(as_recording(recorded(), RATE), 1.0, 0.0)


def test_a_calibrated_clock_puts_times_right_and_narrows_their_budget():
    error = 400e-6  # far more than any crystal, to be seen
    fired = Firing(0.4, 0.002, 0.5, 0.002)
    bench = Bench((fired,), rate=96_000 * (1 + error), sigma=1e-3)
    recording = as_recording(bench.samples(), 96_000)
    calibration = ClockCalibration.from_mapping(
        {"calibration": "clock", "stated_rate_hz": 96_000, "by": "tone", "reference_hz": 1000,
         "error": error, "error_u": 2e-6}
    )  # fmt: skip
    (before,) = analyse(recording).shots
    (after,) = analyse(calibration.applied_to(recording)).shots
    assert before.effective.value == pytest.approx(fired.effective * (1 + error), rel=2e-5)
    assert after.effective.value == pytest.approx(fired.effective, rel=2e-5)
    by_crystal, by_calibration = (
        next(c.u for c in shot.effective.budget if c.name == "clock") for shot in (before, after)
    )
    assert by_calibration == pytest.approx(2e-6 * fired.effective, rel=1e-3)
    assert by_calibration < 0.1 * by_crystal


def test_a_saved_calibration_is_what_it_was():
    found = clock_from_tone(as_recording(tone(63e-6), RATE), 1000.0, 1.0)
    again = ClockCalibration.from_mapping(json.loads(json.dumps(found.to_json(), allow_nan=False)))
    assert (again.error.value, again.error.u) == (found.error.value, pytest.approx(found.error.u))
    assert (again.by, again.reference, again.stated_rate_hz) == ("tone", 1000.0, RATE)


@pytest.mark.parametrize(
    "change",
    [
        {"calibration": "input"},
        {"error": "x"},
        {"error": 1.0},
        {"error_u": 0},
        {"error_u": float("nan")},
        {"stated_rate_hz": None},
    ],
)
def test_a_calibration_that_cannot_be_is_refused(change):
    saved = clock_from_tone(as_recording(tone(0.0), RATE), 1000.0, 1.0).to_json() | change
    with pytest.raises(ValueError, match="calibration"):
        ClockCalibration.from_mapping(saved)


def test_a_calibration_at_another_rate_is_not_applied():
    calibration = clock_from_tone(as_recording(tone(0.0), RATE), 1000.0, 1.0)
    with pytest.raises(RefusedRecording, match="8000 samples per second, and this has 44100"):
        calibration.applied_to(as_recording(np.zeros(44_100), 44_100))


def test_a_silent_recording_is_said_to_be_silent():
    with pytest.raises(RefusedRecording, match="nothing at all is heard"):
        clock_from_tone(as_recording(np.zeros(5 * RATE), RATE), 1000.0, 1.0)
