"""What is told of a rangefinder and of a spool in the bench's own units, and what is refused of it."""

import io
import math

import pytest

from pegwood.instruments.rangefinder import ARCMIN, analyse_told, film_error, finder_told
from pegwood.instruments.readings import RefusedReadings, open_figures
from pegwood.instruments.transport.told import CLUTCH, core_of, friction_told, newtons, take_up_told

FINDER = {"base_mm": 40, "magnification": 0.7, "focal_mm": 50, "stop": 2}
# offset 0.02 dpt, gain 1.03 at inf, 10, 3, 1.5 and 1 m, moved a little by a hand
NOW = (
    "inf,51",
    "inf,48",
    "10,8.2",
    "10,8.1",
    "3,2.74",
    "3,2.76",
    "1.5,1.42",
    "1.5,1.41",
    "1,0.955",
    "1,0.951",
)
# gain 1.06: twice the error
BEFORE = ("inf,50", "inf,49", "10,7.98", "10,7.92", "3,2.70", "3,2.69", "1.5,1.375", "1,0.927", "1,0.925")


def table(rows, columns="true_m,shown_m"):
    return open_figures(io.BytesIO("\n".join([columns, *rows]).encode()), "found.csv")


def test_millimetres_and_arc_minutes_become_what_they_stand_for():
    finder = finder_told({**FINDER, "lever_tilt_deg": 5, "nearest": "3 ft", "circle_mm": 0.025, "true_mm": 4})
    assert finder.base.effective_m == pytest.approx(0.028)
    assert finder.limit.high == pytest.approx(2 * 0.025e-3)
    assert finder.lever_tilt_rad == pytest.approx(math.radians(5))
    assert finder.nearest_m == pytest.approx(0.9144)  # a foot is 0.3048 m exactly
    assert finder.true_u_m == pytest.approx(4e-3)
    told = analyse_told(table(NOW), {**FINDER, "vertical_arcmin": [6.0]})
    assert told.vertical.error.value == pytest.approx(6 * ARCMIN)


def test_a_screen_takes_its_wedges_and_no_base():
    screen = {**FINDER, "kind": "screen", "base_mm": None, "prism_deg": 8}
    # thin prism: 2 f tan((n - 1) A)
    assert finder_told(screen).base.length_m == pytest.approx(0.1 * math.tan(0.49 * math.radians(8)))


def test_readings_from_before_the_round_may_stand_in_the_same_table():
    rows = [f"{one},before" for one in BEFORE] + [f"{one}," for one in NOW]
    one = analyse_told(table(rows, "true_m,shown_m,round"), FINDER)
    two = analyse_told(table(NOW), FINDER, before=table(BEFORE))
    assert one.measured_rounds.factor.value == two.measured_rounds.factor.value
    # 0.03 of 0.06 was left
    low, high = one.measured_rounds.factor_95
    assert low < 0.5 < high
    assert len(one.points) == len(NOW)


