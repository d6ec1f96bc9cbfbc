"""A rangefinder: closed forms, handbook examples, a lever built another way, and what is refused."""

import io
import math
import re
from itertools import pairwise

import numpy as np
import pytest
from scipy.optimize import brentq

from pegwood.instruments.rangefinder import (
    ARCMIN,
    ARCSEC,
    Base,
    Finder,
    Lever,
    Readings,
    acuities,
    acuity,
    analyse_rangefinder,
    circle,
    circles,
    film_error,
    first_order_film_error,
    fit_curve,
    from_the_lens,
    measured_rounds,
    range_error,
    readings_from,
    rounds_needed,
    simulate,
    split_image_base,
    travel,
    vertical_error,
)
from pegwood.instruments.readings import RefusedReadings, open_figures
from pegwood.instruments.uncertainty import Measured
from tests.instruments.test_fitting import NORRIS_X, NORRIS_Y

INF = math.inf
SMALL = Finder(Base(0.040, 0.7), 0.050, 2.0)


def read(offset, gain, at=(INF, 10, 5, 3, 2, 1.5, 1), *, curvature=0.0, scatter=0.0, seed=1, repeats=2):
    """Readings of a finder that is off by known amounts; plain arithmetic in dioptres."""
    rng = np.random.default_rng(seed)
    true = [d for d in at for _ in range(repeats)]
    shown = []
    for d in true:
        v = 1 / d
        w = offset + gain * v + curvature * v * (v - 1 / min(at)) + rng.normal(0, scatter)
        shown.append(1 / w if w > 0 else INF)
    return Readings(tuple(true), tuple(shown))


def dioptres(readings):
    return readings.true_dpt, readings.shown_dpt


# --- closed forms and handbook figures ---


@pytest.mark.parametrize(
    ("focal_mm", "u_m", "is_mm"),
    # x' = f^2 / (u - f), worked out by hand: 2500 / 2950, and figures of the handbook's table for a thin lens
    [(50, 3.0, 0.84746), (50, 10.0, 0.25126), (50, 1.0, 2.63158), (80, 3.0, 2.19178), (135, 3.0, 6.36126)],
)
def test_a_lens_travels_as_the_thin_lens_does(focal_mm, u_m, is_mm):
    assert 1e3 * travel(1 / u_m, focal_mm / 1e3) == pytest.approx(is_mm, abs=1e-5)


def test_the_error_on_the_film_is_the_difference_of_two_travels_and_the_handbook_s_to_first_order():
    # 93.5 mm at 3 m: 0.0269 mm behind 50 mm (f^2 du / (u - f)^2, 2500 * 93.5 / 2950^2)
    assert 1e3 * first_order_film_error(3.0, 0.0935, 0.050) == pytest.approx(0.02686, abs=1e-5)
    exact = film_error(1 / 3.0, 1 / 3.0935, 0.050)
    # 50^2 / 3043.5 - 50^2 / 2950 mm; set too far is negative here
    assert 1e3 * exact == pytest.approx(2500 / 3043.5 - 2500 / 2950, rel=1e-12)
    tiny = film_error(1 / 3.0, 1 / 3.000001, 0.050)
    assert -tiny == pytest.approx(first_order_film_error(3.0, 1e-6, 0.050), rel=1e-5)


def test_a_distance_from_the_film_is_object_and_image_distance_together():
    # u = 1 m, f = 50 mm: image distance f u / (u - f) = 52.6316 mm, so 1.0526316 m from the film
    assert from_the_lens(1 / 1.0526315789473684, 0.050, "film") == pytest.approx(1.0, rel=1e-12)
    assert from_the_lens(0.0, 0.050, "film") == 0
    # at four focal lengths both are two focal lengths
    assert 1 / from_the_lens(1 / 0.20000001, 0.050, "film") == pytest.approx(0.1, rel=1e-3)


