"""
What a leaf shutter gives at smaller stops, from its light curve at full aperture.

Checked against closed forms for blades whose clear radius grows evenly, and against the simulated shutter,
whose blades are straight, swing from rest, and are told to work behind the smaller stop itself.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from pegwood.demo.simulator import Converter, LeafShutter, LightGate, record, truth_of
from pegwood.instruments.recordings import RefusedRecording
from pegwood.instruments.shutter import analyse
from pegwood.instruments.shutter.stops import NoFullOpening, effective_at, square_law_effective, stops_below
from pegwood.instruments.uncertainty import Measured

from .lightcurves import Bench, Firing, as_recording

SQUARE = Firing(at=0.3, opening=0.002, plateau=0.006, closing=0.002, edge="square")


def by_integral(total: float, opening: float, closing: float, ratio: float) -> float:
    """
    The integral of min(1, m**2 x**2) over both edges, done by hand.

    A clear radius that grows evenly from 0 to R in the time t reaches R/m at t/m; until then the share
    (m x)**2 of the stop is free, whose integral is t/(3 m); from then on all of it is, for t - t/m.
    """
    lit = sum(edge / (3 * ratio) + edge - edge / ratio for edge in (opening, closing))
    return total - opening - closing + lit


def test_the_square_law_at_full_aperture_as_the_fact_sheet_works_it_out():
    # t0 10, t1 2, t2 2 ms: te 7.3333 ms (house's fact sheet 1.7 and 12, line 4; memory, calculated)
    assert square_law_effective(0.010, 0.002, 0.002, 1) == pytest.approx(7.3333e-3, abs=1e-7)


@pytest.mark.parametrize("ratio", [1, 2**0.5, 2, 4, 8])
def test_the_square_law_is_the_integral_of_what_the_stop_sees(ratio):
    assert square_law_effective(0.010, 0.002, 0.003, ratio) == pytest.approx(
        by_integral(0.010, 0.002, 0.003, ratio)
    )


def test_far_stopped_down_the_effective_time_tends_to_the_total_time():
    # it grows by up to 2/3 (t1 + t2) (house's fact sheet 1.7; memory, calculated)
    assert square_law_effective(0.010, 0.002, 0.002, 1e6) == pytest.approx(0.010, abs=1e-8)


@pytest.mark.parametrize(("ratio", "opening"), [(0.9, 0.002), (2, 0.009)])
def test_what_can_not_be_is_refused(ratio, opening):
    with pytest.raises(ValueError, match=r"f-number|fit"):
        square_law_effective(0.010, opening, 0.002, ratio)


def test_the_stops_are_the_marked_ones_at_their_exact_ratio():
    # exact stops are powers of the root of two (series of 1900; house's fact sheet 4, seen)
    stops = dict(stops_below(2.8))
    assert list(stops) == [2.8, 4, 5.6, 8, 11, 16, 22]
    assert stops[5.6] == pytest.approx(2)
    assert stops[22] == pytest.approx(8)


def test_a_full_aperture_off_the_series_is_taken_at_its_word():
    stops = dict(stops_below(3.5))
    assert list(stops) == [3.5, 4, 5.6, 8, 11, 16, 22]
    assert stops[8] == pytest.approx(8 / 3.5)


@pytest.mark.parametrize("widest", [0, -2.8, 22, math.nan, math.inf])
def test_an_f_number_that_can_not_be_is_refused(widest):
    with pytest.raises(ValueError, match=r"such as 2\.8"):
        stops_below(widest)


@pytest.mark.parametrize("sigma", [0.0005, 0.005, 0.02])
def test_blades_of_the_square_law_come_out_as_the_closed_form(sigma):
    result = analyse(Bench((SQUARE,), sigma=sigma).recording(), widest=2.8)
    for (_, ratio), found in zip(stops_below(2.8), result.at_stops, strict=True):
        truth = by_integral(SQUARE.total, SQUARE.opening, SQUARE.closing, ratio)
        assert abs(found.effective.value - truth) < 3 * found.effective.u
        assert found.effective.u < 0.03 * truth


def test_the_gain_is_in_ev_over_the_full_aperture():
    wide, *_, small = analyse(Bench((SQUARE,), sigma=0.001).recording(), widest=2.8).at_stops
    assert wide.gain_ev == 0
    # log2((10 - 8/3/8) / (10 - 8/3)) by arithmetic from the closed form
    assert small.gain_ev == pytest.approx(math.log2((10 - 8 / 3 / 8) / (10 - 8 / 3)), abs=0.02)


def test_every_figure_carries_what_was_assumed():
    result = analyse(Bench((SQUARE,), sigma=0.002).recording(), widest=2.8)
    for one in result.at_stops[1:]:
        named = {c.name: c for c in one.effective.budget}
        assert named["shape of the opening"].u > 0
        assert named["shape of the opening"].mark == "memory"
        assert named["stop as marked"].mark == "practice"


def test_where_noise_hides_the_foot_the_square_law_stands_in_and_costs():
    result = analyse(Bench((SQUARE,), sigma=0.06).recording(), widest=2.8)
    smallest = result.at_stops[-1]
    growth = next(c for c in smallest.effective.budget if c.name == "growth of the opening")
    assert growth.u > 0
    low, high = smallest.effective.coverage_interval()
    assert low < by_integral(0.010, 0.002, 0.002, 8) < high


def test_light_of_a_bounce_counts_for_more_at_a_smaller_stop():
    bouncing = replace(SQUARE, bounces=((0.001, 0.002, 0.1),))
    plain, bounced = (
        analyse(Bench((one,), sigma=0.001).recording(), widest=2.8).at_stops for one in (SQUARE, bouncing)
    )
    # half a sine of height 0.1: at twice the f-number four times as high, 2/pi x 2 ms x 0.4
    gained = bounced[2].effective.value - plain[2].effective.value
    assert gained == pytest.approx(2 / math.pi * 0.002 * 0.4, rel=0.03)


def test_a_firing_without_a_plateau_is_refused_with_the_reason():
    pointed = Firing(at=0.3, opening=0.002, plateau=0.0, closing=0.002)
    result = analyse(Bench((pointed,)).recording(), widest=2.8)
    assert result.at_stops == ()
    assert any("no plateau" in warning for warning in result.warnings)


def test_a_clipped_plateau_is_refused_with_the_reason():
    result = analyse(Bench((SQUARE,), amplitude=1.6).recording("PCM_16"), widest=2.8)
    assert result.at_stops == ()
    assert any("full-open level" in warning for warning in result.warnings)


def test_a_single_firing_without_full_light_raises():
    pointed = Firing(at=0.3, opening=0.002, plateau=0.0, closing=0.002)
    (shot,) = analyse(Bench((pointed,)).recording()).shots
    with pytest.raises(NoFullOpening):
        effective_at(shot, 2)


def test_nobody_is_given_stops_who_did_not_ask():
    result = analyse(Bench((SQUARE,)).recording())
    assert result.at_stops is None
    assert "at_stops" not in result.to_json()


def test_the_stops_stand_in_the_json_with_their_uncertainty():
    data = analyse(Bench((SQUARE,)).recording(), widest=2.8).to_json()
    assert [one["f_number"] for one in data["at_stops"]] == [2.8, 4, 5.6, 8, 11, 16, 22]
    assert all({"effective_s", "effective_u_s", "gain_ev"} <= set(one) for one in data["at_stops"])


def test_several_firings_share_what_was_assumed():
    five = tuple(replace(SQUARE, at=0.3 + 0.3 * i) for i in range(5))
    one, many = (analyse(Bench(f, sigma=0.002).recording(), widest=2.8).at_stops[1] for f in (five[:1], five))
    u = {name: [c.u for a in (one, many) for c in a.effective.budget if c.name == name] for name in (
        "shape of the opening", "stop as marked")}  # fmt: skip
    for alone, together in u.values():
        assert together == pytest.approx(alone, rel=0.1)


def simulated(rng: np.random.Generator, noise_v: float) -> list[tuple[float, Measured]]:
    """One firing of a straight-bladed shutter: the truth behind each stop, and what was reckoned."""
    stroke = rng.uniform(0.8e-3, 4e-3)
    shutter = LeafShutter(
        blades=int(rng.choice([4, 5, 6, 8])),
        opening_stroke_s=stroke * rng.uniform(0.8, 1.2),
        closing_stroke_s=stroke,
        drag=float(rng.choice([0.0, 0.5, 3.0])),
    )
    firing = shutter.fire(shutter.opening_stroke_s + rng.uniform(0.0002, 0.008))
    made = record([firing], LightGate(converter=Converter(noise_v=noise_v)), rng)
    found = analyse(as_recording(made.samples, made.sample_rate_hz), widest=2.8).at_stops
    pairs: list[tuple[float, Measured]] = []
    if not found:
        return pairs  # refused: noise hides the plateau
    for (_, ratio), one in list(zip(stops_below(2.8), found, strict=True))[1:]:
        # the stop is off its marking by a normal amount of the standard deviation that the budget states
        radius = shutter.clear_radius_m / ratio * math.exp(rng.normal(0, 0.05 / 3**0.5))
        behind = replace(shutter, stop_radius_m=min(radius, shutter.clear_radius_m))
        pairs.append((truth_of(behind.fire(firing.dwell_s), points=40_001).effective_s, one.effective))
    return pairs


def test_the_simulated_shutter_at_each_stop_is_foretold():
    rng = np.random.default_rng(3)
    errors = [m.value / truth - 1 for _ in range(8) for truth, m in simulated(rng, 2e-4)]
    assert np.median(np.abs(errors)) < 0.01


@pytest.mark.slow
@pytest.mark.parametrize("noise_v", [2e-3, 1e-2, 5e-2])
def test_intervals_hold_the_simulated_truth(noise_v):
    rng = np.random.default_rng(round(noise_v * 1e4))
    held = []
    for _ in range(300):
        for truth, m in simulated(rng, noise_v):
            low, high = m.coverage_interval()
            held.append(low < truth < high)
    assert len(held) > 0.97 * 300 * 6
    # six stops of one firing are not independent: the chance of 300 firings
    spread = 2 * math.sqrt(0.95 * 0.05 / 300)
    assert 0.93 - spread <= np.mean(held) <= 0.97 + spread


def test_a_broken_f_number_is_refused_before_the_recording_is_read():
    class Unread:
        def __getattr__(self, name):
            raise RefusedRecording("read")

    with pytest.raises(ValueError, match="expected its f-number"):
        analyse(Unread(), widest=0.0)
