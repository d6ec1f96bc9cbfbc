"""
A stage before the converter that is driven to its stop, behind capacitors and without.

The light is that of closed forms (`lightcurves`), the capacitors are SciPy's Butterworth high-pass of first
order; neither shares code with the analysis.
"""

import numpy as np
import pytest
from scipy import signal

from instruments.lightcurves import Bench, Firing, as_recording
from pegwood.instruments.shutter import ShutterResult, analyse

RATE = 48_000.0
SIGMA = 0.005  # of full light


def driven(
    times: float,
    duration_s: float,
    corners_hz: tuple[float, ...] = (),
    *,
    behind: float = 0.3,
    ripple: float = 0.0,
    sigma: float = SIGMA,
    full_scale: bool = False,
    sign: int = 1,
    seed: int = 3,
) -> tuple[tuple[Firing, ...], ShutterResult]:
    """Three firings whose highest reading is so many times the stop; `behind` is the noise after it."""
    rng = np.random.default_rng(seed)
    edge = min(0.0025, 0.3 * duration_s)
    fired = tuple(
        Firing(
            0.6 + i * (duration_s + 1.2),
            edge * rng.uniform(0.8, 1.2),
            duration_s - edge,
            edge * rng.uniform(0.8, 1.2),
            "smoothstep",
        )
        for i in range(3)
    )
    light = Bench(fired, rate=RATE, sigma=0, amplitude=1.0, ripple=ripple, seed=seed).samples()
    for corner_hz in corners_hz:
        light = signal.sosfilt(signal.butter(1, corner_hz, "highpass", fs=RATE, output="sos"), light)
    noise = sigma * rng.standard_normal((2, len(light)))
    stop = float(light.max()) / times
    came = np.clip(light + noise[0] * (1 - behind**2) ** 0.5, -stop, stop) + behind * noise[1]
    if full_scale:
        came = np.clip(came, -stop, stop) * 2
    return fired, analyse(as_recording(sign * 0.5 * came / stop, RATE, "PCM_24"))


@pytest.mark.parametrize(
    ("times", "duration_s", "corners_hz", "behind"),
    [(1.1, 1 / 8, (1.0,), 0.3), (1.3, 1 / 30, (5.0,), 1.0), (1.3, 1 / 30, (20.0, 1.0), 1.0)],
)
@pytest.mark.parametrize("sign", [1, -1])
def test_light_that_stands_still_behind_a_capacitor_is_refused(times, duration_s, corners_hz, behind, sign):
    _, read = driven(times, duration_s, corners_hz, behind=behind, sign=sign)
    assert not read.shots
    assert len(read.unread) == 3
    assert all("driven to its stop" in reason for _, _, reason in read.unread)


@pytest.mark.parametrize(
    ("duration_s", "corners_hz"), [(1 / 30, (1.0,)), (1 / 125, (5.0,)), (1 / 8, (20.0,))]
)
def test_light_that_does_not_reach_the_stop_is_measured(duration_s, corners_hz):
    fired, read = driven(0.5, duration_s, corners_hz)
    assert (read.coupling, len(read.shots)) == ("AC", 3)
    for firing, shot in zip(fired, read.shots, strict=True):
        assert abs(shot.effective.value - firing.effective) < 3 * shot.effective.u


@pytest.mark.parametrize("seed", range(6))
def test_a_rippling_lamp_that_holds_against_the_sag_is_not_taken_for_a_stop(seed):
    """1 % at 100 Hz rises as fast as 1 Hz sags."""
    _, read = driven(0.5, 1 / 30, (1.0,), ripple=0.01, sigma=0.001, seed=seed)
    assert len(read.shots) == 3


def test_firings_too_short_to_show_a_stop_show_it_together():
    _, read = driven(1.3, 1 / 500)
    assert len(read.shots) == 3
    for shot in read.shots:
        assert shot.efficiency is None
        assert "clipping" in {part.name for part in shot.effective.budget}
        assert any("clipped" in warning for warning in shot.warnings)


@pytest.mark.parametrize("corners_hz", [(1.0,), (5.0,), (20.0,), (20.0, 1.0)])
@pytest.mark.parametrize("duration_s", [1 / 500, 1 / 8])
def test_full_scale_behind_a_capacitor_is_said_first_of_all(duration_s, corners_hz):
    for times in (1.1, 2.0):
        _, read = driven(times, duration_s, corners_hz, full_scale=True)
        assert not read.shots
        assert "reaches full scale" in read.warnings[0]
