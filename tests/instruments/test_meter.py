"""Error of a meter over its range: held to NIST's Norris data, to numpy's own fit and to closed forms."""

import io
import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import integrate, optimize, stats

from instruments.meters import Bench, table
from instruments.test_fitting import NORRIS_X, NORRIS_Y
from pegwood.instruments.meter import (
    Against,
    Calibration,
    Readings,
    analyse_meter,
    best_shift,
    best_stretch,
    default_limits,
    division_of,
    readings_of,
)
from pegwood.instruments.meter._grouped import fit_grouped
from pegwood.instruments.meter.regression import ErrorFit, fit_error
from pegwood.instruments.readings import RefusedReadings, open_figures


def read(text, **how):
    return readings_of(open_figures(io.BytesIO(text.encode()), "readings.csv"), **how)


def held(light, shown, way=None, division=0.0):
    light = np.asarray(light, dtype=float)
    way = np.zeros(light.size) if way is None else np.asarray(way, dtype=float)
    both = bool((way > 0).any() and (way < 0).any())
    return Readings(
        light, np.asarray(shown, dtype=float), way, np.full(light.size, division),
        tuple(range(2, light.size + 2)),
        one_way="" if both else "nobody said",
    )  # fmt: skip


SIX = Bench((3, 5, 8, 10, 13, 15))


def sound(scatter=0.05, seed=1, bench=SIX, **error):
    rng = np.random.default_rng(seed)
    light, way = bench.light, bench.way
    shown = (
        light + error.get("offset", 0) + error.get("slope", 0) * (light - 9) + error.get("apart", 0) * way / 2
    )
    return held(light, shown + rng.normal(0, scatter, light.size), way)


# --- the fit --------------------------------------------------------------------------------------


def test_norris_comes_out_as_certified():
    # NIST StRD, Norris: B0 -0.262323073774029 (0.232818234301152), B1 1.00211681802045
    # (0.000429796848199937), residual 0.884796396144373. The slope told here is less one, the
    # error at zero is B0.
    x, y = (np.array(text.split(), dtype=float) for text in (NORRIS_X, NORRIS_Y))
    fit = fit_error(held(x, y), ("level", "slope"))
    slope, at_zero = fit.slope(), fit.at(0.0)
    assert slope.value + 1 == pytest.approx(1.00211681802045, rel=1e-11)
    assert slope.u == pytest.approx(0.000429796848199937, rel=1e-9)
    assert at_zero.value == pytest.approx(-0.262323073774029, rel=1e-9)
    assert at_zero.u == pytest.approx(0.232818234301152, rel=1e-9)
    assert (fit.scatter, fit.scatter_df) == (pytest.approx(0.884796396144373, rel=1e-11), 34)


def test_offset_slope_and_curvature_agree_with_numpys_polynomial():
    light = np.array([4.0, 6, 8, 10, 12, 14])
    shown = light + np.array([0.31, 0.12, 0.18, 0.02, 0.21, 0.27])
    result = analyse_meter(held(light, shown), Against(reference_u=0.0))
    parts, cover = np.polyfit((light - 9) / 5, shown - light, 2, cov=True)  # cov scaled by the residuals
    assert result.offset.value == pytest.approx(parts[2], abs=1e-12)
    assert result.offset.u == pytest.approx(math.sqrt(cover[2, 2]), rel=1e-9)
    assert result.slope.value == pytest.approx(parts[1] / 5, abs=1e-12)
    assert result.slope.u == pytest.approx(math.sqrt(cover[1, 1]) / 5, rel=1e-6)
    assert result.curvature.value == pytest.approx(parts[0], abs=1e-12)
    assert result.curvature.u == pytest.approx(math.sqrt(cover[0, 0]), rel=1e-9)
    low, high = result.offset.coverage_interval()
    assert (high - low) / 2 == pytest.approx(3.1824 * result.offset.u, rel=1e-4)  # Student's t, 3 df: 3.1824


def test_hysteresis_is_the_mean_of_up_less_down():
    # the same levels both ways: the mean difference, u = 2 s / sqrt(n)
    readings = sound(apart=-0.2, offset=0.4)
    result = analyse_meter(readings)
    up, down = readings.error[:6], readings.error[6:]
    assert result.hysteresis.value == pytest.approx(up.mean() - down.mean(), abs=1e-12)
    assert result.hysteresis.u == pytest.approx(2 * result.scatter_ev / math.sqrt(12), rel=1e-9)


