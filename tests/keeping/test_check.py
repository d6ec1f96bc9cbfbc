"""Whether everything is still as it was written: each kind of damage is done here, and must be seen."""

import io
import os
from datetime import timedelta
from uuid import UUID

import pytest
from django.db import connection
from django.utils import timezone

from pegwood.book import drafts
from pegwood.book.files import read, store
from pegwood.book.keeping import check
from pegwood.book.keeping.check import examine
from pegwood.book.models import Draft, SearchEntry, StoredFile


def damage(report):
    return [remark.text for remark in report.remarks if remark.damage]


def make_old(path):
    os.utime(path, (0, 0))


def test_a_sound_workshop_is_sound(job):
    report = examine()
    assert report.is_sound
    assert (report.files, report.remarks) == (1, ())
    assert report.version.startswith("00")


def test_a_changed_file_is_seen(job):
    file = StoredFile.objects.get()
    path = store().path(file.sha256)
    content = bytearray(path.read_bytes())
    content[100] ^= 1  # one bit
    path.write_bytes(content)
    assert "damaged" in damage(examine())[0]


def test_a_lost_file_is_seen_with_the_name_it_came_by(job):
    store().path(StoredFile.objects.get().sha256).unlink()
    (text,) = damage(examine())
    assert "is gone" in text
    assert "front.png" in text


@pytest.mark.parametrize("guard", check.GUARDS["sqlite"])
def test_a_book_without_one_of_its_guards_is_seen(job, guard):
    with connection.cursor() as cursor:
        cursor.execute(f"DROP TRIGGER {guard}")
    assert guard in damage(examine())[0]


def test_a_row_that_points_nowhere_is_seen(job):
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA foreign_keys=OFF")
        cursor.execute("INSERT INTO book_searchentry (title, body, job_id) VALUES ('x', 'y', 999)")
    assert any("book_searchentry" in text for text in damage(examine()))


def test_an_index_that_does_not_fit_the_book_is_seen(job):
    with connection.cursor() as cursor:
        cursor.execute("DROP TRIGGER search_follows_update")
    SearchEntry.objects.update(body="something else")
    assert any("look things up" in text for text in damage(examine()))


def test_a_book_of_a_newer_program_is_seen(job):
    with connection.cursor() as cursor:
        cursor.execute(
            "INSERT INTO django_migrations (app, name, applied)"
            " VALUES ('book', '9999_from_the_future', '2031-01-01')"
        )
    assert any("9999_from_the_future" in text for text in damage(examine()))


def test_a_drafts_photograph_that_is_gone_is_seen(job):
    Draft.objects.create(
        ticket="11111111-2222-4333-8444-555555555555", form="take-in", changed_at=job.arrived_at,
        photos=[{"sha256": "ab" * 32, "name": "x.jpg"}],
    )  # fmt: skip
    assert "lacks a photograph" in damage(examine())[0]


def test_nothing_is_thrown_away_while_there_is_damage(job):
    store().path(StoredFile.objects.get().sha256).unlink()
    stray = store().root / "ab" / ("ab" * 32)
    stray.parent.mkdir(exist_ok=True)
    stray.write_bytes(b"stray")
    make_old(stray)
    assert not examine(tidy=True).is_sound
    assert stray.exists()


def test_the_photograph_of_a_form_given_up_is_tidied_with_its_row(job):
    old = timezone.now() - timedelta(days=2)
    ticket = UUID(int=7)
    drafts.add_draft_photo(
        ticket, "take-in", io.BytesIO(read(job.photos.get().file) + b"more"), "a.png", at=old
    )
    drafts.drop_draft(ticket)
    given_up = StoredFile.objects.exclude(photos__job=job).get()
    make_old(store().path(given_up.sha256))
    assert "nothing in the book uses" in examine().remarks[0].text
    examine(tidy=True)
    assert not store().path(given_up.sha256).exists()
    assert StoredFile.objects.get() == job.photos.get().file
    assert examine().remarks == ()


def test_strays_are_named_once_old_and_tidied_only_when_asked(job):
    stray = store().root / "ab" / ("ab" * 32)
    stray.parent.mkdir(exist_ok=True)
    stray.write_bytes(b"stray")
    half = store().root / "coming" / "half"
    half.write_bytes(b"half")
    assert examine().remarks == (), "an upload may be under way: what is new is left alone"
    make_old(stray)
    make_old(half)
    report = examine()
    assert report.is_sound, "a stray is untidy, not damage"
    assert len(report.remarks) == 2
    assert stray.exists()
    assert half.exists()
    examine(tidy=True)
    assert not stray.exists()
    assert not half.exists()
    assert examine().remarks == ()
