"""A book that several threads write to at once, each over a connection of its own."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from django.apps import apps
from django.db import DatabaseError, connection, connections
from pytest_django import DjangoDbBlocker

from keeping.conftest import BookInAFile
from pegwood.book.keeping.schema import bring_up_to_date
from pegwood.book.refusal import Refused


@contextmanager
def shared_book(blocker: DjangoDbBlocker, folder: Path) -> Iterator[None]:
    """The test database of the server, emptied afterwards; in a workshop's own SQLite a file of its own."""
    with blocker.unblock():
        if connection.vendor == "sqlite":
            turned = BookInAFile()
            turned.open(folder / "shared.sqlite3")
            try:
                bring_up_to_date()
                yield
            finally:
                turned.close()
        else:
            try:
                yield
            finally:
                _empty()


def _empty() -> None:
    """The guards refuse to let anything be emptied; they look away for this one session."""
    tables = ", ".join(f'"{model._meta.db_table}"' for model in apps.get_app_config("book").get_models())
    with connection.cursor() as cursor:
        cursor.execute("SET session_replication_role = replica")
        cursor.execute(f"TRUNCATE {tables} RESTART IDENTITY CASCADE")
        cursor.execute("SET session_replication_role = DEFAULT")
    connection.close()


def all_at_once(do: Callable[[int], object], count: int) -> list[object]:
    """What each of so many threads came to, a result or what it raised; all begin at one moment."""
    begin, came_to = threading.Barrier(count), [None] * count

    def run(n: int) -> None:
        try:
            begin.wait(timeout=60)
            came_to[n] = do(n)
        except (Refused, DatabaseError) as error:
            came_to[n] = error
        finally:
            connections.close_all()

    threads = [threading.Thread(target=run, args=(n,)) for n in range(count)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=120)
    return came_to