def test_what_is_wrong_with_all_readings_alike_goes_into_the_offset_and_nowhere_else():
    readings = sound(offset=0.3, apart=0.1)
    good, poor = (analyse_meter(readings, Against(reference_u=u)) for u in (0.0, 0.2))
    assert poor.offset.u == pytest.approx(math.hypot(good.offset.u, 0.2), rel=1e-9)
    assert (poor.slope, poor.hysteresis, poor.curvature) == (good.slope, good.hysteresis, good.curvature)
    moved = analyse_meter(replace(readings, reference=readings.reference + 0.2), Against(reference_u=0.0))
    assert moved.offset.value == pytest.approx(good.offset.value - 0.2, abs=1e-9)
    assert moved.slope.value == pytest.approx(good.slope.value, abs=1e-9)
    tilted = analyse_meter(readings, Against(reference_u=0.0, reference_slope_u=0.01))
    assert tilted.slope.u == pytest.approx(math.hypot(good.slope.u, 0.01), rel=1e-9)
    assert tilted.offset == good.offset


def test_the_colour_of_the_light_is_taken_off_with_its_uncertainty():
    from pegwood.instruments.uncertainty import Measured

    readings = sound(offset=0.5)
    plain = analyse_meter(readings, Against(reference_u=0.0))
    corrected = analyse_meter(readings, Against(reference_u=0.0, colour=Measured(0.3, 0.1)))
    assert corrected.offset.value == pytest.approx(plain.offset.value - 0.3, abs=1e-12)
    assert corrected.offset.u == pytest.approx(math.hypot(plain.offset.u, 0.1), rel=1e-9)
    assert corrected.slope == plain.slope
    assert corrected.shift.shift.value == pytest.approx(plain.shift.shift.value + 0.3, abs=1e-12)
    assert corrected.stretch.shift == pytest.approx(plain.stretch.shift + 0.3, abs=1e-9)


def test_an_error_that_bends_at_one_end_is_followed():
    light = np.arange(3.0, 18)
    bend = -0.8 * np.maximum(0, 7 - light) ** 2 / 16
    rng = np.random.default_rng(4)
    fit = fit_error(
        held(np.tile(light, 2), np.tile(light + bend, 2) + rng.normal(0, 0.04, 30), [1] * 15 + [-1] * 15)
    )
    assert "low bend" in fit.terms
    at = fit.at(10.0)
    assert abs(at.value) < at.coverage_factor() * at.u
    assert fit.at(3.0).value == pytest.approx(-0.8, abs=0.1)


def test_levels_that_are_off_by_themselves_count_once():
    # filters off by 0.15 EV each, read twice within 0.01: as many independent readings as there are filters
    rng = np.random.default_rng(5)
    light = np.arange(3.0, 15)
    wrong = rng.normal(0, 0.15, 12)
    fit = fit_error(
        held(np.tile(light, 2), np.tile(light + wrong, 2) + rng.normal(0, 0.01, 24), [1] * 12 + [-1] * 12)
    )
    assert fit.how == "by levels"
    x = (light - light.mean()) / 5.5
    parts, cover = np.polyfit(x, fit_means(fit, light, wrong), 2, cov=True)
    assert fit.slope().u == pytest.approx(math.sqrt(cover[1, 1]) / 5.5, rel=0.1)
    assert fit.hysteresis().u < 0.01
    assert abs(fit.slope().value - parts[1] / 5.5) < 0.002


def fit_means(_, light, wrong):
    return wrong


# --- readings rounded to a scale's divisions ------------------------------------------------------


def test_rounding_is_reckoned_as_by_direct_integration():
    # five readings of a level, all on one mark: posterior over level and scatter by quadrature, scatter's
    # prior flat in its logarithm from a twentieth of the division on
    fit = fit_grouped(np.ones((5, 1)), np.zeros(5), np.ones(5))
    sigma = np.geomspace(0.05, 300, 600)[:, None]
    level = np.linspace(-20, 20, 8001)
    inside = stats.norm.cdf((0.5 - level) / sigma) - stats.norm.cdf((-0.5 - level) / sigma)
    of_level = integrate.trapezoid(inside**5, np.log(sigma[:, 0]), axis=0)
    up_to = integrate.cumulative_trapezoid(of_level, level, initial=0)
    half = np.interp(0.975, up_to / up_to[-1], level)
    low, high = fit.of([1.0], "readings").coverage_interval()
    assert (high - low) / 2 == pytest.approx(half, rel=0.05)


