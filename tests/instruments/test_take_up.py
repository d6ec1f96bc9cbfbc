"""Take-up spool, clutch and friction: spirals in closed form, sums by hand, what is refused."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad

from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.transport.friction import friction, limit_of, limits
from pegwood.instruments.transport.rolls import roll, rolls, thickness
from pegwood.instruments.transport.take_up import take_up
from pegwood.instruments.transport.winding import wound_diameter, wound_turns
from pegwood.instruments.uncertainty import Measured

CORE = Measured(14e-3, 0.05e-3)


def test_a_wound_spool_is_as_thick_as_the_archimedean_spiral_says():
    # r = r0 + h phi / 2 pi; its arc by numerical integration from core to D is the length that was wound
    d, h, length = 14e-3, 0.13e-3, 1.55
    outer = wound_diameter(d, h, length)
    turns = wound_turns(d, h, 0, length)
    assert outer == pytest.approx(d + 2 * h * turns, rel=1e-12)
    arc, _ = quad(
        lambda phi: math.hypot(d / 2 + h * phi / (2 * math.pi), h / (2 * math.pi)), 0, 2 * math.pi * turns
    )
    assert arc == pytest.approx(length, abs=1e-4)


def test_figures_by_hand():
    # d 14 mm, h 0.12 mm, 1 m: 196 + 4 * 0.12 * 1000 / pi = 348.79; D = 18.676 mm; (18.676 - 14) / 0.24 turns
    assert 1e3 * wound_diameter(14e-3, 0.12e-3, 1.0) == pytest.approx(18.676, abs=1e-3)
    assert wound_turns(14e-3, 0.12e-3, 0, 1.0) == pytest.approx(19.483, abs=2e-3)
    # film without thickness: length over circumference
    assert wound_turns(14e-3, 1e-12, 0, 1.0) == pytest.approx(1 / (math.pi * 14e-3), rel=1e-6)


def test_the_clutch_slips_by_the_difference_of_first_and_last():
    result = take_up(CORE, roll("135-36"), drive_turns=1.1)
    assert result.slip.value == pytest.approx(result.first_turns.value - result.last_turns.value)
    assert result.last_slip.value - result.first_slip.value == pytest.approx(result.slip.value)
    assert result.first_turns.value == pytest.approx(result.frames[0].turns, rel=1e-9)
    assert result.last_turns.value == pytest.approx(result.frames[-1].turns, rel=1e-9)
    assert result.full.value == pytest.approx(result.frames[-1].diameter_m, rel=1e-9)
    turns = [one.turns for one in result.frames]
    assert turns == sorted(turns, reverse=True)
    assert len(turns) == 36
    assert result.verdict == "within"


def test_a_drive_that_is_too_slow_is_outside_and_said():
    result = take_up(CORE, roll("135-36"), drive_turns=0.6)
    assert result.verdict == "outside"
    assert any("back up" in line for line in result.warnings)
    near = take_up(CORE, roll("135-36"), drive_turns=take_up(CORE, roll("135-36")).first_turns.value)
    assert near.verdict == "too close to call"


def test_uncertainty_is_that_of_many_drawn_spools():
    rng = np.random.default_rng(2)
    film = replace(roll("135-36"))
    thick = Measured(0.12e-3, 0.01e-3)
    result = take_up(CORE, film, thick=thick)
    last = film.lead_m + film.frames * film.pitch_m
    d, h = rng.normal(CORE.value, CORE.u, 40_000), rng.normal(thick.value, thick.u, 40_000)
    drawn = np.sqrt(d**2 + 4 * h * last / np.pi)
    assert result.full.u == pytest.approx(drawn.std(), rel=0.02)


@pytest.mark.parametrize(("name", "sold"), [("135-36", 36), ("135-24", 24), ("135-12", 12)])
def test_a_roll_holds_what_it_is_sold_for(name, sold):
    low, high = take_up(CORE, roll(name)).expected_frames
    assert low <= sold <= high + 1
    assert name in rolls()


def test_frames_are_counted_by_length():
    # 1.00 m less 0.23 m of lead and tail over 0.038 m: 20.26
    film = replace(roll("135-36"), length=Measured(1.0, 1e-4), pitch_m=0.038)
    result = take_up(CORE, film, counted=15)
    assert result.room.value == pytest.approx(20.263, abs=1e-3)
    assert result.expected_frames == (20, 20)
    assert "too early" in result.counted
    assert "as expected" in take_up(CORE, film, counted=20).counted
    assert "runs on" in take_up(CORE, film, counted=24).counted


def test_thickness_carries_its_source():
    line = thickness().budget[0]
    assert line.source
    assert line.mark == "memory"
    assert {one.name for one in take_up(CORE, roll("135-36")).full.budget} == {"core", "film thickness"}
    assert any(one.source for one in take_up(CORE, roll("135-36")).full.budget)


def test_torque_is_force_times_radius_with_its_budget():
    result = friction([0.8, 0.9, 1.0], 0.010, limit=limit_of("rewind"))
    # mean 0.9 N at 10 mm: 9 mN m; sd 0.1 / sqrt 3 at 10 mm; balance 0.01 / sqrt 3; radius 0.2 mm / sqrt 3
    assert result.torque.value == pytest.approx(9e-3)
    parts = [0.1 / math.sqrt(3) * 0.01, 0.01 / math.sqrt(3) * 0.01, 0.2e-3 / math.sqrt(3) * 0.9]
    assert result.torque.u == pytest.approx(math.hypot(*parts))
    assert result.verdict == "within"
    assert result.limit.high == pytest.approx(0.1)  # GB/T 13985-1992: rewind below 100 mN m (seen)
    assert limit_of("advance-film").high == pytest.approx(0.5)
    assert all(limit_of(one).mark == "seen" for one in limits())


def test_torque_verdicts():
    limit = limit_of("rewind")
    assert friction([20, 20.1, 19.9], 0.010, limit=limit).verdict == "outside"
    assert friction([9, 11, 10], 0.010, limit=limit).verdict == "too close to call"


def test_a_clutch_pulls_less_on_a_full_spool():
    result = friction([1.0, 1.0, 1.0], 0.010, spool_m=(0.014, 0.021))
    assert result.pull_n == pytest.approx((0.010 / 0.007, 0.010 / 0.0105))


def test_one_pull_tells_no_torque():
    result = friction([0.8], 0.010, limit=limit_of("rewind"))
    assert result.torque is None
    assert "three times" in result.warnings[0]


@pytest.mark.slow
def test_intervals_hold_the_torque():
    rng = np.random.default_rng(8)
    held = 0
    cases = 1500
    for _ in range(cases):
        force, radius = rng.uniform(0.3, 5), rng.uniform(5e-3, 40e-3)
        pulls = force + rng.uniform(-0.01, 0.01) + rng.normal(0, 0.04 * force, 5)
        torque = friction(list(np.clip(pulls, 0, None)), radius + rng.uniform(-0.2e-3, 0.2e-3)).torque
        low, high = torque.coverage_interval()
        held += low <= force * radius <= high
    assert 0.93 <= held / cases <= 0.97, held / cases


@pytest.mark.parametrize(
    ("call", "why"),
    [
        (lambda: take_up(Measured(0.5, 0.001), roll("135-36")), "diameter in mm"),
        (lambda: take_up(Measured(0.0, 0.001), roll("135-36")), "diameter in mm"),
        (lambda: take_up(CORE, roll("135-36"), thick=Measured(0.12, 0.01)), "mm thick"),
        (lambda: take_up(CORE, roll("135-36"), drive_turns=-1), "drive"),
        (lambda: take_up(CORE, roll("135-36"), drive_turns=math.nan), "drive"),
        (lambda: take_up(CORE, roll("135-36"), counted=-3), "counted"),
        (lambda: take_up(CORE, replace(roll("135-36"), length=Measured(0.1, 0.01))), "no frame"),
        (lambda: roll("999"), "There are: 135-36"),
        (lambda: limit_of("lever"), "There are: rewind"),
        (lambda: friction([1, 1], 12.0), "in mm, such as 12"),
        (lambda: friction([-1, 1], 0.012), "newtons"),
        (lambda: friction([math.nan, 1], 0.012), "newtons"),
        (lambda: friction([800, 900], 0.012), "newtons"),
    ],
)
def test_what_cannot_be_is_refused(call, why):
    with pytest.raises(RefusedReadings, match=why):
        call()
