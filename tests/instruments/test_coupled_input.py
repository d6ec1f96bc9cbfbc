"""
An input with capacitors calibrated by a torch, and long firings of which only the edges are left.

The capacitors are SciPy's first-order Butterworth high-pass; light and torch are the closed forms of
`lightcurves`. Neither shares code with the analysis.
"""

from __future__ import annotations

import json
import math

import numpy as np
import pytest
from scipy import signal

from instruments.lightcurves import Bench, Firing, as_recording
from pegwood.instruments.recordings import RefusedRecording
from pegwood.instruments.shutter import InputCalibration, analyse, calibrate_input, uses_calibration

RATE = 24_000
AMPLITUDE = 0.3


def behind(bench: Bench, corners_hz: tuple[float, ...], noise: float, seed: int = 0):
    """What a bench gives through capacitors, with noise of so much of full light behind them."""
    y = bench.samples()
    for corner in corners_hz:
        y = signal.sosfilt(signal.butter(1, corner, "highpass", fs=bench.rate, output="sos"), y)
    y = y + AMPLITUDE * noise * np.random.default_rng(seed).standard_normal(len(y))
    return as_recording(y, bench.rate, "PCM_16")


def firings(durations, pause: float = 1.0, edge_s: float = 0.002) -> tuple[Firing, ...]:
    fired, at = [], 0.7
    for duration in durations:
        fired.append(Firing(at, edge_s, duration, edge_s, "cosine"))
        at += fired[-1].total + pause
    return tuple(fired)


def torch(corners_hz: tuple[float, ...], noise: float, *, fade_s: float = 0.001, seed: int = 0):
    fired = firings((3.0, 3.3), pause=3.0, edge_s=fade_s)
    bench = Bench(fired, rate=RATE, sigma=0.0, amplitude=AMPLITUDE, seconds=fired[-1].at + 6.5)
    return behind(bench, corners_hz, noise, seed)


@pytest.mark.parametrize("corners_hz", [(0.3,), (5.0,), (20.0,), (20.0, 1.0), (30.0, 10.0), (5.0, 3.0)])
@pytest.mark.parametrize("noise", [1e-2, 1e-3])
def test_a_torch_tells_the_corners_of_an_input_within_their_uncertainty(corners_hz, noise):
    corners = calibrate_input(torch(corners_hz, noise)).corners
    total = 2 * math.pi * sum(corners_hz)
    assert abs(corners.a - total) < 3.5 * math.sqrt(corners.covariance[0, 0])
    assert abs(corners.a / total - 1) < 0.01
    assert (corners.b > 0) == (len(corners_hz) == 2)


@pytest.mark.parametrize("corners_hz", [(0.3,), (5.0,), (20.0, 1.0), (30.0, 10.0)])
@pytest.mark.parametrize(("begins_s", "ends_s"), [(0.0, -1.0), (0.0, 0.01), (0.9, 1.0)])
def test_a_torch_that_shines_as_the_recording_begins_or_ends_is_told_of(corners_hz, begins_s, ends_s):
    (shone,) = firings((4.0,), edge_s=0.001)
    bench = Bench((shone,), rate=RATE, sigma=0.0, amplitude=AMPLITUDE, seconds=7.0)
    whole = behind(bench, corners_hz, 1e-3).read(0, 7 * RATE)[:, 0]
    ends = round((shone.at + shone.total + ends_s) * RATE)
    cut = as_recording(whole[round(begins_s * RATE) : ends].astype(float), RATE, "PCM_16")
    with pytest.raises(RefusedRecording, match="dark for five seconds before the first light and for five"):
        calibrate_input(cut)


@pytest.mark.parametrize("corners_hz", [(0.3,), (5.0, 3.0), (20.0, 1.0)])
def test_a_bulb_that_fades_gives_no_calibration(corners_hz):
    with pytest.raises(RefusedRecording, match="LED torch"):
        calibrate_input(torch(corners_hz, 1e-3, fade_s=0.15))


