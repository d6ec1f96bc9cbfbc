"""
Blades that reopen: what that adds is in the effective time, with its noise, behind capacitors as without.

The light is that of closed forms (`lightcurves`: the bounce is half a sine), the capacitors are SciPy's
Butterworth high-pass of first order; neither shares code with the analysis.
"""

import numpy as np
import pytest
from scipy import signal

from instruments.lightcurves import EDGES, Bench, Firing
from pegwood.instruments.recordings import held
from pegwood.instruments.shutter import Shot, analyse

RATE = 48_000.0

# delay, duration [s], height: some come while an undershoot recovers faster than they fall
BOUNCES = ((0.001, 0.001, 0.2), (0.005, 0.002, 0.4), (0.003, 0.004, 0.3), (0.004, 0.003, 0.12))


def reopening(
    corners_hz: tuple[float, ...], duration_s: float, sigma: float, seed: int
) -> list[tuple[Firing, Shot]]:
    """Four firings, each with its bounce, and what was measured of those that were."""
    rng = np.random.default_rng(seed)
    fired, at = [], 0.6
    for bounce in BOUNCES:
        opening, closing = rng.uniform(0.15, 0.3, 2) * min(duration_s, 5e-3)
        plateau = duration_s - (opening + closing) / 2
        fired.append(Firing(at, opening, plateau, closing, str(rng.choice(list(EDGES))), bounces=(bounce,)))
        at += duration_s + rng.uniform(0.6, 1.0)
    light = Bench(tuple(fired), rate=RATE, sigma=0).samples()
    for corner_hz in corners_hz:
        light = signal.sosfilt(signal.butter(1, corner_hz, "highpass", fs=RATE, output="sos"), light)
    readings = light + 0.5 * sigma * rng.standard_normal(len(light))
    read = analyse(held(readings.astype(np.float32)[:, None], RATE, "bounces", full_scale=1.0))
    return [(min(fired, key=lambda firing: abs(firing.at - shot.at_s)), shot) for shot in read.shots]


@pytest.mark.parametrize("corners_hz", [(), (1.0,), (4.0,), (20.0,), (20.0, 1.0), (5.0, 3.0)])
@pytest.mark.parametrize("duration_s", [1 / 500, 1 / 60, 1 / 8])
def test_what_a_bounce_adds_is_counted_behind_any_input(duration_s, corners_hz):
    measured = reopening(corners_hz, duration_s, 0.005, seed=4)
    assert len(measured) == len(BOUNCES)
    for firing, shot in measured:
        assert shot.bounce
        assert abs(shot.effective.value - firing.effective) < 3 * shot.effective.u
        _, length, height = firing.bounces[0]
        assert shot.bounce_extra_s == pytest.approx(2 / np.pi * length * height, rel=0.1)


@pytest.mark.slow
@pytest.mark.parametrize("corners_hz", [(), (5.0,), (20.0, 1.0)])
def test_the_noise_of_a_bounce_is_in_the_budget(corners_hz):
    """192 firings each: the 95 % intervals hold the truth as often as the binomial distribution allows."""
    z = [
        (shot.effective.value - firing.effective)
        # the simulated clock is exact, so its part of the budget would only flatter
        / np.sqrt(sum(part.u**2 for part in shot.effective.budget if part.name != "clock"))
        for duration_s in (1 / 500, 1 / 60, 1 / 8)
        for sigma in (0.003, 0.02)
        for seed in range(8)
        for firing, shot in reopening(corners_hz, duration_s, sigma, seed)
    ]
    assert len(z) > 190
    share = np.mean(np.abs(z) < 1.96)
    assert abs(share - 0.95) < 0.02 + 2 * np.sqrt(0.95 * 0.05 / len(z))
    assert 0.8 < np.sqrt(np.mean(np.square(z))) < 1.2
