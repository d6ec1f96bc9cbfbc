"""Standings change through the use cases only, each leaving a row in the diary."""

from datetime import timedelta

import pytest

from book.cast import BY, MONDAY
from pegwood.book import leaving, moving
from pegwood.book.refusal import Refused

pytestmark = pytest.mark.django_db


def test_a_camera_without_a_finding_is_not_looked_over(arrived):
    with pytest.raises(Refused, match="Nothing is noted yet"):
        moving.look_over(arrived, by=BY)
    arrived.refresh_from_db()
    assert arrived.standing == "arrived"


def test_every_move_is_in_the_diary_with_where_it_stood_before(on_the_bench):
    moved = [(e.old["standing"], e.new["standing"]) for e in on_the_bench.diary.all() if e.old]
    assert moved == [
        ("arrived", "looked over"),
        ("looked over", "priced"),
        ("priced", "agreed"),
        ("agreed", "on the bench"),
    ]


def test_a_job_waits_for_something_and_goes_on_where_it_was(on_the_bench):
    moving.prove(on_the_bench, by=BY)
    waiting = moving.let_wait(on_the_bench, "curing", by=BY)
    assert (waiting.standing, waiting.waiting_for) == ("waiting", "curing")
    went_on = moving.go_on(on_the_bench, by=BY)
    assert (went_on.standing, went_on.waiting_for) == ("proving", "")


def test_a_job_does_not_wait_for_just_anything(on_the_bench):
    with pytest.raises(Refused, match="owner, part, drying, curing"):
        moving.let_wait(on_the_bench, "better days", by=BY)


def test_a_move_that_makes_no_sense_is_refused_and_changes_nothing(priced):
    entries = priced.diary.count()
    with pytest.raises(Refused, match="the owner has not said yes yet"):
        moving.put_on_bench(priced, by=BY)
    priced.refresh_from_db()
    assert priced.standing == "priced"
    assert priced.diary.count() == entries


def test_sending_back_unmended_needs_a_reason(priced):
    with pytest.raises(Refused, match="Why"):
        leaving.send_back_unmended(priced, " ", by=BY)
    assert leaving.send_back_unmended(priced, "too dear", by=BY).standing == "sent back unmended"


def test_keeping_for_parts_needs_the_owners_consent(priced):
    with pytest.raises(Refused, match="owner leave it"):
        leaving.keep_for_parts(priced, "", by=BY)
    assert leaving.keep_for_parts(priced, "by letter", by=BY).standing == "kept for parts"


def test_a_wait_can_say_how_long_and_ends_with_going_on(on_the_bench):
    waiting = moving.let_wait(on_the_bench, "drying", long="2 days", by=BY, at=MONDAY)
    assert waiting.waits_until == MONDAY + timedelta(days=2)
    assert waiting.diary.last().new["waits_until"] == (MONDAY + timedelta(days=2)).isoformat()
    assert moving.go_on(waiting, by=BY).waits_until is None


@pytest.mark.parametrize("long", ["soon", "3", "0 h", "-2 h", "400 days", "3 h or so"])
def test_a_wait_of_no_sensible_length_is_refused(on_the_bench, long):
    with pytest.raises(Refused):
        moving.let_wait(on_the_bench, "curing", long=long, by=BY)
    on_the_bench.refresh_from_db()
    assert on_the_bench.standing == "on the bench"


def test_a_wait_for_a_glue_lasts_until_it_surely_bears_its_load(on_the_bench):
    waiting = moving.let_wait(on_the_bench, "curing", long="contact cement", by=BY, at=MONDAY)
    # a full day is what the bench gives contact cement (facts: full strength after about 24 h)
    assert waiting.waits_until >= MONDAY + timedelta(hours=24)


def test_a_glue_that_nobody_knows_is_refused_with_the_nearest(on_the_bench):
    with pytest.raises(Refused, match=r"Nearest: .*shellac"):
        moving.let_wait(on_the_bench, "curing", long="shelac", by=BY)
