"""A book of its own that really commits, for several to work on at once: a copy of the tests' empty one."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.db import connection

from pegwood.book.keeping.schema import bring_up_to_date
from pegwood.frame import database


@contextmanager
def committed(folder: Path) -> Iterator[None]:
    """Let Django work on a copy of the tests' book, in a file or a database beside it; then throw it away."""
    before = dict(connection.settings_dict)
    if connection.vendor == "sqlite":
        connection.ensure_connection()
        held, path = connection.connection, folder / "open.sqlite3"
        copy = sqlite3.connect(path)
        held.backup(copy)
        copy.close()
        connection.connection = None  # put by, not closed: the tests' own book lives in memory
        connection.settings_dict.update(database.sqlite(path))
        try:
            _made_whole()
            yield
        finally:
            connection.close()
            connection.settings_dict.update(before)
            connection.connection = held
        return
    name = before["NAME"]
    template, own = name if name.startswith("test_") else "template0", f"{name}_open"
    connection.close()
    with connection._nodb_cursor() as cursor:
        cursor.execute(f'CREATE DATABASE "{own}" TEMPLATE "{template}"')
    connection.settings_dict["NAME"] = own
    try:
        _made_whole()
        yield
    finally:
        connection.close()
        connection.settings_dict["NAME"] = name
        with connection._nodb_cursor() as cursor:
            cursor.execute(f'DROP DATABASE "{own}" WITH (FORCE)')


def _made_whole() -> None:
    """Where no test of this run asked for a book there is none yet to copy."""
    if "book_job" not in connection.introspection.table_names():
        bring_up_to_date()