def test_an_input_that_passes_direct_current_has_nothing_to_calibrate():
    with pytest.raises(RefusedRecording, match="nothing to calibrate"):
        calibrate_input(torch((), 1e-3))


def test_darkness_and_a_light_that_goes_beyond_the_input_give_no_calibration():
    dark = as_recording(1e-3 * np.random.default_rng(0).standard_normal(5 * RATE), RATE, "PCM_16")
    with pytest.raises(RefusedRecording, match="no light that was switched"):
        calibrate_input(dark)
    fired = firings((3.0,), pause=3.0)
    loud = Bench(fired, rate=RATE, sigma=1e-3, amplitude=1.5, seconds=7.0).recording("PCM_16")
    with pytest.raises(RefusedRecording, match="farther off"):
        calibrate_input(loud)


LONG = [((20.0,), 4.0, 1e-2), ((30.0,), 8.0, 1e-2), ((20.0, 1.0), 8.0, 1e-2), ((30.0, 10.0), 1.0, 1e-2)]


@pytest.mark.parametrize(("corners_hz", "seconds", "noise"), LONG)
def test_a_long_firing_behind_capacitors_is_timed_from_edge_to_edge(corners_hz, seconds, noise):
    fired = firings((seconds, 0.9 * seconds))
    bench = Bench(fired, rate=RATE, sigma=0.0, amplitude=AMPLITUDE, seconds=fired[-1].at + seconds + 1)
    read = analyse(behind(bench, corners_hz, noise))
    assert (read.coupling, len(read.shots)) == ("AC", 2)
    for shot, truth in zip(read.shots, fired, strict=True):
        assert shot.effective.value == pytest.approx(truth.effective, rel=1e-4)
        assert abs(shot.effective.value - truth.effective) < 3 * shot.effective.u
        assert shot.efficiency is None
        assert any("Efficiency can't be had" in warning for warning in shot.warnings)


def test_where_the_middle_can_be_put_back_efficiency_is_told():
    fired = firings((0.1, 0.09))
    bench = Bench(fired, rate=RATE, sigma=0.0, amplitude=AMPLITUDE, seconds=3.5)
    read = analyse(behind(bench, (5.0,), 1e-3))
    assert [shot.efficiency is not None for shot in read.shots] == [True, True]


@pytest.mark.slow
def test_edge_to_edge_intervals_hold_the_truth():
    held = []
    for seed in range(24):
        rng = np.random.default_rng(seed)
        fired = firings(tuple(rng.uniform(1.5, 4.0, 2)), edge_s=float(rng.uniform(0.001, 0.004)))
        bench = Bench(fired, rate=RATE, sigma=0.0, amplitude=AMPLITUDE, seconds=fired[-1].at + 5.0)
        corners = [(20.0,), (30.0,), (20.0, 2.0)][seed % 3]
        for shot, truth in zip(analyse(behind(bench, corners, 2e-2, seed)).shots, fired, strict=True):
            # the simulated clock is exact, so its part of the budget would only flatter
            u = math.sqrt(sum(part.u**2 for part in shot.effective.budget if part.name != "clock"))
            held.append(abs(shot.effective.value - truth.effective) < 1.96 * u)
    assert len(held) == 48
    assert np.mean(held) > 0.85  # 95 % less thrice the binomial scatter of 48


def test_a_calibrated_input_narrows_the_uncertainty_and_holds_the_truth():
    calibration = calibrate_input(torch((5.0,), 1e-3))
    fired = firings((0.12,))
    bench = Bench(fired, rate=RATE, sigma=0.0, amplitude=AMPLITUDE, seconds=1.4)
    recording = behind(bench, (5.0,), 2e-2, seed=1)
    (alone,), (known,) = analyse(recording).shots, analyse(recording, calibrated=calibration).shots
    before, after = (
        next(c.u for c in shot.effective.budget if c.name == "high-pass") for shot in (alone, known)
    )
    assert after < 0.3 * before
    assert abs(known.effective.value - fired[0].effective) < 3 * known.effective.u


