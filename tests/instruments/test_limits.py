"""The workshop's limits by kind of shutter, age and marked time."""

from __future__ import annotations

import pytest

from pegwood.instruments.shutter import (
    AGES,
    KINDS,
    LimitRow,
    MarkedSpeed,
    default_limits,
    limit_for,
    percent_to_ev,
)
from pegwood.instruments.shutter.marked import SERIES


@pytest.mark.parametrize(
    ("percent", "ev"),  # house's fact sheet 1.6, calculated: t ratio = 2^EV
    [
        (5, 0.070),
        (10, 0.138),
        (20, 0.263),
        (-20, -0.322),
        (25, 0.322),
        (30, 0.379),
        (-30, -0.515),
        (41.42, 0.5),
    ],
)
def test_percent_of_the_time_as_ev(percent, ev):
    assert percent_to_ev(percent) == pytest.approx(ev, abs=5e-4)


def test_no_exposure_at_all_has_no_ev():
    with pytest.raises(ValueError, match="no exposure"):
        percent_to_ev(-100)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("age", AGES)
@pytest.mark.parametrize("text", sorted({t for s in SERIES.values() for t in s.times}))
def test_every_marking_of_every_shutter_has_a_limit_with_its_source(kind, age, text):
    limit = limit_for(kind, age, MarkedSpeed.parse(text))
    assert limit is not None
    assert limit.low_ev < 0 < limit.high_ev
    assert limit.source
    assert limit.mark == "practice"


@pytest.mark.parametrize("text", ["B", "T"])
def test_bulb_and_time_have_no_limit(text):
    assert limit_for("leaf", "newer", MarkedSpeed.parse(text)) is None


def test_no_default_claims_to_be_a_standard():
    assert not any("ISO" in row.source for row in default_limits())
    assert all(row.mark == "practice" for row in default_limits())


def test_a_percent_limit_is_not_symmetrical_in_ev_and_says_so():
    limit = limit_for("leaf", "newer", MarkedSpeed.parse("1/30"))
    assert limit.high_ev == pytest.approx(0.263, abs=5e-4)
    assert limit.low_ev == pytest.approx(-0.322, abs=5e-4)
    assert "not symmetrical in EV" in limit.note


def test_the_workshops_own_rows_come_first():
    own = {
        "kind": "any", "age": "any", "slowest_s": 1.0, "fastest_s": 0.001, "unit": "ev",
        "low": -0.2, "high": 0.2, "source": "Agreed with the owner", "mark": "practice",
    }  # fmt: skip
    assert limit_for("leaf", "older", MarkedSpeed.parse("1/125"), [own]).high_ev == 0.2
    assert limit_for("leaf", "older", MarkedSpeed.parse("1/125"), [LimitRow.from_mapping(own)]).low_ev == -0.2
    assert limit_for("leaf", "older", MarkedSpeed.parse("2s"), [own]).high_ev != 0.2


@pytest.mark.parametrize(
    ("change", "complaint"),
    [
        ({"kind": "mirror"}, "kind of shutter"),
        ({"age": "antique"}, "age of a shutter"),
        ({"unit": "stops"}, "'ev' or 'percent'"),
        ({"low": 0.5, "high": 0.2}, "crossed"),
        ({"fastest_s": 0.0}, "above zero"),
        ({"source": ""}, "whose it is"),
        ({"colour": "red"}, "unknown"),
    ],
)
def test_a_row_that_can_not_be_is_refused_with_the_field(change, complaint):
    row = {
        "kind": "leaf", "age": "newer", "slowest_s": 1.0, "fastest_s": 0.001, "unit": "ev",
        "low": -0.2, "high": 0.2, "source": "the workshop", "mark": "practice",
    }  # fmt: skip
    with pytest.raises(ValueError, match=complaint):
        LimitRow.from_mapping(row | change)


def test_an_unknown_kind_or_age_is_refused_with_what_would_do():
    with pytest.raises(ValueError, match="leaf, focal-plane"):
        limit_for("mirror", "newer", MarkedSpeed.parse("1/60"))
    with pytest.raises(ValueError, match="older, newer"):
        limit_for("leaf", "antique", MarkedSpeed.parse("1/60"))
