"""Figures of the shutter in words."""

import pytest
from shutter_results import THIRD, made

from pegwood.web import readouts

# GUM: two significant digits of the half-width, the value to the same place (JCGM 100:2008, 7.2.6, memory).


def test_a_time_is_written_with_half_its_95_percent_interval():
    assert readouts.time_figure(0.0105283, (0.0105283 - 0.000179, 0.0105283 + 0.000179), "en_GB") == (
        "10.53 ± 0.18 ms"
    )


def test_an_error_carries_its_sign():
    assert readouts.error_figure(0.0721, (0.0597, 0.0845), "en_GB") == "+0.07 ± 0.02 EV"


def test_figures_follow_the_country_of_the_workshop():
    assert readouts.time_figure(0.0105283, (0.0103493, 0.0107073), "nl_NL") == "10,53 ± 0,18 ms"


def test_a_figure_that_is_not_there_is_empty():
    assert readouts.time_figure(None, None, "en_GB") == ""
    assert readouts.error_figure(None, None, "en_GB") == ""


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        (-1 / 3, 1 / 3, "−0.33 to +0.33 EV"),
        (None, 0.75, "at most +0.75 EV"),
        (-0.5, None, "at least −0.5 EV"),
        (None, None, ""),
    ],
)
def test_a_limit_is_said_in_words(low, high, words):
    assert readouts.limit_words(low, high, "en_GB") == words


def test_a_group_says_its_verdict_its_limit_and_whose_it_is():
    group = readouts.group(made("1/125", 0.1).to_json(), "en_GB")
    assert (group.verdict, group.limit) == ("within", "−0.33 to +0.33 EV")
    assert (group.limit_source, group.limit_mark) == (THIRD.source, "practice")


def test_the_target_says_how_the_marking_was_read():
    # 1/125 stands for 1/128 s (ISO 516's doubling series is memory; the powers of two are arithmetic)
    assert readouts.group(made("1/125", 0.1).to_json(), "en_GB").target == "7.813 ms (the exact power of two)"
    assert "no power of two" in readouts.group(made("1/100", 0.1).to_json(), "en_GB").target


def test_the_budget_of_a_firing_names_its_largest_component_first():
    lines = readouts.budget(
        [
            {"name": "clock", "u": 1e-7, "df": None, "kind": "B"},
            {"name": "noise", "u": 2e-5, "df": 9.0, "kind": "A"},
        ],
        "en_GB",
    )
    assert [(line.name, line.degrees) for line in lines] == [("noise", "9"), ("clock", "∞")]


def test_a_figure_with_few_degrees_of_freedom_gets_students_wider_interval():
    # t for 95 % and 2 degrees of freedom is 4.303 (tables of Student's t, memory): 0.1 EV becomes 0.43
    result = made("1/125", 0.1).to_json()
    result["summary"] |= {"first_firing_ev": 0.2, "first_firing_u_ev": 0.1, "first_firing_df": 2.0}
    assert readouts.group(result, "en_GB").first_firing == "+0.20 ± 0.43 EV"


def test_a_bounce_stands_among_the_remarks():
    result = made("1/125", 0.1, n=1).to_json()
    result["shots"][0] |= {"bounce": True, "bounce_extra_s": 0.0005}
    (firing,) = readouts.firings(result, "en_GB")
    assert firing.remarks == ("bounce, adds 0.5 ms",)


def test_channels_are_named_only_where_there_are_several():
    result = made("1/125", 0.1, n=2).to_json()
    assert [f.seen_by for f in readouts.firings(result, "en_GB")] == ["", ""]
    result["shots"][1]["channel"] = 1
    assert [f.seen_by for f in readouts.firings(result, "en_GB")] == ["channel 0", "channel 1"]


@pytest.mark.parametrize(
    ("shutter", "year", "first"),
    [
        ("leaf", 1938, "1/25"),
        ("leaf", 1968, "1/30"),
        ("leaf", None, "1/30"),
        ("focal-plane", 1938, "1/20"),
    ],
)
def test_the_dial_offered_first_fits_the_age_of_the_camera(shutter, year, first):
    dial = readouts.dials(shutter, year)[0]
    assert first in [tile.marked for tile in dial.tiles]


def test_what_was_measured_already_tells_more_than_the_year():
    dial = readouts.dials("leaf", 1968, measured=["1/25", "1"])[0]
    assert "1/50" in [tile.marked for tile in dial.tiles]


def test_no_marking_is_offered_twice_and_none_is_missing():
    from pegwood.instruments.shutter import SERIES

    offered = [tile.marked for dial in readouts.dials("leaf", 1950) for tile in dial.tiles]
    assert len(offered) == len(set(offered))
    assert set(offered) == {t for series in SERIES.values() for t in series.times} | {"B", "T"}


def test_tiles_carry_what_was_accepted():
    tiles = readouts.dials("leaf", 1950, found=["1/25"], left=["1/25", "1/50"])[0].tiles
    marks = {tile.marked: (tile.has_found, tile.has_left) for tile in tiles}
    assert (marks["1/25"], marks["1/50"], marks["1/100"]) == ((True, True), (False, True), (False, False))


def test_speeds_are_ordered_as_on_a_dial():
    assert sorted(["B", "1/250", "1", "T", "1/25"], key=readouts.slowest_first) == [
        "1", "1/25", "1/250", "B", "T",
    ]  # fmt: skip
