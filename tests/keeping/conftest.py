"""A workshop with a job and a photograph in it, in a real file: what is kept must outlive its process."""

from __future__ import annotations

import io
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.db import connection
from PIL import Image
from pytest_django import DjangoDbBlocker

from pegwood.book import arriving, looking
from pegwood.book.arriving import CameraDetails, OwnerDetails
from pegwood.book.keeping.schema import bring_up_to_date
from pegwood.book.models import Job
from pegwood.frame import database
from pegwood.frame.workshop import WorkshopFolder


class BookInAFile:
    """Turns Django's connection to a book in a file, and back to the tests' own."""

    def __init__(self) -> None:
        self.before = dict(connection.settings_dict)
        self.in_memory = connection.connection

    def open(self, path: Path) -> None:
        # Put by, not closed: the tests' own book lives in memory and would be gone.
        connection.connection = None
        connection.settings_dict.update(database.sqlite(path))

    def close(self) -> None:
        connection.close()
        connection.settings_dict.update(self.before)
        connection.connection = self.in_memory


@pytest.fixture(scope="session")
def empty_book(
    django_db_setup: None, django_db_blocker: DjangoDbBlocker, tmp_path_factory: pytest.TempPathFactory
) -> Path:
    """A book brought up to date, with nothing in it, to be copied."""
    path = tmp_path_factory.mktemp("book") / "empty.sqlite3"
    with django_db_blocker.unblock():
        turned = BookInAFile()
        turned.open(path)
        try:
            bring_up_to_date()
        finally:
            turned.close()
    return path


@pytest.fixture
def book(
    empty_book: Path, workshop_folder: WorkshopFolder, django_db_blocker: DjangoDbBlocker
) -> Iterator[Path]:
    """The workshop's own book, in its folder; the path of it."""
    shutil.copy(empty_book, workshop_folder.database)
    with django_db_blocker.unblock():
        turned = BookInAFile()
        turned.open(workshop_folder.database)
        try:
            yield workshop_folder.database
        finally:
            turned.close()


@pytest.fixture
def job(book: Path) -> Job:
    taken = arriving.take_in(
        OwnerDetails(name="Ilse Marrick"),
        CameraDetails(family="box", maker="Vorrin", serial="A-20417"),
        by="bench",
        story="found in a cellar",
    )
    out = io.BytesIO()
    Image.effect_noise((320, 240), 60).save(out, "PNG")
    out.seek(0)
    looking.add_photo(taken, out, name="front.png", by="bench")
    return taken
