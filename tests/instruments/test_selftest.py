"""
Tests of a chain without reference gear: discs and screens whose light is a closed form, good and bad ones.
"""

from __future__ import annotations

import json
import math

import numpy as np
import pytest

from pegwood.instruments.recordings import RefusedRecording
from pegwood.instruments.shutter import Disc, analyse, check_disc, check_screen
from pegwood.instruments.uncertainty import Component, Measured, combine

from .discs import Turning, below
from .lightcurves import as_recording


def mm(value: float, u: float = 0.05) -> Measured:
    return combine(value / 1e3, [Component("ruler", u / 1e3)])


def disc_of(turning: Turning, u: float = 0.05) -> Disc:
    return Disc(mm(turning.slot, u), mm(turning.radius, 4 * u), mm(turning.window, u))


def seen_by(turning: Turning, disc: Disc | None = None):
    return check_disc(analyse(turning.recording()), disc or disc_of(turning))


# --- the disc by itself ---------------------------------------------------------------------------


@pytest.mark.parametrize("slot", [6.0, 10.0, 30.0])
@pytest.mark.parametrize("window", [0.5, 2.0, 5.0])
def test_the_shares_of_a_disc_are_those_of_its_light_integrated(slot, window):
    """Simpson's rule over one turn of the exact light: area of a circle between two lines."""
    angle = np.linspace(-np.pi / 2, np.pi / 2, 200_001)
    middle = 40 * np.sin(angle)
    lit = below(slot / 2 - middle, window / 2) - below(-slot / 2 - middle, window / 2)
    share = np.trapezoid(lit, angle) / (2 * np.pi)
    disc = disc_of(Turning(slot=slot, window=window))
    # the area integral is over lines that turn as the disc does; to second order in w / r both agree
    assert disc.effective_share().value == pytest.approx(share, rel=(window / 40) ** 2 / 8 + 1e-6)
    seen = angle[lit > 0]
    assert disc.total_share().value == pytest.approx((seen[-1] - seen[0]) / (2 * np.pi), abs=1e-5)


def test_a_small_window_on_a_large_disc_is_a_trapezoid():
    """Straight motion past a narrow hole: te = s/v, total (s + w)/v, so te/P = s / 2 pi r (by arithmetic)."""
    disc = Disc(mm(10), mm(1000), mm(0.01))
    assert disc.effective_share().value == pytest.approx(10 / (2 * math.pi * 1000), rel=1e-4)
    assert disc.efficiency().value == pytest.approx(10 / 10.01, rel=1e-6)


def test_points_of_the_window_nearer_the_axis_are_lit_longer():
    """The mean over the window of 2 asin(s / 2q), by adding up a hundred thousand points of it."""
    rng = np.random.default_rng(4)
    x, y = rng.uniform(-7, 7, (2, 400_000))
    q = np.hypot(x, 40 + y)[np.hypot(x, y) < 7]
    expected = np.mean(np.arcsin(15 / (2 * q))) / np.pi
    assert Disc(mm(15), mm(40), mm(14)).effective_share().value == pytest.approx(expected, rel=1e-3)


def test_the_doubt_of_the_measures_is_carried_to_the_share():
    """te/P is s / 2 pi r nearly, so relative uncertainties add in squares (GUM 5.1.6)."""
    disc = Disc(mm(10, 0.1), mm(400, 8), mm(0.1, 0))
    share = disc.effective_share()
    assert share.u / share.value == pytest.approx(math.hypot(0.01, 0.02), rel=1e-3)


@pytest.mark.parametrize(
    ("slot", "radius", "window", "says"),
    [(0, 40, 2, "above zero"), (2, 40, 3, "make the window smaller"), (30, 35, 6, "use a larger disc")],
)
def test_a_disc_that_cannot_be_is_refused(slot, radius, window, says):
    with pytest.raises(ValueError, match=says):
        Disc(mm(slot), mm(radius), mm(window))


# --- good chains ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "turning",
    [
        Turning(),
        Turning(window=5.0),
        Turning(turns_s=5, seconds=3),
        Turning(turns_s=50, seconds=0.6),
        Turning(slot=30, turns_s=10),
        Turning(clock=0.01),
        Turning(rate=48_000, noise=0.01),
    ],
    ids=["usual", "wide window", "slow", "fast", "wide slot", "a clock 1 % off", "noisy"],
)
def test_a_good_chain_passes(turning):
    test = seen_by(turning)
    assert test.against == ()
    assert test.checks[0].outcome == "pass"
    assert test.outcome == "pass"


def test_the_period_is_found_from_the_passes():
    test = seen_by(Turning(turns_s=17.0))
    assert test.period.value == pytest.approx(1 / 17, rel=1e-3)


def test_the_interval_holds_the_truth():
    """
    Thirty chains whose disc was measured with errors of the stated size: 95 % of 30 is 28.5, and 25 or more
    is what chance leaves (binomial, 1.6 in 1000 below).
    """
    rng = np.random.default_rng(17)
    held = 0
    for seed in range(30):
        turning = Turning(turns_s=rng.uniform(10, 30), slot=rng.uniform(8, 14), seed=seed, seconds=1.2)
        off = rng.normal(0, 1, 3) * (0.1, 0.4, 0.1)
        disc = Disc(
            mm(turning.slot + off[0], 0.1), mm(turning.radius + off[1], 0.4), mm(turning.window + off[2], 0.1)
        )
        low, high = seen_by(turning, disc).checks[0].error.coverage_interval()
        held += low < 0 < high
    assert held >= 25


# --- bad chains -----------------------------------------------------------------------------------