def test_fine_divisions_give_what_student_gives():
    rng = np.random.default_rng(2)
    y = np.round(rng.normal(0.3, 0.2, 12) / 0.01) * 0.01
    fit = fit_grouped(np.ones((12, 1)), y, np.full(12, 0.01))
    low, high = fit.of([1.0], "readings").coverage_interval()
    expected = stats.t.interval(0.95, 11, y.mean(), stats.sem(y))  # Student
    assert (low, high) == pytest.approx(expected, abs=0.01)


def test_an_offset_hidden_by_coarse_divisions_is_not_told_as_none():
    # every reading on its mark: the needle may stand anywhere within half a division of it
    light = np.arange(4.0, 14)
    result = analyse_meter(held(light, light, division=0.5), Against(reference_u=0.0))
    low, high = result.offset.coverage_interval()
    assert low < -0.08
    assert high > 0.08
    assert result.offset.u > 0.02


def test_the_same_readings_give_the_same_figures():
    readings = held(SIX.light, np.round(3 * (SIX.light + 0.2)) / 3, SIX.way, 1 / 3)
    assert analyse_meter(readings).to_json() == analyse_meter(readings).to_json()


@pytest.mark.parametrize(
    ("values", "step"),
    [
        ([4, 6, 9], 1),
        ([4.5, 6, 9], 1 / 2),
        ([4.3, 6.7, 9], 1 / 3),
        ([4.33, 6.67, 9], 1 / 3),
        ([4.25, 6, 9], 1 / 4),
        ([4.2, 6, 9], 1 / 5),
        ([4.1, 6.4, 9], 1 / 10),
        ([4.123, 6.4, 9], 0),
    ],
)
def test_the_step_of_the_scale_is_found_from_the_figures(values, step):
    assert division_of(values) == pytest.approx(step)


# --- what to turn ---------------------------------------------------------------------------------


def test_the_shift_is_the_midrange_and_nothing_does_better():
    fit = fit_error(sound(offset=0.3, slope=0.04))
    shift = best_shift(fit, None)
    where = np.linspace(3, 15, 4001)
    error = fit.curve(where)
    assert shift.shift.value == pytest.approx(-(error.max() + error.min()) / 2, abs=1e-3)
    search = optimize.minimize_scalar(lambda s: np.abs(error + s).max(), bounds=(-2, 2), method="bounded")
    assert shift.worst_after == pytest.approx(search.fun, abs=1e-3)
    assert shift.speed_factor == pytest.approx(2**shift.shift.value)


def test_two_adjusters_leave_half_of_a_bow():
    # Chebyshev: the best line to c x^2 on -1..1 is c/2, and c/2 remains
    light = np.linspace(4, 14, 9)
    fit = fit_error(
        held(light, light + 0.1 + 0.02 * (light - 9) + 0.4 * ((light - 9) / 5) ** 2 + 1e-9 * (light % 2))
    )
    two = best_stretch(fit, None)
    assert two.worst_after == pytest.approx(0.2, abs=1e-3)
    assert two.shift == pytest.approx(-0.3, abs=1e-3)
    assert two.tilt == pytest.approx(-0.02, abs=1e-4)


def test_half_of_the_hysteresis_remains_whatever_is_turned():
    readings = sound(scatter=0.001, apart=-0.4, offset=0.3)
    result = analyse_meter(readings)
    assert result.shift.worst_after == pytest.approx(0.2, abs=0.01)
    assert result.shift.shift.value == pytest.approx(-0.3, abs=0.01)
    assert result.shift.thirds == -1
    (says,) = [line for line in result.advice if "trim" in line and "EV less" in line]
    assert "shows 0.30 EV less" in says
    assert "1 third lower" in says


def test_a_meter_that_is_right_is_left_alone():
    result = analyse_meter(sound(scatter=0.03), Against(reference_u=0.03))
    assert result.verdict == "within"
    assert "do not turn anything" in result.advice[0]


# --- verdicts -------------------------------------------------------------------------------------


