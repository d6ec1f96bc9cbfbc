"""
A power cut at any moment leaves the old state or the new one.

A child process works in a real workshop and is killed (SIGKILL) at a random moment, again and again. It says
through a pipe when a deed is done; what it said must be there afterwards, whole, and at most one deed more.
"""

from __future__ import annotations

import io
import os
import random
import time
from collections.abc import Callable
from pathlib import Path
from uuid import uuid4

import pytest
from django.db import connection
from PIL import Image

from keeping.killing import expect_sound, killed_while, two_deeds_take
from pegwood.book import arriving, drafts, measuring
from pegwood.book.arriving import CameraDetails, OwnerDetails
from pegwood.book.keeping import schema
from pegwood.book.keeping.check import examine
from pegwood.book.models import Draft, Job, Measurement

pytestmark = pytest.mark.slow

KILLS_OF_DEEDS = 60
KILLS_OF_MIGRATIONS = 9


def noise(seed: int) -> io.BytesIO:
    picture = Image.frombytes("L", (160, 120), random.Random(seed).randbytes(160 * 120))
    out = io.BytesIO()
    picture.save(out, "PNG")
    out.seek(0)
    return out


def take_in_cameras(done: Callable[[], None]) -> None:
    """One take-in after another, each with a photograph kept beforehand, as the page does it."""
    while True:
        ticket = uuid4()
        file = drafts.add_draft_photo(ticket, "take-in", noise(ticket.int), "front.png")
        arriving.take_in(
            OwnerDetails(name=f"Owner {ticket}"), CameraDetails(family="box"), by="bench",
            story=f"story {ticket}", photos=[file], ticket=ticket,
        )  # fmt: skip
        done()


def upload_recordings(done: Callable[[], None]) -> None:
    """One recording after another into the first job."""
    job = Job.objects.get(number=1)
    while True:
        measuring.keep_recording(
            job, io.BytesIO(os.urandom(300_000)), "firings.wav", marked="1/125", by="bench"
        )
        done()


def expect_whole_jobs() -> None:
    for job in Job.objects.select_related("owner", "camera"):
        assert job.diary.filter(what="took in").count() == 1
        if job.ticket is None:
            continue
        assert job.owner.name == f"Owner {job.ticket}"
        assert job.story == f"story {job.ticket}"
        assert job.photos.count() == job.diary.filter(what="added a photograph").count() == 1
        assert not Draft.objects.filter(ticket=job.ticket).exists()
        assert job.search_entry.body


@pytest.mark.parametrize(
    ("work", "kind"), [(take_in_cameras, Job), (upload_recordings, Measurement)], ids=["take-in", "upload"]
)
def test_what_was_done_is_there_and_nothing_is_half_done(book, work, kind):
    arriving.take_in(OwnerDetails(name="Ilse Marrick"), CameraDetails(family="box"), by="bench")
    chance = random.Random(20310303)
    cut_short, longest_s = 0, 0.0
    for i in range(KILLS_OF_DEEDS):
        if i % 20 == 0:
            longest_s = two_deeds_take(work)
        before = kind.objects.count()
        reported = killed_while(work, after_s=chance.uniform(0.0, longest_s))
        came = kind.objects.count() - before
        # A deed may be finished in the instant before the child could say so.
        assert reported <= came <= reported + 1
        cut_short += came == reported
        expect_whole_jobs()
    expect_sound()
    assert cut_short > KILLS_OF_DEEDS / 10, "the kills must hit the middle of deeds, not only the gaps"
    assert kind.objects.count() > KILLS_OF_DEEDS / 4, "and deeds must get done between the kills"


def bring_up_to_date(done: Callable[[], None]) -> None:
    schema.bring_up_to_date()
    done()


def throw_away(book: Path) -> None:
    connection.close()
    for path in book.parent.glob("book.sqlite3*"):
        path.unlink()


def test_a_book_being_brought_up_to_date_is_old_or_new(book: Path):
    throw_away(book)
    begun = time.perf_counter()
    schema.bring_up_to_date()
    whole = time.perf_counter() - begun
    chance = random.Random(20310304)
    old = new = 0
    for _ in range(KILLS_OF_MIGRATIONS):
        throw_away(book)
        killed_while(bring_up_to_date, after_s=chance.uniform(0.0, 2.0 * whole))
        with connection.cursor() as cursor:
            cursor.execute(
                "SELECT count(*) FROM sqlite_master WHERE name LIKE 'book%' OR name LIKE 'django%'"
            )
            (tables,) = cursor.fetchone()
        if tables == 0:
            old += 1
        else:
            new += 1
            assert schema.pending() == []
            assert examine().is_sound
        schema.bring_up_to_date()
        assert examine().is_sound
    assert old > KILLS_OF_MIGRATIONS / 10, "the kills must come before the end, too"
    assert new > KILLS_OF_MIGRATIONS / 10, "and after it"
