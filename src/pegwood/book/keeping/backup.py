"""
One archive with everything: the book, every file, and the jobs as plain lines of JSON.

It is a ZIP file, so that any machine opens it without Pegwood.
"""

from __future__ import annotations

import hashlib
import json
import os
import sqlite3
import tempfile
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import IO

from django.conf import settings
from django.db import connection, connections
from django.db.migrations.recorder import MigrationRecorder

import pegwood
from pegwood.book.files.store import CHUNK, Damaged, store
from pegwood.book.keeping import export
from pegwood.book.keeping.manifest import (
    DATABASE,
    JOBS,
    MANIFEST,
    OWN,
    Entry,
    Manifest,
    file_entry,
    is_own,
)
from pegwood.book.refusal import Refused

Told = Callable[[int, int], None]


@dataclass(frozen=True)
class Backup:
    """What was made. `damaged` names stored files that were left out because they are no longer whole."""

    path: Path
    files: int
    size: int
    damaged: tuple[str, ...]


def back_up(target: Path, *, at: datetime, told: Told | None = None) -> Backup:
    """
    Write a backup of the whole workshop to `target`, which must not exist yet.

    Work may go on meanwhile: the book is copied as it stood at one moment, and stored files never change.

    Raises
    ------
    Refused
        If `target` exists, cannot be written, or the book is on a shared server.
    """
    if connection.vendor != "sqlite":
        raise Refused(
            "This book is on a shared server. Back it up there (pg_dump), with the folder of files."
        )
    if target.exists():
        raise Refused(f"{target} exists already. Name another file; nothing was overwritten.")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".pegwood-", dir=target.parent) as scratch:
            fresh = Path(scratch) / "backup.zip"
            files, damaged = _write(fresh, Path(scratch), at, told)
            with fresh.open("rb+") as out:
                os.fsync(out.fileno())
            _put_in_place(fresh, target)
    except FileExistsError:
        raise Refused(f"{target} exists already. Name another file; nothing was overwritten.") from None
    except OSError as error:
        raise Refused(f"The backup could not be written to {target}: {error.strerror}.") from error
    return Backup(target, files, target.stat().st_size, tuple(damaged))


def _put_in_place(fresh: Path, target: Path) -> None:
    # Made empty first: a file that somebody else made meanwhile is refused, not replaced. (A hard link would
    # do the same in one step, but memory sticks know no links.)
    target.touch(exist_ok=False)
    try:
        fresh.replace(target)
    except OSError:
        target.unlink(missing_ok=True)
        raise


def _write(fresh: Path, scratch: Path, at: datetime, told: Told | None) -> tuple[int, list[str]]:
    copy = scratch / DATABASE
    copy_book(copy)
    listed = _listed(copy)
    entries: dict[str, Entry] = {}
    damaged: list[str] = []
    with zipfile.ZipFile(fresh, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        entries[DATABASE] = _add_path(archive, DATABASE, copy)
        entries[JOBS] = _add_jobs(archive, copy)
        for name, path in _own_files():
            entries[name] = _add_path(archive, name, path)
        for done, sha256 in enumerate(listed, 1):
            try:
                entries[file_entry(sha256)] = _add_path(archive, file_entry(sha256), store().verified(sha256))
            except Damaged:
                damaged.append(sha256)
            if told:
                told(done, len(listed))
        had = MigrationRecorder(connection).applied_migrations()
        manifest = Manifest(
            made_at=at.isoformat(),
            pegwood=pegwood.__version__,
            schema=sorted(f"{app}.{name}" for app, name in had),
            entries=entries,
            damaged=damaged,
        )
        archive.writestr(MANIFEST, manifest.to_json())
    return len(listed) - len(damaged), damaged


def _own_files() -> Iterator[tuple[str, Path]]:
    """What the workshop wrote itself, broken files too: somebody will mend them."""
    for folder in OWN:
        for path in sorted((settings.WORKSHOP.root / folder).glob("*.toml")):
            if path.is_file() and is_own(name := f"{folder}/{path.name}"):
                yield name, path


def copy_book(target: Path) -> None:
    """A consistent copy of the book at one moment, made by SQLite itself while others write on."""
    if connection.in_atomic_block:  # SQLite would wait for this very transaction to end, for ever
        raise RuntimeError("a backup is made outside any transaction")
    connection.ensure_connection()
    copy = sqlite3.connect(target)
    try:
        connection.connection.backup(copy)
        # The copy travels alone: without this it would look for a write-ahead log beside it.
        copy.execute("PRAGMA journal_mode=DELETE")
    finally:
        copy.close()


def _listed(copy: Path) -> list[str]:
    # From the copy, not from the live book: a file that came in meanwhile belongs to the next backup.
    book = sqlite3.connect(copy)
    try:
        return [row[0] for row in book.execute("SELECT sha256 FROM book_storedfile ORDER BY sha256")]
    finally:
        book.close()


def _add_path(archive: zipfile.ZipFile, name: str, path: Path) -> Entry:
    with path.open("rb") as content, archive.open(name, "w", force_zip64=True) as out:
        return _copy(content, out)


def _copy(content: IO[bytes], out: IO[bytes]) -> Entry:
    digest, size = hashlib.sha256(), 0
    while piece := content.read(CHUNK):
        digest.update(piece)
        size += len(piece)
        out.write(piece)
    return Entry(digest.hexdigest(), size)


def _add_jobs(archive: zipfile.ZipFile, copy: Path) -> Entry:
    digest, size = hashlib.sha256(), 0
    with _opened(copy) as alias, archive.open(JOBS, "w", force_zip64=True) as out:
        for job in export.jobs(alias):
            line = (json.dumps(job, ensure_ascii=False, sort_keys=True) + "\n").encode()
            digest.update(line)
            size += len(line)
            out.write(line)
    return Entry(digest.hexdigest(), size)


@contextmanager
def _opened(copy: Path) -> Iterator[str]:
    """The copy as a database of Django's, so that the lines of JSON tell of the very same moment."""
    alias = "backup-copy"
    connections.databases[alias] = {
        **connections.databases["default"],
        "NAME": str(copy),
        "OPTIONS": {},
    }
    try:
        yield alias
    finally:
        connections[alias].close()
        del connections[alias]
        del connections.databases[alias]