@pytest.mark.parametrize(
    ("base_m", "power", "arcsec", "u_m", "is_m"),
    [
        # published for a naval finder (an essay on optical rangefinders): 2.6, 65, 165 m; worked out
        (3.0, 25, 10, 2_000, 2.586), (3.0, 25, 10, 10_000, 64.64), (3.0, 25, 10, 16_000, 165.48),
        # a small camera's, worked out by hand: u^2 theta / (B M)
        (0.040, 0.7, 60, 3.0, 0.09350), (0.040, 0.7, 30, 3.0, 0.04675), (0.040, 0.7, 20, 3.0, 0.03117),
    ],
)  # fmt: skip
def test_what_a_base_allows_is_the_handbook_s(base_m, power, arcsec, u_m, is_m):
    assert range_error(u_m, Base(base_m, power), arcsec * ARCSEC) == pytest.approx(is_m, rel=2e-4)


def test_depth_of_focus_and_near_and_far_of_the_handbook_agree_with_dioptres():
    # 50 mm, f/2, c 0.03, s 3 m: near 2801.64, far 3228.58 mm (H = f^2/(N c) + f; the usual camera form).
    # On the film those lie N c (1 + m) off and not N c: the cone stands on the image distance f + x'.
    f, stop, c, s = 0.050, 2.0, 30e-6, 3.0
    for end, sign in ((2.80164, 1), (3.22858, -1)):
        away = film_error(1 / s, 1 / end, f)
        image = f + travel(1 / end, f)
        assert away == pytest.approx(sign * stop * c * image / f, rel=1e-3)
    assert SMALL.limit.high == pytest.approx(60e-6)


def test_the_base_of_a_split_image_is_where_its_wedges_look():
    # 8 degree wedges of index 1.5 turn by 4 degrees; 2 * 50 mm * tan 4 deg = 6.9927 mm
    assert 1e3 * split_image_base(0.050, 2.0, 8.0, 1.5) == pytest.approx(6.9927, abs=1e-4)
    # dark where 2 tan d = 1 / N: N = 7.15
    split_image_base(0.050, 7.1, 8.0, 1.5)
    with pytest.raises(RefusedReadings, match=r"faster than f/7\.2"):
        split_image_base(0.050, 7.2, 8.0, 1.5)


def test_rays_through_a_split_image_part_as_its_base_says():
    # The images on the screen, by tracing: an image that lies e behind the screen is met by rays from the
    # places +-f tan d in the pupil; on the screen they are 2 e tan d apart. Seen with magnification
    # M = f / f_eye that is 2 e tan d / f_eye: the same as base times magnification times dioptres.
    f, eye, dw = 0.050, 0.055, 1e-6
    turn = math.tan(math.radians(0.49 * 8))
    e = film_error(0.0, dw, f)
    places = [f * turn, -f * turn]
    heights = [p * (1 - f / (f + e)) for p in places]  # straight on to a point on the axis, f + e away
    seen = (heights[0] - heights[1]) / eye
    base = Base(split_image_base(f, 2.0, 8.0, 1.49), f / eye)
    assert seen == pytest.approx(base.effective_m * dw, rel=1e-5)


def test_every_outside_figure_has_source_and_mark():
    assert [acuity(one).value / ARCSEC for one in acuities()] == pytest.approx([10, 25, 60])
    assert all(circle(one).source and circle(one).mark for one in circles())
    # 24 x 36 by the diagonal over 1500 (seen): 0.0288 mm, and usual values of 0.030 to 0.033
    assert math.hypot(24e-3, 36e-3) / 1500 == pytest.approx(circle("135").value, rel=0.1)
    values = [circle(one).value for one in ("18x24", "135", "6x4.5", "6x6", "6x7", "6x9")]
    assert values == sorted(values)


# --- the fit ---


def test_norris_comes_out_as_certified():
    # NIST StRD, Norris (seen as carried in open test suites)
    x, y = (np.array(text.split(), dtype=float) for text in (NORRIS_X, NORRIS_Y))
    curve = fit_curve(x, y, straight=True)
    assert curve.offset.value == pytest.approx(-0.262323073774029, rel=1e-10)
    assert curve.offset.u == pytest.approx(0.232818234301152, rel=1e-10)
    assert curve.gain.value == pytest.approx(1.00211681802045, rel=1e-10)
    assert curve.gain.u == pytest.approx(0.000429796848199937, rel=1e-10)


def test_offset_gain_and_bow_are_those_the_readings_were_made_from():
    curve = fit_curve(*dioptres(read(0.02, 1.03, curvature=0.1, scatter=1e-9)))
    assert (curve.offset.value, curve.gain.value) == pytest.approx((0.02, 1.03), abs=1e-7)
    assert curve.bow.value == pytest.approx(0.1, abs=1e-6)
    assert curve.bowed