BAD = {
    "a slow sensor": Turning(lag_s=2e-4),
    "a very slow sensor": Turning(lag_s=1e-3),
    "a sensor slow against a slow disc": Turning(lag_s=1e-3, turns_s=5, seconds=3),
    "a photoresistor": Turning(lag_s=5e-3),
    "AC-coupled at 0.5 Hz": Turning(pole_hz=0.5),
    "AC-coupled at 5 Hz": Turning(pole_hz=5),
    "AC-coupled at 20 Hz": Turning(pole_hz=20),
    "AC-coupled, slow disc": Turning(pole_hz=5, turns_s=5, seconds=3),
    "clipped": Turning(clip=0.8),
    "clipped hard": Turning(clip=0.3),
    "not proportional": Turning(gamma=0.6, window=5.0),
    "saturating a little": Turning(gamma=0.8, window=5.0),
    "a lamp on mains": Turning(flicker=0.4),
    "an uneven motor": Turning(wow=0.15),
    "nothing but noise": Turning(slot=0.001, window=0.0001),
}


@pytest.mark.parametrize("turning", BAD.values(), ids=BAD)
def test_a_bad_chain_does_not_pass(turning):
    disc = disc_of(Turning(window=max(turning.window, 1.0)))
    test = seen_by(turning, disc)
    assert test.outcome != "pass"
    assert test.against or any(check.outcome != "pass" for check in test.checks)


def test_a_disc_measured_wrongly_does_not_pass():
    turning = Turning()
    assert seen_by(turning, disc_of(turning.with_(slot=11.0))).outcome == "does not pass"


def test_a_ruler_that_is_too_coarse_is_too_close_to_call_and_the_remedy_is_said():
    turning = Turning()
    test = seen_by(turning, disc_of(turning, u=0.3))
    assert test.outcome == "too close to call"
    assert any("caliper" in note for note in test.notes)


def test_a_clipped_chain_does_not_pass_whatever_its_figures():
    test = seen_by(Turning(clip=0.8))
    assert test.outcome == "does not pass"
    assert any("cut off" in reason for reason in test.against)


def test_too_few_turns_are_no_test():
    test = seen_by(Turning(seconds=0.3))
    assert test.outcome == "does not pass"
    assert any("are the least" in reason for reason in test.against)


def test_that_the_clock_is_not_tested_is_said():
    assert any("clock is not tested" in note for note in seen_by(Turning()).notes)


def test_the_result_is_strict_json():
    data = json.loads(json.dumps(seen_by(Turning()).to_json(), allow_nan=False))
    assert data["outcome"] == "pass"
    assert {part["name"] for part in data["checks"][0]["budget"]} >= {"slot", "radius", "turning", "period"}


# --- screens --------------------------------------------------------------------------------------


def screen(refresh=75.0, off=0.0, seconds=10.0, rate=48_000, alternate=False, noise=0.05, share=0.3, hum=0.0):
    """Light that is on for a share of each refresh, by a recorder whose clock is `off` (relative, fast)."""
    rng = np.random.default_rng(5)
    t = np.arange(int(seconds * rate)) / (rate * (1 + off))
    phase = (t * refresh + 0.3) % 1
    y = (phase < share).astype(float)
    if alternate:
        y = ((t * refresh / 2 + 0.3) % 1 < 0.5).astype(float)
    y = y + noise * rng.standard_normal(len(t)) + hum * np.sin(2 * np.pi * 60 * t)
    return as_recording(0.3 * y, rate)


@pytest.mark.parametrize("refresh", [59.0, 75.0, 144.0, 239.76])
def test_a_clock_that_is_right_passes(refresh):
    test = check_screen(screen(refresh), refresh)
    assert test.outcome == "pass"
    assert test.period.value == pytest.approx(1 / refresh, rel=1e-4)


def test_black_and_white_in_turn_is_read_as_two_refreshes():
    test = check_screen(screen(75.0, alternate=True), 75.0)
    assert test.outcome == "pass"
    assert any("two refreshes" in note for note in test.notes)


@pytest.mark.parametrize("off", [-0.004, 0.004])
def test_a_clock_that_is_off_does_not_pass_and_the_error_is_found(off):
    """A clock that is fast by 0.4 % counts more samples: the same flicker looks 0.4 % slower."""
    test = check_screen(screen(75.0, off=off), 75.0)
    assert test.outcome == "does not pass"
    assert test.checks[0].found.value == pytest.approx(75.0 / (1 + off), rel=2e-5)
    low, high = test.checks[0].error.coverage_interval()
    assert low - 1e-5 < math.log2(1 / (1 + off)) < high + 1e-5


def test_a_screen_called_60_that_runs_at_59_94_is_told_of():
    test = check_screen(screen(144 / 1.001), 144.0)
    assert test.outcome != "pass"
    assert any("59.94" in note for note in test.notes)


def test_a_rate_of_the_mains_never_passes():
    test = check_screen(screen(60.0), 60.0)
    assert test.outcome == "too close to call"
    assert any("mains" in reason for reason in test.against)


@pytest.mark.parametrize("refresh", [75.0, 144.0])
def test_no_flicker_is_refused(refresh):
    with pytest.raises(RefusedRecording, match="no steady flicker"):
        check_screen(screen(91.3, hum=0.3), refresh)


def test_a_short_recording_of_a_screen_is_refused():
    with pytest.raises(RefusedRecording, match="too short"):
        check_screen(screen(75.0, seconds=2.0), 75.0)


def test_an_impossible_refresh_rate_is_refused():
    with pytest.raises(ValueError, match="No screen is renewed"):
        check_screen(screen(), 5000)
