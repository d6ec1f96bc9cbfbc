"""The clock of the bench: what it counts, what it asks about, how it is put right."""

from datetime import UTC, datetime, timedelta

import pytest
from django.db import DatabaseError, transaction

from book.cast import BENNO, BY, REFLEX
from pegwood.book import arriving, leaving, moving
from pegwood.book.billing import clock
from pegwood.book.billing.clock import Hands
from pegwood.book.models import ClockEntry
from pegwood.book.refusal import Refused
from pegwood.book.workshop import change_settings

pytestmark = pytest.mark.django_db
NINE = datetime(2031, 3, 4, 9, 0, tzinfo=UTC)
MINUTE = timedelta(minutes=1)


def ran(job, minutes: float, begin=NINE):
    clock.start(job, by=BY, at=begin)
    return clock.stop(job, by=BY, at=begin + minutes * MINUTE)


@pytest.mark.parametrize(("ran_for", "counts"), [(25, 25), (25.4, 25), (25.5, 26), (0.2, 0), (240, 240)])
def test_a_run_counts_its_minutes(on_the_bench, ran_for, counts):
    assert ran(on_the_bench, ran_for).minutes == counts


def test_runs_add_up(on_the_bench):
    ran(on_the_bench, 25)
    ran(on_the_bench, 10, NINE + timedelta(hours=2))
    shown = clock.face(on_the_bench, NINE + timedelta(hours=3))
    assert (shown.hands, shown.minutes) == (Hands.STILL, 35)


def test_while_it_runs_its_minutes_are_seen_and_not_counted(on_the_bench):
    clock.start(on_the_bench, by=BY, at=NINE)
    shown = clock.face(on_the_bench, NINE + 12 * MINUTE)
    assert (shown.hands, shown.running_minutes, shown.minutes) == (Hands.RUNS, 12, 0)


@pytest.mark.parametrize(
    ("begin", "minutes"),
    [(NINE, 241), (datetime(2031, 3, 4, 23, 50, tzinfo=UTC), 20), (NINE, 60 * 24 * 3)],
    ids=["too long", "over midnight", "over a weekend"],
)
def test_a_forgotten_clock_is_asked_about_and_never_counted(on_the_bench, begin, minutes):
    assert ran(on_the_bench, minutes, begin) is None
    assert not ClockEntry.objects.exists()
    shown = clock.face(on_the_bench, begin + timedelta(days=9))
    assert (shown.hands, shown.running_minutes) == (Hands.ASKED, minutes)


def test_it_is_noticed_before_anybody_stops_it(on_the_bench):
    clock.start(on_the_bench, by=BY, at=NINE)
    assert clock.face(on_the_bench, NINE + timedelta(hours=5)).hands is Hands.ASKED


def test_midnight_is_the_workshops_own(on_the_bench):
    change_settings({"time_zone": "Asia/Tokyo"}, by=BY)  # 15:00 UTC is midnight there
    assert ran(on_the_bench, 20, datetime(2031, 3, 4, 14, 50, tzinfo=UTC)) is None


def test_what_was_told_of_it_counts(on_the_bench):
    ran(on_the_bench, 600)
    entry = clock.settle(on_the_bench, 45, by=BY)
    assert (entry.kind, entry.minutes) == ("told", 45)
    assert clock.face(on_the_bench, NINE).hands is Hands.STILL


@pytest.mark.parametrize("minutes", [-1, 601])
def test_more_than_it_ran_cannot_be_told(on_the_bench, minutes):
    ran(on_the_bench, 600)
    with pytest.raises(Refused, match="0 to 600"):
        clock.settle(on_the_bench, minutes, by=BY)


def test_nothing_starts_before_a_forgotten_run_is_told(on_the_bench):
    ran(on_the_bench, 600)
    with pytest.raises(Refused, match="Say first"):
        clock.start(on_the_bench, by=BY)


def test_one_pair_of_hands_works_on_one_camera(on_the_bench):
    other = arriving.take_in(BENNO, REFLEX, by=BY)
    clock.start(other, by=BY, at=NINE)
    clock.start(on_the_bench, by=BY, at=NINE + 30 * MINUTE)
    assert clock.face(other, NINE + 40 * MINUTE).minutes == 30
    clock.start(other, by="Pim, apprentice", at=NINE + 35 * MINUTE)
    assert clock.face(on_the_bench, NINE + 40 * MINUTE).hands is Hands.RUNS


def test_a_clock_started_twice_or_stopped_twice_says_so(on_the_bench):
    clock.start(on_the_bench, by=BY, at=NINE)
    with pytest.raises(Refused, match="runs already"):
        clock.start(on_the_bench, by=BY, at=NINE + MINUTE)
    clock.stop(on_the_bench, by=BY, at=NINE + MINUTE)
    with pytest.raises(Refused, match="does not run"):
        clock.stop(on_the_bench, by=BY)


def test_it_stops_when_the_camera_leaves_the_bench(on_the_bench):
    clock.start(on_the_bench, by=BY, at=NINE)
    moving.let_wait(on_the_bench, "part", by=BY, at=NINE + 15 * MINUTE)
    assert clock.face(on_the_bench, NINE + 30 * MINUTE).minutes == 15


def test_a_wrong_count_is_put_right_by_a_counter_entry(on_the_bench):
    ran(on_the_bench, 60)
    clock.correct(on_the_bench, -15, "talked on the telephone", by=BY, at=NINE + 90 * MINUTE)
    assert [entry.minutes for entry in on_the_bench.clock_entries.all()] == [60, -15]
    with pytest.raises(Refused, match="Only 45"):
        clock.correct(on_the_bench, -46, "more", by=BY)


@pytest.mark.parametrize(("minutes", "why"), [(0, "nothing"), (5, " ")])
def test_a_counter_entry_says_how_much_and_why(on_the_bench, minutes, why):
    with pytest.raises(Refused):
        clock.correct(on_the_bench, minutes, why, by=BY)


def test_the_database_itself_keeps_what_was_counted(on_the_bench):
    entry = ran(on_the_bench, 60)
    for deed in (lambda: ClockEntry.objects.filter(pk=entry.pk).update(minutes=600), entry.delete):
        with pytest.raises(DatabaseError, match="counter-entry"), transaction.atomic():
            deed()


def test_a_job_that_is_over_has_no_clock(on_the_bench):
    leaving.send_back_unmended(on_the_bench, "too far gone", by=BY)
    with pytest.raises(Refused, match="over"):
        clock.start(on_the_bench, by=BY)