def test_a_bow_moves_neither_what_is_shown_at_infinity_nor_at_the_nearest():
    straight, bent = (fit_curve(*dioptres(read(0.02, 1.03, curvature=c, scatter=1e-9))) for c in (0, 0.2))
    for v in (0.0, 1.0):
        assert bent.shown(v).value == pytest.approx(straight.shown(v).value, abs=1e-6)


def test_fewer_than_four_distances_tell_no_bow():
    assert fit_curve(*dioptres(read(0.02, 1.0, at=(INF, 3, 1), scatter=1e-3))).bow is None


def test_a_doubtful_reading_counts_less():
    # inverse-variance weights: with one reading 1e4 times as uncertain, the line is the others' alone
    curve = fit_curve([0, 1, 2, 3], [0, 1.001, 1.999, 4.0], [1, 1, 1, 1e4], straight=True)
    alone = fit_curve([0, 1, 2], [0, 1.001, 1.999], straight=True)
    assert curve.gain.value == pytest.approx(alone.gain.value, abs=1e-6)


def test_readings_that_agree_too_well_are_not_believed():
    result = analyse_rangefinder(read(0.02, 1.0), SMALL)
    # exact readings: no scatter at all, yet an eye tells 10 arcsec / (40 mm * 0.7) = 0.00173 dpt at best
    assert result.offset.u > 0.5 * 10 * ARCSEC / 0.028
    assert any("copied or rounded" in line for line in result.warnings)
    assert result.offset.value == pytest.approx(0.02, abs=1e-9)


def test_repeats_of_copied_readings_make_nothing_surer():
    few, many = (analyse_rangefinder(read(0.02, 1.0, repeats=n), SMALL).offset.u for n in (1, 8))
    assert few == pytest.approx(many, rel=1e-9)


# --- result, limit, verdict, advice ---


def test_a_finder_in_order_is_left_alone():
    result = analyse_rangefinder(read(0.0, 1.0, scatter=1e-3), SMALL)
    assert result.verdict == "within"
    assert result.turns == ()
    assert result.advice[0].startswith("Leave it")


def test_an_offset_alone_names_the_infinity_screw_alone():
    result = analyse_rangefinder(read(0.05, 1.0, scatter=1e-3), SMALL)
    assert result.verdict == "outside"
    assert [one.what for one in result.turns] == ["infinity screw"]
    turn = result.turns[0]
    # f^2 * 0.05 = 0.125 mm; mirror by half of base times dioptres; the eye sees base times magnification
    assert 1e3 * turn.travel_m == pytest.approx(-0.125, abs=0.01)
    assert turn.mirror_rad == pytest.approx(0.05 * 0.040 / 2, rel=0.05)
    assert turn.at_eye_rad == pytest.approx(0.05 * 0.028, rel=0.05)
    assert "farther" in turn.direction


def test_a_gain_alone_names_the_gain_alone_and_the_way():
    for gain, word in ((1.06, "shorten"), (0.94, "lengthen")):
        result = analyse_rangefinder(read(0.0, gain, scatter=1e-3, repeats=4), SMALL)
        assert [one.what for one in result.turns] == ["gain"]
        assert word in result.turns[0].direction
        assert result.turns[0].ratio == pytest.approx(1 / gain, rel=0.01)


def test_putting_right_what_is_told_puts_it_right():
    # readings of a lever off by known amounts; then its screw and arm are moved by what the result says
    wrong = Lever(0.040, 0.2, math.radians(5)).standing_at((0.0, 0.03), (1.0, 1.07))
    at = [INF, 10, 3, 1.5, 1]
    readings = Readings(tuple(at), tuple(1 / wrong.shown(1 / d) for d in at))
    turns = {one.what: one for one in analyse_rangefinder(readings, SMALL).turns}
    right = Lever(
        0.040,
        0.2,
        math.radians(5),
        arm=wrong.arm * turns["gain"].ratio,
    ).with_screw_set(0.0)
    assert abs(right.error(1.0)) < 0.1 * abs(wrong.error(1.0) - wrong.error(0.0))


