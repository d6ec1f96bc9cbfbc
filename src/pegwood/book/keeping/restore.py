"""A workshop out of a backup: looked through first, then put in place whole, or not at all."""

from __future__ import annotations

import hashlib
import os
import shutil
import sqlite3
import tempfile
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import IO

from django.db.migrations.loader import MigrationLoader

from pegwood.book.files.store import CHUNK
from pegwood.book.keeping.manifest import DATABASE, MANIFEST, Entry, Manifest, file_entry
from pegwood.book.refusal import Refused

LARGEST_MANIFEST = 256 * 1024**2
Told = Callable[[int, int], None]


def restore(archive: Path, folder: Path, *, told: Told | None = None) -> Manifest:
    """
    Make a workshop's folder out of a backup.

    Everything is unpacked beside the folder and checked (every hash, the book's own integrity, its version)
    before the folder gets its name.

    Raises
    ------
    Refused
        If the folder exists and is not empty, or anything in the archive is not as its manifest says. Then
        nothing has been changed.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise Refused(f"{folder} is not empty. Restore into a new folder; nothing was overwritten.")
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        coming = Path(tempfile.mkdtemp(prefix=f".{folder.name}-coming-", dir=folder.parent))
    except OSError as error:
        raise Refused(f"{folder} cannot be made: {error.strerror}.") from error
    try:
        with zipfile.ZipFile(archive) as packed:
            manifest = _manifest(packed)
            _refuse_newer(manifest)
            for done, (name, entry) in enumerate(manifest.entries.items(), 1):
                _unpack(packed, name, entry, coming / name)
                if told:
                    told(done, len(manifest.entries))
        _check_book(coming / DATABASE, manifest)
        _flush(coming)
        if folder.exists():
            folder.rmdir()  # empty; Windows renames onto nothing else
        coming.replace(folder)
    except (zipfile.BadZipFile, zlib.error, NotImplementedError, RuntimeError, EOFError) as error:
        raise Refused(f"{archive} is not a whole backup: {error}. Choose another archive.") from None
    except OSError as error:
        raise Refused(f"The backup could not be restored: {error.strerror or error}.") from error
    finally:
        shutil.rmtree(coming, ignore_errors=True)
    return manifest


def _manifest(packed: zipfile.ZipFile) -> Manifest:
    try:
        info = packed.getinfo(MANIFEST)
    except KeyError:
        raise Refused("This archive has no manifest; it is not a backup of Pegwood's.") from None
    if info.file_size > LARGEST_MANIFEST:
        raise Refused("The archive's manifest is far too large; it is not a backup of Pegwood's.")
    with packed.open(info) as content:
        return Manifest.read(content.read(LARGEST_MANIFEST))


def _refuse_newer(manifest: Manifest) -> None:
    known = {f"{app}.{name}" for app, name in MigrationLoader(None).disk_migrations or ()}
    ours = {name.split(".")[0] for name in known}
    newer = [name for name in manifest.schema if name not in known and name.split(".")[0] in ours]
    if newer:
        raise Refused(
            f"A newer Pegwood ({manifest.pegwood}) made this backup; it knows {newer[0]}. "
            "Restore with that one."
        )


def _unpack(packed: zipfile.ZipFile, name: str, entry: Entry, place: Path) -> None:
    try:
        info = packed.getinfo(name)
    except KeyError:
        raise Refused(f"The backup lacks {name}, which its manifest lists. Nothing was restored.") from None
    place.parent.mkdir(parents=True, exist_ok=True)
    with packed.open(info) as content, place.open("wb") as out:
        found = _copy(content, out, entry.size)
        out.flush()
        os.fsync(out.fileno())
    if found != entry.sha256:
        raise Refused(f"{name} in the backup is damaged. Nothing was restored; choose another archive.")


def _copy(content: IO[bytes], out: IO[bytes], size: int) -> str:
    """Copy at most one byte more than promised: an archive that unpacks to more than it says is stopped."""
    digest, left = hashlib.sha256(), size + 1
    while left and (piece := content.read(min(CHUNK, left))):
        digest.update(piece)
        left -= len(piece)
        out.write(piece)
    return digest.hexdigest() if left == 1 else "not the size it should be"


def _check_book(path: Path, manifest: Manifest) -> None:
    book = sqlite3.connect(path)
    try:
        if (state := book.execute("PRAGMA integrity_check").fetchone()[0]) != "ok":
            raise Refused(f"The book in the backup is damaged: {state}. Nothing was restored.")
        if book.execute("PRAGMA foreign_key_check").fetchone():
            raise Refused("The book in the backup points at rows it does not hold. Nothing was restored.")
        listed = {sha256 for (sha256,) in book.execute("SELECT sha256 FROM book_storedfile")}
    except sqlite3.DatabaseError as error:
        raise Refused(f"The book in the backup cannot be opened: {error}. Nothing was restored.") from None
    finally:
        book.close()
    # What the backup says it had to leave out is missed, and named by the caller; the rest must be there.
    promised = listed.difference(manifest.damaged)
    if missing := [sha256 for sha256 in promised if file_entry(sha256) not in manifest.entries]:
        raise Refused(
            f"The backup lacks {len(missing)} files that its book lists, {min(missing)[:12]} among them. "
            "Restore an older backup."
        )


def _flush(folder: Path) -> None:
    if os.name != "posix":
        return
    for place in [folder, *(p for p in folder.rglob("*") if p.is_dir())]:
        handle = os.open(place, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