def test_the_calibration_of_another_input_is_left_out_and_that_is_told():
    other = calibrate_input(torch((12.0,), 1e-3))
    fired = firings((0.12,))
    bench = Bench(fired, rate=RATE, sigma=0.0, amplitude=AMPLITUDE, seconds=1.4)
    read = analyse(behind(bench, (5.0,), 1e-3), calibrated=other)
    assert abs(read.shots[0].effective.value - fired[0].effective) < 3 * read.shots[0].effective.u
    assert any("says otherwise" in note for note in read.notes)


@pytest.mark.parametrize("corners_hz", [(0.5,), (5.0,), (20.0, 1.0)])
@pytest.mark.parametrize("seconds", [0.004, 0.03, 0.12])
def test_light_that_came_through_no_capacitor_is_not_put_back_as_if_it_had(corners_hz, seconds):
    fired = firings((seconds,) * 3)
    bench = Bench(fired, rate=RATE, sigma=0.0, amplitude=AMPLITUDE, seconds=fired[-1].at + 1.5 + seconds)
    read = analyse(behind(bench, (), 1e-3), calibrated=calibrate_input(torch(corners_hz, 1e-3)))
    assert (read.coupling, uses_calibration(read)) == ("DC", False)
    for shot, truth in zip(read.shots, fired, strict=True):
        assert abs(shot.effective.value - truth.effective) < 3 * shot.effective.u
    assert any("nothing in this recording sags" in warning for warning in read.warnings)


@pytest.mark.parametrize("noise", [1e-3, 5e-2])
def test_a_calibration_serves_where_the_darkness_alone_tells_little(noise):
    calibration = calibrate_input(torch((0.1,), 1e-3))
    fired = firings((0.004,) * 3)
    bench = Bench(fired, rate=RATE, sigma=0.0, amplitude=AMPLITUDE, seconds=fired[-1].at + 1.5)
    read = analyse(behind(bench, (0.1,), noise, seed=7), calibrated=calibration)
    assert (read.coupling, uses_calibration(read)) == ("AC", True)
    for shot, truth in zip(read.shots, fired, strict=True):
        assert abs(shot.effective.value - truth.effective) < 3 * shot.effective.u


def test_a_saved_calibration_is_what_it_was():
    found = calibrate_input(torch((20.0, 1.0), 1e-3))
    again = InputCalibration.from_mapping(json.loads(json.dumps(found.to_json(), allow_nan=False)))
    assert (again.corners.a, again.corners.b) == (found.corners.a, found.corners.b)
    assert np.allclose(again.corners.covariance[:2, :2], found.corners.covariance[:2, :2])


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"calibration": "clock"}, "no calibration of an input"),
        ({"sum_per_s": "x"}, "no figure at 'sum_per_s'"),
        ({"sum_per_s": -1.0}, "a figure that can't be"),
        ({"covariance": [[1.0]]}, "a figure that can't be"),
        ({"covariance": [[1.0], 2.0]}, "no figure at 'covariance'"),
        ({"covariance": [[-1.0, 0.0], [0.0, 1.0]]}, "a figure that can't be"),
        ({"steps": None}, "no figure at 'steps'"),
    ],
)
def test_a_calibration_that_cannot_be_is_refused(change, says):
    saved = calibrate_input(torch((20.0,), 1e-3)).to_json() | change
    with pytest.raises(ValueError, match=says):
        InputCalibration.from_mapping(saved)


def test_a_calibration_that_lacks_a_figure_says_which():
    saved = calibrate_input(torch((20.0,), 1e-3)).to_json()
    del saved["product_per_s2"]
    with pytest.raises(ValueError, match="lacks 'product_per_s2'"):
        InputCalibration.from_mapping(saved)


def test_a_corner_is_rounded_to_the_digits_that_its_uncertainty_carries():
    text = calibrate_input(torch((5.0,), 1e-3)).corners_text
    value, half = text.removesuffix(" Hz").split(" ± ")
    assert len(value.partition(".")[2]) == len(half.partition(".")[2])
    assert len(half.replace(".", "").lstrip("0")) == 2
    assert abs(float(value) - 5.0) < 2 * float(half)