def test_turns_of_a_screw_are_told_where_its_effect_is():
    finder = Finder(Base(0.040, 0.7), 0.050, 2.0, screw_dpt_per_turn=-0.1)
    result = analyse_rangefinder(read(0.05, 1.0, scatter=1e-4), finder)
    assert result.turns[0].turns == pytest.approx(0.5, rel=0.02)  # -0.05 wanted, -0.1 a turn


def test_a_worn_cam_is_named_and_no_turn_is_promised_for_it():
    result = analyse_rangefinder(read(0.0, 1.0, curvature=-0.3, scatter=1e-3, repeats=3), SMALL)
    assert result.verdict == "outside"
    line = next(one for one in result.advice if "cam" in one)
    # the bow at 2 m: -0.3 * 0.5 * (0.5 - 1) = +0.075 dpt
    assert "2 m is shown too near by 0.07" in line
    assert "No turning takes that out" in line


def test_what_a_short_base_cannot_do_is_not_chased():
    # 10 mm * 0.5 and 25 arcsec: 0.0242 dpt, 0.196 mm behind 90 mm (f^2 dw); f/2 forgives 0.060 mm
    finder = Finder(Base(0.010, 0.5), 0.090, 2.0)
    result = analyse_rangefinder(read(0.0, 1.0, scatter=0.002), finder)
    assert result.verdict == "not to be had"
    assert not any(one.allows.to_be_had for one in result.distances)
    assert 1e3 * result.distances[0].allows.film_m == pytest.approx(0.1963, abs=1e-3)
    assert any("Don't chase it" in line for line in result.advice)
    assert result.turns == ()
    # and yet an error far beyond both is there to be turned out
    assert analyse_rangefinder(read(0.2, 1.0, scatter=0.002), finder).verdict == "outside"


def test_the_handbook_s_small_camera_suffices():
    # 40 mm, 0.7, 60 arcsec at 3 m: 93.5 mm, 0.0269 mm on the film, inside 0.06 (f/2, 0.03)
    finder = Finder(Base(0.040, 0.7), 0.050, 2.0, acuity=acuity("arcminute"))
    allows = finder.allows(1 / 3)
    assert 1e3 * allows.range_m == pytest.approx(93.50, abs=0.01)
    assert 1e3 * allows.film_m == pytest.approx(0.0269, abs=1e-4)
    assert allows.to_be_had


def test_scattered_readings_are_too_close_to_call_and_ask_for_more():
    result = analyse_rangefinder(read(0.015, 1.0, scatter=0.02, at=(INF, 3, 1), repeats=1), SMALL)
    assert result.verdict == "too close to call"
    assert result.turns == ()
    assert any("readings" in line for line in result.advice)


def test_film_errors_stand_in_the_order_of_the_rows():
    at = (3, INF, 1, 3)
    readings = Readings(at, tuple(1 / (0.02 + 1.01 / d) for d in at))
    result = analyse_rangefinder(readings, SMALL)
    for d, found in zip(at, result.film_error, strict=True):
        w, v, f = 0.02 + 1.01 / d, 1 / d, 0.050
        assert found.value == pytest.approx(f * f * w / (1 - f * w) - f * f * v / (1 - f * v), rel=1e-6)
    assert result.film_error[0] == result.film_error[3]


def test_feet_and_metres_give_the_same():
    rows = [(INF, INF), (10, 9), (3, 2.9), (1, 0.98), (2, 1.94)]
    metric = "true_m,shown_m\n" + "".join(f"{a},{b}\n" for a, b in rows)
    feet = "true_ft;shown_m\n" + "".join(f"{a / 0.3048:.9f};{b / 0.3048:.9f} ft\n" for a, b in rows).replace(
        "inf ft", "inf"
    )
    first, second = (analyse_rangefinder(table(text), SMALL) for text in (metric, feet))
    assert first.offset.value == pytest.approx(second.offset.value, rel=1e-5)
    assert first.gain.value == pytest.approx(second.gain.value, rel=1e-6)


def test_the_order_of_the_rows_changes_nothing():
    readings = read(0.02, 1.03, scatter=0.002)
    back = Readings(readings.true_m[::-1], readings.shown_m[::-1])
    one, other = (analyse_rangefinder(r, SMALL) for r in (readings, back))
    assert one.offset.value == pytest.approx(other.offset.value, abs=1e-12)
    assert one.verdict == other.verdict


