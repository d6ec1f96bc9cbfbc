"""The diary cannot be rewritten: not by this program, nor by anything that speaks to the database."""

import pytest
from django.db import DatabaseError, connection, transaction

from pegwood.book.models import DiaryEntry

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE book_diaryentry SET text = 'never happened'",
        "DELETE FROM book_diaryentry",
    ],
)
def test_the_database_itself_refuses(arrived, statement):
    with (
        pytest.raises(DatabaseError, match="append-only"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(statement)
    assert arrived.diary.get(what="took in").text == "found in a cellar, shutter sticks"


def test_replacing_a_row_is_refused_too(arrived):
    entry = arrived.diary.get(what="took in")
    if connection.vendor != "sqlite":
        # keys checked now, and what points here emptied too: else PostgreSQL refuses for its own reasons
        statement = "SET CONSTRAINTS ALL IMMEDIATE; TRUNCATE book_diaryentry CASCADE"
    else:
        statement = f"REPLACE INTO book_diaryentry SELECT * FROM book_diaryentry WHERE id = {entry.pk}"
    with (
        pytest.raises(DatabaseError, match="append-only"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(statement)


def test_nothing_else_that_opens_the_book_can_replace_a_row(arrived):
    if connection.vendor != "sqlite":
        return  # there is no REPLACE on PostgreSQL, and its triggers ask no connection
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA recursive_triggers=OFF")  # as any other program would come
    entry = arrived.diary.get(what="took in")
    with (
        pytest.raises(DatabaseError, match="append-only"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(f"REPLACE INTO book_diaryentry SELECT * FROM book_diaryentry WHERE id = {entry.pk}")
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA recursive_triggers=ON")


def test_the_program_cannot_either(arrived):
    entry = arrived.diary.first()
    entry.text = "never happened"
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        entry.save()
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        DiaryEntry.objects.all().delete()


def test_a_job_with_a_diary_cannot_be_deleted(arrived):
    with pytest.raises(Exception, match="protected foreign keys"):
        arrived.delete()
