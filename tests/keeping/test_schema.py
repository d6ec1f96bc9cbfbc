"""The book is brought to the shape this program writes, whole or not at all."""

import sqlite3
from importlib import import_module

import pytest
from django.core.management import call_command
from django.db import connection

from pegwood.book.gauging import WAYS, keep_gauging, typed_figures
from pegwood.book.keeping import schema
from pegwood.book.models import Measurement
from pegwood.book.refusal import Refused


def tables(path):
    book = sqlite3.connect(path)
    try:
        return {row[0] for row in book.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    finally:
        book.close()


@pytest.fixture
def old_book(book):
    """A book as it was before anything was ever written into it."""
    connection.close()
    for path in book.parent.glob("book.sqlite3*"):
        path.unlink()
    return book


def test_a_new_book_gets_everything(old_book):
    assert "book.0001_the_book" in schema.bring_up_to_date()
    assert schema.pending() == []
    assert {"book_job", "book_diaryentry", "book_search_fts"} <= tables(old_book)


def test_a_book_that_is_up_to_date_is_left_alone(book):
    assert schema.bring_up_to_date() == []


def test_foreign_keys_are_watched_again_afterwards(old_book):
    schema.bring_up_to_date()
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA foreign_keys")
        assert cursor.fetchone() == (1,)


@pytest.fixture
def broken_second_migration():
    statements = import_module("pegwood.book.migrations.0002_guards").SQLITE
    statements.append("CREATE TABLE this is not SQL")
    yield
    statements.pop()


def test_what_fails_half_way_leaves_the_old_book(old_book, broken_second_migration):
    with pytest.raises(Exception, match="syntax error"):
        schema.bring_up_to_date()
    assert not tables(old_book) - {"sqlite_sequence"}


def test_a_newer_programs_book_is_refused(book):
    with connection.cursor() as cursor:
        cursor.execute(
            "INSERT INTO django_migrations (app, name, applied) VALUES ('book', '9999_future', '2031-01-01')"
        )
    with pytest.raises(Refused, match="newer Pegwood"):
        schema.bring_up_to_date()


def test_the_book_is_kept_as_it_must_be_to_outlive_a_power_cut(book):
    with connection.cursor() as cursor:
        found = {}
        for name in ("journal_mode", "synchronous", "foreign_keys", "recursive_triggers"):
            cursor.execute(f"PRAGMA {name}")
            found[name] = cursor.fetchone()[0]
    # 2 is FULL in SQLite's own documentation of "PRAGMA synchronous"
    assert found == {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "recursive_triggers": 1}


def test_the_calibrations_can_be_taken_back_and_brought_again(book):
    call_command("migrate", "book", "0002", verbosity=0)
    assert "book_calibration" not in tables(book)
    brought = [
        "0003_calibrations",
        "0004_made_of",
        "0005_waits_until",
        "0006_strip_down",
        "0007_causes",
        "0008_spares",
        "0009_billing",
        "0010_quoting",
        "0011_gauging",
        "0012_ways",
        "0013_hearing",
    ]
    assert schema.bring_up_to_date() == [f"book.{name}" for name in brought]
    assert "book_calibration" in tables(book)


def test_readings_of_before_learn_which_way_they_were_taken(job):
    table = typed_figures(WAYS["meter"].columns, [("5", "5.5", "up")], "meter.csv")
    kept = keep_gauging(job, WAYS["meter"], [table], said={}, by="Tove Halm")
    call_command("migrate", "book", "0011", verbosity=0)
    schema.bring_up_to_date()
    assert Measurement.objects.get(pk=kept.pk).way == "meter"