def test_a_screen_that_stands_wrong_is_told_as_a_way():
    # screen 0.1 mm too near: the lens must stand 0.1 mm farther out for the images to meet
    f, z = 0.050, 1e-4
    at = (INF, 5, 3, 2, 1)
    shown = []
    for d in at:
        x = f * f / (d - f) + z if d < INF else z
        shown.append(f + f * f / x)
    finder = Finder(Base(split_image_base(f, 2.0, 8.0, 1.49), 0.9), f, 2.0, kind="screen")
    result = analyse_rangefinder(Readings(at, tuple(shown)), finder)
    assert result.verdict == "outside"
    assert result.turns[0].what == "screen"
    assert result.turns[0].travel_m == pytest.approx(-z, rel=0.02)
    assert "away from the lens" in result.turns[0].direction
    assert result.turning is None


# --- vertical ---


def test_a_vertical_error_is_judged_as_the_eye_sees_it():
    one = vertical_error([9 * ARCMIN], 0.7, 25 * ARCSEC)
    assert one.verdict == "outside"
    assert one.limit.high == pytest.approx(3 * ARCMIN / 0.7)
    assert one.error.u == pytest.approx(25 * ARCSEC / 0.7)
    assert vertical_error([1 * ARCMIN], 0.7, 25 * ARCSEC).verdict == "within"
    # mean 4, sd 1 of 4.. over sqrt 3: by hand
    several = vertical_error([3 * ARCMIN, 4 * ARCMIN, 5 * ARCMIN], 1.0, 25 * ARCSEC)
    assert several.error.u == pytest.approx(ARCMIN / math.sqrt(3))
    assert several.verdict == "too close to call"


def test_vertical_comes_first_and_only_if_it_is_told():
    wrong = read(0.05, 1.0, scatter=1e-3)
    result = analyse_rangefinder(wrong, SMALL, vertical_rad=[-9 * ARCMIN])
    assert [one.what for one in result.turns][:2] == ["vertical", "infinity screw"]
    assert "raise" in result.turns[0].direction
    assert [one.what for one in analyse_rangefinder(wrong, SMALL, vertical_rad=[ARCMIN / 2]).turns] == [
        "infinity screw"
    ]


# --- the lever ---


def built(base_m, ratio, tilt, arm, zero, true_dpt):
    """
    What such a finder shows, by another way: rays to the target, a mirror, a pin on a wheel, bisection.

    Shares nothing with the model but its description. The cam is cut by the right lever: the pin's height
    that belongs to each dioptre.
    """

    def height(length, turn):
        pin = np.array([length, 0.0])
        at = tilt + turn
        return float((np.array([[np.cos(at), -np.sin(at)], [np.sin(at), np.cos(at)]]) @ pin)[1])

    def lever_turn(vergence):
        # the beam from the target leaves square to the base after the second mirror: it must turn by half
        return (vergence * base_m / 2) / ratio

    pin = height(arm, lever_turn(true_dpt) + zero)
    return brentq(lambda w: height(1.0, lever_turn(w)) - pin, -3, 6, xtol=1e-13)


@pytest.mark.parametrize("tilt_deg", [-4.0, 0.0, 5.0, 12.0])
@pytest.mark.parametrize(("arm", "zero"), [(1.0, 0.0), (1.05, 0.0), (0.96, 0.01), (1.02, -0.004)])
def test_the_lever_shows_what_one_built_another_way_shows(tilt_deg, arm, zero):
    lever = Lever(0.040, 0.2, math.radians(tilt_deg), arm, zero)
    for v in (0.0, 0.3, 1.0):
        other = built(0.040, 0.2, math.radians(tilt_deg), arm, zero, v)
        assert lever.shown(v) == pytest.approx(other, abs=1e-9)