def test_verdicts_name_the_limit_and_whose_it_is():
    limits = default_limits()
    assert (limits.error.low, limits.error.high, limits.error.mark) == (-0.5, 0.5, "practice")
    far = analyse_meter(sound(offset=1.0), Against(reference_u=0.05))
    assert far.verdict == "outside"
    near = analyse_meter(sound(offset=0.5), Against(reference_u=0.05))
    assert near.verdict == "too close to call"
    apart = analyse_meter(sound(apart=-0.6), Against(reference_u=0.05))
    assert {one.what: one.verdict for one in apart.judged}["hysteresis"] == "outside"
    assert apart.verdict == "outside"


# --- readings as somebody types them --------------------------------------------------------------

GOOD = table(SIX.light, SIX.light + 0.5, SIX.way)


def test_a_table_as_it_is_typed():
    readings = read("reference_cd_m2;shown_ev;direction\n4;5,3;up\n64;9 2/3;up\n4096;EV 15;up\n64;9,3;down\n")
    assert readings.reference == pytest.approx([5, 9, 15, 9])  # with K = 12.5 at ISO 100
    assert readings.shown == pytest.approx([5 + 1 / 3, 9 + 2 / 3, 15, 9 + 1 / 3])
    assert list(readings.direction) == [1, 1, 1, -1]
    lux = read("reference_lx,shown_ev\n80,5\n1280,9\n81920,15\n")
    assert lux.reference == pytest.approx([5, 9, 15])  # with C = 250
    assert read("reference_fc,shown_ev\n7.4322432,5\n", calibration=Calibration()).reference == pytest.approx(
        [5]
    )


def test_a_matched_needle_is_told_by_stop_and_time():
    # f/11 is 2**3.5 and 1/60 is 1/64: 7 and 6 EV; f/8 is 6 EV, 1/125 is 7; 1/50 is two thirds above 1/32
    readings = read(
        "reference_ev,shown_f_number,shown_time\n13,f/11,1/60\n6,8,1\n13,8,1/125 s\n11.7,8,1/50\n4,2,off\n"
    )
    assert readings.shown == pytest.approx([13, 6, 13, 6 + 5 + 2 / 3])
    assert readings.division == pytest.approx(1 / 3)
    assert "Line 6" in readings.warnings[0]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("reference_ev,shown_f_number\n4,8\n", "no column 'shown_time'"),
        ("reference_ev,shown_f_number,shown_time\n4,8,1/0\n", "no time"),
        ("reference_ev,shown_f_number,shown_time\n4,f/0,1\n", "no stop"),
        ("reference_ev,shown_ev,shown_f_number,shown_time\n4,4,8,1\n", "twice"),
        ("shown_ev\n4\n5\n", "no column reference_ev"),
        ("reference_ev\n4\n5\n", "no column shown_ev"),
        ("reference_ev,reference_lx,shown_ev\n4,40,4\n", "say the same thing twice"),
        ("reference_ev,shown_ev\n4,4\n64 cd/m2,9\n", "line 3: reference_ev: .*one unit for all"),
        ("reference_ev,shown_ev\n4,4\n4096,15\n", "line 3: .*cd/m2 or lx"),
        ("reference_cd_m2,shown_ev\n0,4\n", "above zero"),
        ("reference_cd_m2,shown_ev\n-3,4\n", "above zero"),
        ("reference_lx,shown_ev\n5 ft,4\n", "one unit for all"),
        ("reference_cd_m2,shown_ev\nEV 5,4\n", "one unit for all"),
        ("reference_ev,shown_ev\ninf,4\n", "is no light"),
        ("reference_ev,shown_ev\nnan,4\n", "Can't read"),
        ("reference_ev,shown_ev\n,4\n", "is no light"),
        ("reference_ev,shown_ev,direction\n4,4,sideways\n", "no direction"),
        ("reference_ev,shown_ev\n4,9 4/3\n", "9 1/3"),
        ("reference_ev,shown_ev,division_ev\n4,4,-1\n", "no step"),
        ("reference_ev,shown_ev\n4,off\n5,off\n", "no reading is left"),
        ("reference_ev,shown_ev\n4,9\n6,9\n8,9\n10,9\n", "no reading is left"),
        ("", "no readings"),
    ],
)
def test_what_cannot_be_read_is_one_line_with_the_remedy(text, says):
    with pytest.raises(RefusedReadings, match=says) as refused:
        read(text)
    assert "\n" not in str(refused.value)


