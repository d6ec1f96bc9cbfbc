"""From readings to answers: against closed forms, SciPy's distributions and plain drawing of lots."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from pegwood.causes.known import knowledge
from pegwood.causes.reads import Chance, Figure, Reading, Reads, read_levels

SLOW = Reads(instrument="shutter", slowest="1", fastest="1/15", of=5, edges=(1 / 3, 1.0))
FAST = Reads(instrument="shutter", slowest="1/100", of=2, pick_fastest=True, signed=True, edges=(0.5, 1.0))
ONE = Reads(instrument="shutter", edges=(1 / 3, 1.0))


def read(marked: str, value: float, u: float = 0.05, df: float = math.inf, what: str = "error") -> Reading:
    top, _, below = marked.partition("/")
    return Reading(
        instrument="shutter",
        what=what,
        marked=marked,
        marked_s=int(top) / int(below or 1),
        value=value,
        u=u,
        df=df,
    )


def test_a_reading_well_inside_an_answer_is_that_answer():
    assert read_levels(ONE, [read("1/60", 0.6, 0.01)]) == pytest.approx((0, 1, 0), abs=1e-12)


def test_a_reading_on_an_edge_is_for_both_its_sides_alike():
    assert read_levels(ONE, [read("1/60", 1.0, 0.05)]) == pytest.approx((0, 0.5, 0.5), abs=1e-9)


@pytest.mark.parametrize("value", [-1.1, -0.3, 0.0, 0.31, 0.9])
@pytest.mark.parametrize("df", [2.0, 4.5, math.inf])
def test_the_shares_are_those_of_student_s_t(value, df):
    spread = stats.norm(value, 0.1) if math.isinf(df) else stats.t(df, loc=value, scale=0.1)
    third = spread.cdf(1 / 3) - spread.cdf(-1 / 3)
    whole = spread.cdf(1) - spread.cdf(-1)
    found = read_levels(ONE, [read("1/60", value, 0.1, df)])
    assert found == pytest.approx((third, whole - third, 1 - whole), abs=1e-12)


def test_a_reading_of_few_firings_says_less_than_one_of_many():
    few, many = (read_levels(ONE, [read("1/60", 0.25, 0.08, df)]) for df in (1, math.inf))
    assert few[0] < many[0]


def test_what_is_too_short_is_no_sign_of_what_is_too_long():
    readings = [read("1/250", -2.0), read("1/500", -2.0)]
    assert read_levels(FAST, readings) == pytest.approx((1, 0, 0), abs=1e-9)
    assert read_levels(ONE, readings)[2] == pytest.approx(1, abs=1e-9)


def test_the_worst_of_several_counts_as_lots_drawn_say():
    values = {"1": 0.2, "1/2": 0.35, "1/4": -0.5, "1/8": 0.9, "1/15": 0.1}
    found = read_levels(SLOW, [read(marked, value, 0.15, 6) for marked, value in values.items()])
    rng = np.random.default_rng(20310303)
    drawn = np.array(list(values.values())) + 0.15 * rng.standard_t(6, size=(400_000, 5))
    worst = np.abs(drawn).max(axis=1)
    told = [np.mean(worst < 1 / 3), np.mean((worst >= 1 / 3) & (worst < 1)), np.mean(worst >= 1)]
    assert found == pytest.approx(told, abs=4 * math.sqrt(0.25 / 400_000))


def test_one_good_speed_of_five_says_little_and_one_bad_one_says_all():
    assert read_levels(SLOW, [read("1/15", 0.0, 0.01)]) == pytest.approx((1, 0.8, 0.8), abs=1e-9)
    assert read_levels(SLOW, [read("1/15", 2.0, 0.01)]) == pytest.approx((0, 0, 1), abs=1e-9)
    # within, with four of five read: another answer only if the unread one is the worst
    four = [read(marked, 0.0, 0.01) for marked in ("1", "1/2", "1/4", "1/8")]
    assert read_levels(SLOW, four) == pytest.approx((1, 0.2, 0.2), abs=1e-9)


def test_only_the_speeds_that_are_asked_for_count():
    assert read_levels(SLOW, [read("1/30", 2.0)]) is None
    assert read_levels(FAST, [read("1/250", 2.0)]) is None, "the fastest two are asked for"
    found = read_levels(FAST, [read("1/125", 3.0), read("1/250", 0.0, 0.01), read("1/500", 0.0, 0.01)])
    assert found == pytest.approx((1, 0, 0), abs=1e-9)


def test_a_speed_marked_1_16_is_as_good_as_1_15():
    assert read_levels(SLOW, [read("1/16", 2.0, 0.01)]) == pytest.approx((0, 0, 1), abs=1e-9)


def test_the_later_reading_of_a_speed_counts():
    found = read_levels(ONE, [read("1/60", 2.0, 0.01), read("1/60", 0.0, 0.01)])
    assert found == pytest.approx((1, 0, 0), abs=1e-9)


def test_a_reading_too_unsure_for_the_question_answers_nothing():
    assert read_levels(ONE, [read("1/60", 0.0, 0.5)]) is None


def test_a_time_is_held_against_a_time():
    moment = Reads(instrument="shutter", what="time", against="1/30", signed=True, edges=(0.25, 1.0))
    # marked 1/60 and one stop long is 1/30 s; two and a half stops long is 1.5 stops over 1/30 s
    assert read_levels(moment, [read("1/60", 1.0, 0.01)]) == pytest.approx((1, 0, 0), abs=1e-9)
    assert read_levels(moment, [read("1/60", 2.5, 0.01)]) == pytest.approx((0, 0, 1), abs=1e-9)


def test_a_known_error_has_hard_edges():
    assert read_levels(ONE, [read("1/60", 0.3, 0.0)]) == (1, 0, 0)
    assert read_levels(ONE, [read("1/60", -1.5, 0.0)]) == (0, 0, 1)


def test_nothing_read_is_no_answer():
    assert read_levels(ONE, []) is None
    assert read_levels(ONE, [read("1/1000", 1.0, what="unevenness")]) is None


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"edges": (1.0, 0.5)}, "edges rise"),
        ({"edges": ()}, "edges rise"),
        ({"edges": (-1.0, 0.5)}, "above nought"),
        ({"edges": (0.5,), "of": 0}, "of is 0"),
        ({"edges": (0.5,), "what": "time"}, "held against a time"),
        ({"edges": (0.5,), "against": "1/30"}, "nothing else is"),
        ({"edges": (0.5,), "slowest": "fast"}, "'fast' is no marked time"),
        ({"edges": (0.5,), "slowest": "1/100", "fastest": "1"}, "1/100 is faster than 1"),
    ],
)
def test_what_cannot_be_asked_is_refused(wrong, says):
    with pytest.raises(ValueError, match=says):
        Reads(instrument="shutter", **wrong)


@pytest.mark.parametrize(
    ("wrong", "says"),
    [({"value": math.nan}, "plain number"), ({"u": -1}, "0 or more"), ({"df": 0}, "above 0")],
)
def test_what_cannot_be_read_is_refused(wrong, says):
    with pytest.raises(ValueError, match=says):
        read("1/60", **{"value": 0.0, **wrong})


def test_every_shutter_answers_by_its_readings():
    asked = {
        f"{one.mechanism}.{sign.id}"
        for one in knowledge().values()
        for sign in one.sign
        if sign.reads is not None
    }
    assert asked >= {
        "leaf-shutter-cocking-ring.slow-speeds",
        "leaf-shutter-cocking-ring.fast-speeds-long",
        "leaf-shutter-everset.fast-long",
        "leaf-shutter-programmed.times",
        "cloth-focal-plane-shutter.slow-speeds",
        "cloth-focal-plane-shutter.fast-even",
        "metal-blade-vertical-shutter.slow-speeds",
        "metal-blade-vertical-shutter.fast-even",
        "box-shutter.time-measured",
    }


LOW = Reads(instrument="meter", what="offset_ev", below=True, edges=(0.5,))
GAIN = Reads(instrument="rangefinder", what="gain", right=1.0, edges=(0.02, 0.1))


def figure(value: float, u: float = 0.1, **more) -> Figure:
    return Figure(**{"instrument": "meter", "what": "offset_ev", "value": value, "u": u, **more})


@pytest.mark.parametrize("value", [-0.9, -0.5, 0.0, 0.9])
def test_a_figure_answers_by_its_own_distribution(value):
    # SciPy's normal: the share of the figure's distribution below -0.5
    assert read_levels(LOW, [figure(value)])[1] == pytest.approx(stats.norm(value, 0.1).cdf(-0.5), abs=1e-12)


def test_a_figure_is_held_against_what_is_right():
    off = stats.norm(1.05, 0.01)
    small, large = (off.cdf(1 + edge) - off.cdf(1 - edge) for edge in (0.02, 0.1))
    found = read_levels(GAIN, [figure(1.05, 0.01, instrument="rangefinder", what="gain")])
    assert found == pytest.approx((small, large - small, 1 - large), abs=1e-12)


def test_of_a_figure_read_at_several_marks_the_worst_counts():
    reads = Reads(instrument="iris", what="error_ev", edges=(0.3,))
    stops = [figure(0.0, instrument="iris", what="error_ev", marked=one) for one in ("2.8", "4")]
    bad = figure(0.9, instrument="iris", what="error_ev", marked="5.6")
    assert read_levels(reads, stops)[0] > 0.99
    assert read_levels(reads, [*stops, bad])[1] > 0.99


def test_of_a_figure_only_marks_small_enough_count_where_a_sign_asks_for_them():
    reads = Reads(instrument="iris", what="error_ev", edges=(0.3,), marks_from=8)
    bad = [figure(0.9, instrument="iris", what="error_ev", marked=one) for one in ("2.8", "5,6", "", "wide")]
    assert read_levels(reads, bad) is None
    for small in ("8", "f/11", "16", "F 22"):
        good = figure(0.0, instrument="iris", what="error_ev", marked=small)
        assert read_levels(reads, [*bad, good])[0] > 0.99


def test_a_figure_of_another_instrument_or_another_name_is_no_answer():
    assert read_levels(LOW, [figure(-0.9, instrument="iris"), figure(-0.9, what="hysteresis_ev")]) is None
    assert read_levels(LOW, [read("1/60", -0.9)]) is None
    assert read_levels(ONE, [figure(-0.9)]) is None


def test_a_figure_too_unsure_for_the_question_answers_nothing():
    assert read_levels(LOW, [figure(-0.9, 0.6)]) is None


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"instrument": "meter", "what": "error"}, "by a figure"),
        ({"instrument": "meter", "what": "offset_ev", "of": 2}, "by a figure"),
        ({"instrument": "meter", "what": "offset_ev", "signed": True, "below": True}, "one of"),
        ({"instrument": "shutter", "what": "offset_ev"}, "Expected one of error"),
        ({"instrument": "shutter", "below": True}, "of other instruments"),
        ({"instrument": "shutter", "marks_from": 8}, "of other instruments"),
    ],
)
def test_what_no_instrument_can_answer_is_refused(wrong, says):
    with pytest.raises(ValueError, match=says):
        Reads(edges=(0.5,), **wrong)


def test_every_meter_answers_by_its_readings():
    asked = {(one.mechanism, sign.id) for one in knowledge().values() for sign in one.sign if sign.reads}
    for mechanism in ("selenium-meter", "cds-meter", "cell-in-lens-rim", "cells-beside-prism"):
        assert {(mechanism, "reads-low"), (mechanism, "reads-high")} <= asked


def test_a_figure_may_count_at_one_mark_alone():
    clutch = Reads(
        instrument="transport", what="torque_n_m", at="clutch", right=0.012, below=True, edges=(0.008,)
    )
    pulls = [
        figure(0.002, 1e-4, instrument="transport", what="torque_n_m", marked=one)
        for one in ("clutch", "rewind")
    ]
    assert read_levels(clutch, pulls) == pytest.approx((0, 1), abs=1e-9)
    assert read_levels(clutch, pulls[1:]) is None


FOG = Reads(instrument="leaks", chance_of=("back-seal-top",))


def fogged(p: float, prior: float, what: str = "back-seal-top") -> Chance:
    return Chance(instrument="leaks", what=what, p=p, prior=prior)


@pytest.mark.parametrize("prior", [0.02, 0.15, 0.6])
@pytest.mark.parametrize("likelihood", [0.2, 1.0, 30.0])
def test_a_chance_says_what_was_seen_and_not_what_was_held_before(prior, likelihood):
    # Bayes' rule forward, by hand: whatever the prior was, the ratio of the levels is the likelihood's
    p = prior * likelihood / (prior * likelihood + 1 - prior)
    against, speaks_for = read_levels(FOG, [fogged(p, prior)])
    assert speaks_for / against == pytest.approx(likelihood)
    assert max(against, speaks_for) == 1


def test_a_strip_that_tells_nothing_leaves_the_answer_open():
    assert read_levels(FOG, [fogged(0.15, 0.15)]) == (1, 1)


def test_a_place_that_was_not_judged_answers_nothing_and_the_last_strip_counts():
    assert read_levels(FOG, [fogged(0.9, 0.1, "hinge")]) is None
    assert read_levels(FOG, [fogged(0.1, 0.1), fogged(1.0, 0.1)]) == (0, 1)


def test_two_places_of_one_answer_count_by_their_sum():
    both = Reads(instrument="leaks", chance_of=("back-seal-top", "hinge"))
    seen = [fogged(0.5, 0.15), fogged(0.3, 0.1, "hinge")]
    against, speaks_for = read_levels(both, seen)
    assert speaks_for / against == pytest.approx((0.8 / 0.2) / (0.25 / 0.75))
    assert read_levels(both, seen[:1]) is None


@pytest.mark.parametrize(
    "wrong", [{"edges": (0.5,)}, {"signed": True}, {"of": 2}, {"spread": True}, {"instrument": "shutter"}]
)
def test_a_chance_has_no_edges_sides_or_speeds(wrong):
    with pytest.raises(ValueError, match="chance"):
        Reads(**{"instrument": "leaks", "chance_of": ("hinge",), **wrong})


@pytest.mark.parametrize(("p", "prior"), [(1.1, 0.1), (-0.1, 0.1), (0.5, 0.0), (0.5, 1.0), (math.nan, 0.1)])
def test_a_chance_that_cannot_be_is_none(p, prior):
    with pytest.raises(ValueError, match="from 0 to 1"):
        fogged(p, prior)


def test_a_large_scatter_counts_though_it_is_never_known_closely():
    reads = Reads(instrument="transport", what="scatter_m", signed=True, spread=True, edges=(2.5e-4, 1e-3))
    seen = Figure(instrument="transport", what="scatter_m", value=3e-3, u=3e-3 / math.sqrt(8), df=4)
    student = stats.t(4, 3e-3, seen.u)
    levels = read_levels(reads, [seen])
    assert levels == pytest.approx(
        (student.cdf(2.5e-4), student.cdf(1e-3) - student.cdf(2.5e-4), student.sf(1e-3))
    )
    two = Figure(instrument="transport", what="scatter_m", value=3e-3, u=3e-3 / math.sqrt(2), df=1)
    assert read_levels(reads, [two]) is None