@pytest.mark.parametrize("tilt_deg", [-1.5, 2.0, 5.0, 10.0])
@pytest.mark.parametrize("ratio", [0.1, 0.2, 0.5])
def test_turning_to_and_fro_shrinks_the_error_by_the_factor(tilt_deg, ratio):
    lever = Lever(0.040, ratio, math.radians(tilt_deg)).standing_at((0.0, 0.002), (1.0, 1.004))
    rounds = simulate(lever, 0.0, 1.0, 1e-6, "infinity screw at the far end")
    if abs(rounds.factor) >= 1:
        assert rounds.rounds is None
        return
    # the error at the near end just after the infinity screw, from one round to the next
    after_screw = [s.near_error_dpt for s in rounds.steps if s.turned == "infinity screw"]
    for before, after in pairwise(after_screw[:4]):
        if abs(before) > 1e-5:
            assert after / before == pytest.approx(rounds.factor, rel=0.03, abs=0.003)


def test_a_square_arm_closes_in_at_once_and_one_square_in_the_middle_never():
    square = Lever(0.040, 0.2, 0.0).standing_at((0.0, 0.03), (1.0, 1.06))
    assert simulate(square, 0.0, 1.0, 1e-4, "infinity screw at the far end").rounds == 1
    k = 0.040 / (2 * 0.2)
    middle = Lever(0.040, 0.2, -k / 2).standing_at((0.0, 0.03), (1.0, 1.06))
    rounds = simulate(middle, 0.0, 1.0, 1e-4, "infinity screw at the far end")
    assert rounds.factor == pytest.approx(-1.0)
    assert rounds.rounds is None


@pytest.mark.parametrize("tilt_deg", [-2.0, 3.0, 8.0])
def test_turning_the_gain_past_right_as_told_makes_one_round_enough(tilt_deg):
    right = Lever(0.040, 0.2, math.radians(tilt_deg))
    found = right.standing_at((0.0, 0.02), (1.0, 1.03))
    factor = right.factor(0.0, 1.0)
    past = factor / (1 - factor)
    set_far = found.with_screw_set(0.0)
    wanted = -past * set_far.error(1.0)
    arm = brentq(
        lambda a: Lever(0.040, 0.2, right.tilt_rad, a, set_far.zero_rad).error(1.0) - wanted, 0.7, 1.4
    )
    done = Lever(0.040, 0.2, right.tilt_rad, arm, set_far.zero_rad).with_screw_set(0.0)
    assert abs(done.error(1.0)) < 0.05 * abs(set_far.error(1.0))


def test_the_better_order_is_chosen_and_the_other_told():
    # steady near the near end: setting the screw there and the gain far is what closes in
    k = 0.040 / (2 * 0.2)
    finder = Finder(Base(0.040, 0.7), 0.050, 2.0, lever_ratio=0.2, lever_tilt_rad=-0.9 * k)
    result = analyse_rangefinder(read(0.02, 1.06, scatter=1e-4), finder)
    assert result.turning.best.order == "infinity screw at the near end"
    assert result.turning.best.rounds is not None
    assert result.turning.other.rounds is None
    assert abs(result.turning.best.factor) < 1 < abs(result.turning.other.factor)


def test_setting_the_gain_moves_infinity_by_what_is_told():
    finder = Finder(Base(0.040, 0.7), 0.050, 2.0, lever_ratio=0.2, lever_tilt_rad=math.radians(5))
    result = analyse_rangefinder(read(0.0, 1.04, scatter=1e-5), finder)
    found = result.turning.lever
    arm_right = Lever(found.base_m, found.ratio, found.tilt_rad, 1.0, found.zero_rad)
    moved = arm_right.shown(0.0) - found.shown(0.0)
    assert result.turning.infinity_moves_dpt == pytest.approx(moved, rel=0.06)


@pytest.mark.parametrize(
    ("error", "factor", "rounds"),
    # 0.08 halves to 0.04, 0.02, 0.01: three times
    [(0.08, 0.5, 3), (0.08, -0.5, 3), (0.009, 0.9, 0), (0.5, 0.0, 1), (0.5, 1.0, None), (0.5, -1.3, None)],
)
def test_rounds_are_counted_as_by_hand(error, factor, rounds):
    assert rounds_needed(error, factor, 0.01) == rounds


