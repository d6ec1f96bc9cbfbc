"""Stops, times and exposure values against published tables of exact values and meter levels."""

import math

import pytest

from pegwood.trade.reference import Reference
from pegwood.trade.series import (
    SERIES,
    exposure_value,
    illuminance,
    luminance,
    readings,
    tell_ev,
    tell_markings,
    value,
)
from pegwood.trade.series.levels import K_LIMITS
from trade._told import told

TABLES = Reference()
ROWS = TABLES.rows(SERIES)


@pytest.mark.parametrize(
    ("text", "ms", "error_ev"),
    [  # standards' facts, 1.5
        ("1", 1000, 0),
        ("1/8", 125, 0),
        ("1/15", 62.5, 0.093),
        ("1/30", 31.25, 0.093),
        ("1/60", 15.625, 0.093),
        ("1/125", 7.8125, 0.034),
        ("1/500", 1.953125, 0.034),
        ("1/1000", 0.9765625, 0.034),
        ("1/2000", 0.48828125, 0.034),
    ],
)
def test_times_stand_for_powers_of_two(text, ms, error_ev):
    first = readings(TABLES, text, "time")[0]
    assert first.exact * 1000 == pytest.approx(ms, rel=1e-12)
    assert first.error_ev == pytest.approx(error_ev, abs=5e-4)


def test_the_marking_of_a_sixtieth_is_0_0931_ev_long():
    # standards' facts, section 12, no. 2
    assert readings(TABLES, "1/60", "time")[0].error_ev == pytest.approx(0.0931, abs=1e-4)


@pytest.mark.parametrize(
    ("text", "exact"),
    # standards' facts, section 4: 2^(k/2); the 1900 congress printed 11.3 and 23
    [("1.4", 1.4142), ("2.8", 2.8284), ("5.6", 5.6569), ("11", 11.3137), ("22", 22.6274)],
)
def test_stops_stand_for_powers_of_the_root_of_two(text, exact):
    assert readings(TABLES, text, "stop")[0].exact == pytest.approx(exact, abs=1e-4)


@pytest.mark.parametrize("series", ROWS.values(), ids=lambda series: series.key)
def test_markings_are_round_numbers_near_what_they_stand_for(series):
    # engraved with one or two figures: within 0.2 EV of exact
    for marking in series:
        assert abs(marking.error_ev) < 0.2, marking.text


def test_a_full_series_stands_in_the_halves_and_thirds():
    for key, parts in (("stops", ("half-stops", "third-stops")), ("times", ("half-times", "third-times"))):
        whole = {marking.text: marking.exact for marking in ROWS[key]}
        for part in parts:
            for marking in ROWS[part]:
                if marking.ev is not None and marking.ev == int(marking.ev) and marking.text in whole:
                    assert marking.exact == pytest.approx(whole[marking.text])


@pytest.mark.parametrize(
    ("a", "b", "ev"),
    [("1/2", "1/5", 1.32), ("1/10", "1/25", 1.32), ("1/25", "1/50", 1.00), ("1/100", "1/250", 1.32)],
)
def test_steps_of_the_old_series_are_uneven(a, b, ev):
    # standards' facts, 1.5
    texts = ROWS["old-leaf-times"].markings
    assert a in texts
    assert b in texts
    assert math.log2(value(a, "time") / value(b, "time")) == pytest.approx(ev, abs=0.005)


@pytest.mark.parametrize(
    ("ev", "k12", "k14", "c250", "c340"),
    [  # standards' facts, 3.2
        (0, 0.125, 0.14, 2.5, 3.4),
        (5, 4, 4.48, 80, 108.8),
        (9, 64, 71.68, 1280, 1740.8),
        (12, 512, 573.44, 10240, 13926.4),
        (15, 4096, 4587.52, 81920, 111411.2),
    ],
)
def test_levels_at_iso_100(ev, k12, k14, c250, c340):
    assert (luminance(ev), luminance(ev, 14)) == pytest.approx((k12, k14))
    assert (illuminance(ev), illuminance(ev, 340)) == pytest.approx((c250, c340))


def test_the_limits_of_iso_2721_are_whole_exposure_values():
    # ISO 2721:2013 asks for a range from 4 to 4096 cd/m2: EV 5 and EV 15 at ISO 100 with K 12.5
    assert math.log2(4 * 100 / 12.5) == 5
    assert luminance(15) == 4096


def test_the_example_of_the_colour_library():
    # N 8, t 1 s, ISO 100, K 12.5: L = 8.0 cd/m2 (standards' facts, section 12, no. 10)
    assert luminance(exposure_value(8, 1)) == pytest.approx(8.0)


def test_k_14_is_told_to_lie_outside_the_standard():
    assert K_LIMITS == (10.6, 13.4)
    assert "K 14, which lies outside ISO 2720's 10.6 to 13.4" in told(tell_ev(TABLES, 15))


@pytest.mark.parametrize("ev", range(-6, 17))
def test_every_pair_of_an_exposure_value_has_it(ev):
    # N^2/t = 2^EV for each pair that is told, by the exact values
    says = tell_ev(TABLES, float(ev)).headline.says
    pairs = [one.split() for one in says.rstrip(".").split(", ")]
    assert pairs
    for stop, time in pairs:
        n, t = readings(TABLES, stop, "stop")[0].exact, readings(TABLES, time, "time")[0].exact
        assert n * n / t == pytest.approx(2.0**ev)


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("1/60", "stands for 15.625 ms (1/64 s), Tv 6; at its word +0.093 EV"),
        ("f/5.6", "stands for 5.65685, Av 5; at its word +0.029 EV"),
        ("1.2", "third stops: stands for 1.25992"),
        ("1/50", "old times of front shutters: 20 ms, taken at its word"),
        ("1/70", "In no series here; at its word 14.285714 ms"),
        ("f/8 1/125", "EV 13; with the markings at their word 12.966"),
        ("1/125 8", "EV 13"),
        ("ev 15", "f/16 1/125"),
        ("8s", "stands for 8 s, Tv -3"),
        ("half-stops", "2 to one EV"),
        ("old-leaf-times", "steps from 0.26 to 1.32 EV"),
    ],
)
def test_what_is_typed_is_understood(typed, says):
    assert says in told(tell_markings(TABLES, tuple(typed.split())))


@pytest.mark.parametrize(
    "typed", ["1/0", "0", "f/0", "ev x", "ev 99", "-1", "f/", "1/", "nonsense", "f/8 f/5.6"]
)
def test_what_is_none_is_refused_in_one_line(typed):
    with pytest.raises(ValueError, match=r"is no|is none") as refused:
        tell_markings(TABLES, tuple(typed.split()))
    assert "\n" not in str(refused.value)