def test_a_reading_beyond_the_scale_is_left_out_and_said():
    readings = read("reference_ev,shown_ev\n2,<4\n4,4.1\n6,6\n8,8.2\n10,10.1\n18,off\n")
    assert readings.reference.size == 4
    assert [line.split(":")[0] for line in readings.warnings] == ["Line 2", "Line 7"]
    ends = read("reference_ev,shown_ev\n2,4\n5,5.1\n6,6\n8,8.2\n10,10.1\n18,17\n", scale=(4, 17))
    assert list(ends.reference) == [5, 6, 8, 10]
    with pytest.raises(RefusedReadings, match="from low to high"):
        read(GOOD, scale=(17, 4))


def test_a_needle_at_its_stop_is_found():
    readings = read("reference_ev,shown_ev\n9,9.1\n11,11\n13,13.2\n15,15\n17,17\n18,17\n19,17\n")
    assert list(readings.reference) == [9, 11, 13, 15]
    assert "Lines 6, 7, 8 all show EV 17" in readings.warnings[0]


def test_a_slip_of_the_pen_is_named_by_its_line():
    readings = sound(scatter=0.05, seed=3)
    shown = readings.shown.copy()
    shown[4] += 1.0
    (told,) = [
        line for line in analyse_meter(replace(readings, shown=shown)).warnings if "off the others" in line
    ]
    assert told.startswith("Line 6: ")
    strays = [
        line for seed in range(200) for line in analyse_meter(sound(seed=seed)).warnings if "off the" in line
    ]
    assert len(strays) <= 8  # one set of a hundred, by Bonferroni; 8 of 200 has a chance of 1 in 2000


def test_too_many_readings_are_refused():
    with pytest.raises(RefusedReadings, match="more than 500"):
        read("reference_ev,shown_ev\n" + "9,9.1\n" * 501)


def test_two_readings_are_refused_with_the_remedy():
    result = analyse_meter(read("reference_ev,shown_ev\n5,5.3\n12,12.4\n"))
    assert (result.offset, result.slope, result.hysteresis, result.shift) == (None, None, None, None)
    assert result.pattern.name == "cannot tell"
    assert result.verdict == "too close to call"
    assert "2 readings at 2 levels" in result.warnings[0]
    assert "at least 5 levels" in result.warnings[0]


def test_one_level_gives_an_offset_and_no_slope():
    result = analyse_meter(
        read("reference_ev,shown_ev\n9,9.31\n9,9.28\n9,9.33\n9,9.3\n"), Against(reference_u=0.0)
    )
    assert result.offset.value == pytest.approx(0.305, abs=1e-9)
    assert result.slope is None
    assert any(line.startswith("slope:") for line in result.warnings)


def test_three_readings_are_told_with_all_their_doubt():
    result = analyse_meter(read("reference_ev,shown_ev\n5,5.31\n9,9.28\n13,13.4\n"), Against(reference_u=0.0))
    assert result.slope.df == 1
    low, high = result.slope.coverage_interval()
    assert (high - low) / 2 == pytest.approx(12.7062 * result.slope.u, rel=1e-4)  # Student's t, 1 df
    assert any(line.startswith("curvature:") for line in result.warnings)


@pytest.mark.parametrize(
    ("ways", "says"),
    [
        ("uuuuuuuuuuuu", "only raised"),
        ("dddddddddddd", "went the other way"),
        ("uuuuuu------", "only raised"),
        ("------------", "nobody said"),
        ("uudduuuudddd", "went the other way"),
        ("uuuuuud-----", "too few readings"),
    ],
)
def test_directions_that_cannot_tell_a_hysteresis_say_why(ways, says):
    way = [{"u": 1, "d": -1, "-": 0}[one] for one in ways]
    light = SIX.light if ways[-1] != "u" else np.concatenate([SIX.light[:6], SIX.light[:6] + 0.5])
    if ways[-1] == "u":
        light = np.sort(light)
    result = analyse_meter(read(table(light, light + 0.3, way)))
    assert result.hysteresis is None
    assert any(line.startswith("hysteresis:") and says in line for line in result.warnings), result.warnings
    assert result.offset is not None


def test_a_fit_says_what_it_fitted():
    fit = fit_error(sound())
    assert isinstance(fit, ErrorFit)
    assert fit.terms == ("level", "slope", "bow", "way")
    result = analyse_meter(sound())
    assert len(result.curve) == 25
    assert len(result.fitted) == 12
    names = [part.name for part in result.offset.budget]
    assert names == ["readings", "reference"]
    assert result.offset.budget[1].mark == "practice"