def test_two_rounds_of_readings_tell_the_factor_of_the_lever_they_came_from():
    lever = Lever(0.040, 0.2, math.radians(5)).standing_at((0.0, 0.03), (1.0, 1.10))
    at = (INF, 5, 2, 1)
    first = lever.with_screw_set(0.0)
    second = first.with_arm_set(1.0).with_screw_set(0.0)
    before, after = (Readings(at, tuple(1 / max(x.shown(1 / d), 1e-12) for d in at)) for x in (first, second))
    result = analyse_rangefinder(after, SMALL, before=before)
    found = result.measured_rounds
    assert found.factor.value == pytest.approx(lever.factor(0.0, 1.0), rel=0.08)
    assert found.factor_95[0] < found.factor.value < found.factor_95[1]
    assert found.converging == "closes in"


def test_a_factor_that_the_scatter_hides_is_not_told():
    found = measured_rounds(Measured(1.002, 0.01, 5), Measured(1.001, 0.01, 5), 1.0, 0.005)
    assert found.factor is None
    assert "lost in the scatter" in found.why_not


def test_one_that_may_not_close_in_says_so():
    found = measured_rounds(Measured(1.05, 0.005, 8), Measured(0.95, 0.005, 8), 1.0, 0.005)
    assert found.converging == "too close to call"
    assert found.rounds_left_at_most is None
    found = measured_rounds(Measured(1.05, 0.002, 8), Measured(1.10, 0.002, 8), 1.0, 0.005)
    assert found.converging == "does not close in"


# --- refused and doubted ---


def table(text, name="readings.csv"):
    return readings_from(open_figures(io.BytesIO(text.encode()), name))


HEAD = "true_m,shown_m\n"


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "no readings"),
        ("a,b\n1,2\n", "no column 'true_m'"),
        ("true_m,true_ft,shown_m\n1,3,1\n", "Keep one"),
        (HEAD + "inf,inf\n0,1\n3,3\n", "line 3.*true distance of 0 m"),
        (HEAD + "inf,inf\n3,-3\n1,1\n", "line 3.*only beyond infinity, write beyond"),
        (HEAD + "near,1\n3,3\n1,1\n", "line 2.*true_m.*length"),
        (HEAD + "nan,1\n3,3\n1,1\n", "line 2"),
        (HEAD + "inf,inf\n2,inf\n1,1\n", "line 3: infinity shown at 2 m.*infinity screw"),
        (HEAD + "inf,inf\n8,inf\n1,1\n", "stop.*infinity screw"),
        (HEAD + "inf,inf\n3,9.84\n1,3.28\n2,6.6\n", "shown distances.*in feet.*shown_ft"),
        (HEAD + "inf,inf\n9.84,3\n3.28,1\n6.6,2\n", "true distances.*in feet.*true_ft"),
        (HEAD + "inf,inf\n3,3\n1,3.28\n2,2\n5,5\n", "line 4.*as if it were in feet.*ft"),
        (HEAD + "inf,inf\n3,3\n0.03,1\n", "line 4.*within its focal length"),
    ],
)
def test_what_cannot_be_is_refused_with_line_and_remedy(text, why):
    with pytest.raises(RefusedReadings, match=why) as refused:
        analyse_rangefinder(table(text), SMALL)
    assert "\n" not in str(refused.value)


def test_infinity_shown_at_the_stop_is_left_out():
    # offset -0.06 dpt: infinity coincides beyond the scale, the lens stops there, and that is written
    at = (INF, INF, 8, 5, 3, 2, 1.5, 1)
    rng = np.random.default_rng(3)
    shown = [INF if d == INF else 1 / (-0.06 + 1 / d + rng.normal(0, 0.002)) for d in at]
    result = analyse_rangefinder(Readings(at, tuple(shown)), SMALL)
    low, high = result.offset.coverage_interval()
    assert low < -0.06 < high < 0
    assert any("left out of the fit, at that distance and farther: 2" in line for line in result.warnings)
    assert len(result.film_error) == 8
    # and an honest infinity stays, rounded figures and all
    rounded = analyse_rangefinder(table(HEAD + "inf,inf\n10,10.01\n3,3.001\n1,1\n2,2.001\n"), SMALL)
    assert not any("left out" in line for line in rounded.warnings)
    assert not any(
        "Left out" in line for line in analyse_rangefinder(read(0, 1, scatter=0.003), SMALL).warnings
    )


