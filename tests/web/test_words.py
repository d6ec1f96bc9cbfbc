"""Values as a person reads them."""

from datetime import UTC, date, datetime, timedelta
from typing import get_args
from zoneinfo import ZoneInfo

import pytest

from pegwood.instruments.rangefinder.results import FinderVerdict
from pegwood.instruments.verdicts import Verdict
from pegwood.web import words
from pegwood.web.templatetags import bench

FRIDAY = date(2024, 5, 3)
NOON = datetime(2024, 5, 3, 12, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("days", "said"),
    [
        (0, "today"),
        (1, "tomorrow"),
        (-1, "yesterday"),
        (9, "in 9 days"),
        (-13, "13 days ago"),
        (14, "in 2 weeks"),
        (59, "in 8 weeks"),
        (61, "in 2 months"),
        (-800, "2 years ago"),
    ],
)
def test_a_day_is_said_by_how_far_it_is(days, said):
    assert words.away(FRIDAY + timedelta(days=days), FRIDAY) == said


@pytest.mark.parametrize(
    ("past", "said"),
    [
        (timedelta(seconds=20), "just now"),
        (timedelta(minutes=1), "1 minute ago"),
        (timedelta(minutes=59), "59 minutes ago"),
        (timedelta(hours=23), "23 hours ago"),
        (timedelta(days=1), "1 day ago"),
        (timedelta(days=30), "4 weeks ago"),
    ],
)
def test_a_moment_is_said_by_how_long_it_is_past(past, said):
    assert words.ago(NOON - past, NOON) == said


def test_a_moment_is_shown_in_the_workshops_own_time():
    # In May Oslo keeps summer time, two hours ahead of UTC.
    assert words.moment(NOON, ZoneInfo("Europe/Oslo"), "en_GB") == "3 May 2024, 14:00"


def test_a_day_is_written_as_the_workshops_country_writes_it():
    assert words.day(FRIDAY, "nl_NL") == "3 mei 2024"


def test_a_promise_says_first_that_it_is_late():
    assert words.promise(FRIDAY - timedelta(days=2), FRIDAY, "en_GB") == "2 days late, promised 1 May"


def test_a_job_that_is_over_is_never_late():
    assert words.promise(FRIDAY - timedelta(days=2), FRIDAY, "en_GB", is_over=True) == "promised 1 May"


def test_nothing_promised_says_nothing():
    assert words.promise(None, FRIDAY, "en_GB") == ""


def test_a_day_far_off_keeps_its_year():
    assert words.near_day(date(2026, 5, 3), FRIDAY, "en_GB") == "3 May 2026"
    assert words.near_day(date(2024, 12, 31), FRIDAY, "en_GB") == "31 Dec"


@pytest.mark.parametrize(
    ("value", "said"), [(0, "0 min"), (45, "45 min"), (60, "1 h"), (80, "1 h 20 min"), (130, "2 h 10 min")]
)
def test_minutes_of_work_are_said_in_hours(value, said):
    assert words.minutes(value) == said


def test_every_verdict_of_the_instruments_has_a_shape_and_a_colour_of_its_own():
    assert set(words.SHAPES) == {*get_args(Verdict), *get_args(FinderVerdict)}
    assert len({words.SHAPES[verdict] for verdict in get_args(Verdict)}) == len(get_args(Verdict))


def test_what_was_looked_for_is_cut_out_of_the_excerpt():
    pieces = words.hits("…blades \x02oil\x03 film, \x02oily\x03")
    assert pieces == [(False, "…blades "), (True, "oil"), (False, " film, "), (True, "oily")]


def test_an_excerpt_without_a_hit_stays_whole():
    assert words.hits("leather case") == [(False, "leather case")]


@pytest.mark.parametrize(
    ("figure", "glued"),
    [
        ("39.83 ± 0.46 ms", "39.83 ±\u00a00.46\u00a0ms"),
        ("+0.14 ± 0.02 EV", "+0.14 ±\u00a00.02\u00a0EV"),
        ("no time", "no time"),
    ],
)
def test_a_figure_breaks_before_its_uncertainty_if_at_all(figure, glued):
    assert bench.glued(figure) == glued