def test_the_drawn_curve_is_on_the_film_what_the_thin_lens_says():
    told = analyse_told(table(NOW), FINDER)
    for one in told.curve[:: len(told.curve) // 4]:
        # x' = f^2 w / (1 - f w), shown less true, by hand
        by_hand = [0.05**2 * w / (1 - 0.05 * w) for w in (one.shown_dpt, one.true_dpt)]
        assert one.film_error_m == pytest.approx(by_hand[0] - by_hand[1], abs=1e-12)
        assert one.film_error_m == pytest.approx(film_error(one.true_dpt, one.shown_dpt, 0.05))
        assert one.film_low_m < one.film_error_m < one.film_high_m
        # 25 arcsec over 28 mm, on the film f^2 times that at infinity and a little more up close
        eye = 25 / 3600 * math.pi / 180 / 0.028 * 0.05**2
        assert eye <= one.base_film_m <= 1.2 * eye


@pytest.mark.parametrize(
    ("told", "about", "why"),
    [
        ({"base_mm": None}, "base_mm", "window to window"),
        ({"focal_mm": None}, "focal_mm", "focal length"),
        ({"kind": "screen"}, "prism_deg", "wedges"),
        ({"kind": "radar"}, "kind", "coupled, uncoupled"),
        ({"base_mm": 0.04}, "base_mm", "in mm"),
        ({"vertical_arcmin": [math.nan]}, "vertical_arcmin", "arc minutes"),
        ({"nearest": "close"}, "", "length"),
    ],
)
def test_what_cannot_be_told_of_a_finder_is_refused_by_its_name(told, about, why):
    with pytest.raises(RefusedReadings, match=why) as refused:
        analyse_told(table(NOW), {**FINDER, **told})
    assert refused.value.about == about
    assert "--" not in str(refused.value)


@pytest.mark.parametrize(
    ("rows", "before", "why"),
    [
        (["1,1,before", "2,2,before", "3,3,before"], None, "from before the round"),
        (["1,1,soon", "2,2,", "3,3,"], None, "line 2: round: 'soon'"),
        (["1,1,before", "2,2,", "3,3,"], BEFORE, "came twice"),
    ],
)
def test_readings_of_no_round_are_refused(rows, before, why):
    with pytest.raises(RefusedReadings, match=why):
        analyse_told(
            table(rows, "true_m,shown_m,round"), FINDER, before=None if before is None else table(before)
        )


def test_a_balance_may_show_grams():
    # standard gravity: 100 g pull 0.980665 N
    assert newtons("100 g") == pytest.approx(0.980665)
    assert newtons("100", "g") == newtons("100gf") == pytest.approx(0.980665)
    assert newtons("0,8 N", "g") == newtons("0.8") == pytest.approx(0.8)
    with pytest.raises(RefusedReadings, match="no number"):
        newtons("hard")


def test_several_readings_of_a_core_bring_their_scatter_with_them():
    one, three = core_of([14.0]), core_of([13.8, 14.0, 14.2])
    # half-width 0.1 mm of a rectangle; s / sqrt(3) of 0.2 mm beside it (GUM 4.2, 4.3.7)
    assert one.u == pytest.approx(0.1e-3 / math.sqrt(3))
    assert three.value == pytest.approx(14e-3)
    assert three.u == pytest.approx(math.hypot(0.1e-3 / math.sqrt(3), 0.2e-3 / math.sqrt(3)))
    assert take_up_told([13.8, 14.0, 14.2], {}).full.u > take_up_told([14.0], {}).full.u


@pytest.mark.parametrize(
    ("call", "why"),
    [
        (lambda: core_of([]), "diameter in mm"),
        (lambda: core_of([14, math.nan]), "diameter in mm"),
        (lambda: core_of([14, 7]), "more than a tenth"),
        (lambda: core_of([14], 0), "above zero"),
        (lambda: friction_told([1, 1], {}), "radius"),
        (lambda: friction_told([1, 1], {"radius_mm": 10, "what": "door"}), "There are"),
        (lambda: friction_told([1, 1], {"radius_mm": 10, "core_mm": 20, "full_mm": 14}), "thinner"),
    ],
)
def test_what_cannot_be_told_of_a_spool_is_refused(call, why):
    with pytest.raises(RefusedReadings, match=why) as refused:
        call()
    assert "--" not in str(refused.value)


def test_a_clutch_pulls_on_the_film_by_its_torque_over_the_radius():
    told = friction_told([0.9, 0.9, 0.9], {"radius_mm": 10, "what": CLUTCH, "core_mm": 14, "full_mm": 21})
    assert told.torque.value == pytest.approx(9e-3)
    assert told.pull_n == pytest.approx((9e-3 / 7e-3, 9e-3 / 10.5e-3))
    assert told.limit is None
    assert told.pulls_n_m == pytest.approx((9e-3,) * 3)
    advance = friction_told([2, 2.1], {"radius_mm": 40, "what": "advance-film"})
    assert advance.verdict == "within"
    assert advance.limit.high == pytest.approx(0.5)