def test_beyond_infinity_can_be_written_down():
    rows = [(d, 1 / (-0.02 + 1 / d)) for d in (8, 5, 3, 2, 1.5, 1)]
    text = HEAD + "inf,beyond\n20,>inf\n25,300\n" + "".join(f"{a},{b:.4f}\n" for a, b in rows)
    result = analyse_rangefinder(table(text), SMALL)
    assert result.offset.value == pytest.approx(-0.02, abs=1e-3)
    # 25 m read on the scale goes too: it lies farther than a distance that did not
    assert any("farther: 3" in line for line in result.warnings)
    assert len(result.film_error) == 9
    with pytest.raises(RefusedReadings, match="line 2: true_m"):
        table(HEAD + "beyond,inf\n1,1\n2,2\n")


def test_a_large_offset_is_not_taken_for_feet():
    # 0.2 dpt: 10 m is shown as 3.3 m, and it is no mistyped foot
    result = analyse_rangefinder(read(0.2, 1.0, scatter=0.002), SMALL)
    assert result.offset.value == pytest.approx(0.2, abs=0.01)


def test_a_reading_beyond_the_scale_is_refused():
    finder = Finder(Base(0.040, 0.7), 0.050, 2.0, nearest_m=0.9)
    with pytest.raises(RefusedReadings, match=r"0\.7 m lies beyond the scale, which ends at 0\.9 m"):
        analyse_rangefinder(table(HEAD + "inf,inf\n3,3\n0.7,0.7\n"), finder)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        (HEAD + "inf,inf\n1,1\n", "2 readings give.*three distances"),
        (HEAD + "2,2\n", "1 readings give.*three distances"),
        (HEAD + "2,2\n2,2.01\n2,1.99\n2,2\n", "one distance.*three distances"),
        (HEAD + "inf,inf\ninf,40\ninf,50\n", "one distance.*three distances"),
    ],
)
def test_too_little_gives_no_figure_and_says_what_to_read(text, why):
    result = analyse_rangefinder(table(text), SMALL)
    assert result.offset is result.gain is result.curvature is result.turning is None
    assert set(result.film_error) == {None}
    assert result.verdict == "too close to call"
    assert any(re.search(why, line) for line in result.warnings)
    assert result.limit.high == pytest.approx(60e-6)


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"focal_m": 50.0}, "focal length"),
        ({"focal_m": 0.00005}, "focal length"),
        ({"focal_m": math.nan}, "focal length"),
        ({"stop": 0.0}, "widest stop"),
        ({"stop": math.nan}, "widest stop"),
        ({"reading_dpt": 0.0}, "reading"),
        ({"screw_dpt_per_turn": 0.0}, "turn"),
    ],
)
def test_a_finder_that_cannot_be_is_refused(change, why):
    with pytest.raises(RefusedReadings, match=why):
        Finder(**{"base": Base(0.040, 0.7), "focal_m": 0.050, "stop": 2.0, **change})


@pytest.mark.parametrize(
    ("base", "power"), [(0.0, 0.7), (-0.04, 0.7), (math.nan, 0.7), (0.04, 0.0), (0.04, 700.0)]
)
def test_a_base_that_cannot_be_is_refused(base, power):
    with pytest.raises(RefusedReadings):
        Base(base, power)


def test_a_base_in_metres_is_refused():
    with pytest.raises(RefusedReadings, match="Give it in mm"):
        Finder(Base(0.00004, 0.7), 0.050, 2.0)


def test_a_mistyped_reading_is_named():
    readings = read(0.0, 1.0, scatter=0.002, repeats=3)
    shown = list(readings.shown_m)
    shown[7] = 5.9
    result = analyse_rangefinder(Readings(readings.true_m, tuple(shown)), SMALL)
    assert any(line.startswith("reading 8:") for line in result.warnings)


def test_what_weakens_the_figures_is_told():
    two = analyse_rangefinder(read(0.01, 1.0, at=(INF, 1), repeats=4, scatter=0.003), SMALL)
    assert any("Two distances only" in line for line in two.warnings)
    near = analyse_rangefinder(read(0.01, 1.0, at=(3, 2, 1.5, 1), scatter=0.003), SMALL)
    assert any("farthest reading is at 3 m" in line for line in near.warnings)
    wild = analyse_rangefinder(read(0.1, 1.0, scatter=0.05), SMALL)
    assert any("play in the" in line for line in wild.warnings)
