"""
Files under the hash of their content.

A file is written beside its place, flushed to the disk, and only then given its name, before the row that
mentions it is committed: a power cut leaves a stray file at the worst, never a row without its file.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import BinaryIO

from django.conf import settings
from django.utils import timezone

from pegwood.book.models import StoredFile
from pegwood.book.refusal import Refused

CHUNK = 1024 * 1024


class Damaged(Refused):
    """A stored file that is gone or is no longer what was stored."""


class FolderStore:
    """Content-addressed files in a folder: ``ab/abcdef...`` under their SHA-256."""

    def __init__(self, root: Path) -> None:
        self.root = root

    def path(self, sha256: str) -> Path:
        """Where a file of that hash lies, or would."""
        if len(sha256) != 64 or not set(sha256) <= set("0123456789abcdef"):
            raise ValueError(f"not a SHA-256 in hexadecimal: {sha256!r}")
        return self.root / sha256[:2] / sha256

    def put(self, content: BinaryIO, *, at_most: int) -> tuple[str, int]:
        """
        Store what can be read from `content`; return its SHA-256 and its size in bytes.

        Raises
        ------
        Refused
            If it is empty or larger than `at_most` bytes, or if the disk is full.
        """
        coming = self.root / "coming"
        coming.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=coming)
        fresh = Path(name)
        try:
            with os.fdopen(handle, "wb") as out:
                sha256, size = _copy(content, out, at_most)
                out.flush()
                os.fsync(out.fileno())
            self._place(fresh, sha256)
        except OSError as error:
            raise Refused(
                f"The file could not be stored: {error.strerror}. Make room on the disk."
            ) from error
        finally:
            fresh.unlink(missing_ok=True)
        return sha256, size

    def _place(self, fresh: Path, sha256: str) -> None:
        home = self.path(sha256)
        home.parent.mkdir(exist_ok=True)
        try:
            # Harmless when it lies there already, and mends a copy that was damaged.
            fresh.replace(home)
        except PermissionError:  # Windows, while somebody is reading it: then it is there
            if not home.exists():
                raise
        for folder in (home.parent, self.root):
            flush_folder(folder)

    def verified(self, sha256: str) -> Path:
        """
        The path of a file whose content was just checked against its hash.

        Raises
        ------
        Damaged
            If it is gone or its content is no longer what was stored.
        """
        path = self.path(sha256)
        try:
            with path.open("rb") as content:
                found = hashlib.file_digest(content, "sha256").hexdigest()
        except FileNotFoundError:
            raise Damaged(f"A stored file is gone: {sha256[:12]}. Restore it from a backup.") from None
        except OSError as error:
            raise Damaged(
                f"A stored file cannot be read: {sha256[:12]} ({error.strerror}). Look after the disk."
            ) from error
        if found != sha256:
            raise Damaged(f"A stored file is damaged: {sha256[:12]}. Restore it from a backup.")
        return path

    def names(self) -> Iterator[str]:
        """The hashes of all files that lie in the store."""
        for path in self.root.glob("[0-9a-f][0-9a-f]/*"):
            if len(path.name) == 64:
                yield path.name

    def unfinished(self) -> list[Path]:
        """What a power cut left half-written."""
        return sorted((self.root / "coming").glob("*"))


def _copy(content: BinaryIO, out: BinaryIO, at_most: int) -> tuple[str, int]:
    digest, size = hashlib.sha256(), 0
    while piece := content.read(CHUNK):
        size += len(piece)
        if size > at_most:
            raise Refused(f"The file is larger than {at_most // 1024**2} MB. Send a shorter or smaller one.")
        digest.update(piece)
        out.write(piece)
    if not size:
        raise Refused("The file is empty. Choose another, or record it again.")
    return digest.hexdigest(), size


def flush_folder(folder: Path) -> None:
    """Bring a folder's list of names down to the disk, where the system knows how."""
    if os.name != "posix":  # only POSIX systems let a folder be flushed
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def store() -> FolderStore:
    """The store of the workshop this process works in."""
    return FolderStore(settings.WORKSHOP.files)


def keep(
    content: BinaryIO, *, name: str, media_type: str, at_most: int, at: datetime | None = None
) -> StoredFile:
    """Store a file and its row. The name is kept to be shown, without any folder in it."""
    sha256, size = store().put(content, at_most=at_most)
    row, _ = StoredFile.objects.get_or_create(
        sha256=sha256,
        defaults={
            "size": size,
            "media_type": media_type,
            "name": clean_name(name),
            "stored_at": at or timezone.now(),
        },
    )
    return row


def read(file: StoredFile) -> bytes:
    """The content of a stored file, checked against its hash."""
    return store().verified(file.sha256).read_bytes()


def verified_path(file: StoredFile) -> Path:
    """The path of a stored file, checked against its hash."""
    return store().verified(file.sha256)


def clean_name(name: str) -> str:
    """The last part of a file's name, without what could fool a screen, a shell or a disk."""
    last = name.replace("\\", "/").rsplit("/", 1)[-1]
    return "".join(c for c in last if c.isprintable() and c not in '<>:"|?*').strip(". ")[-200:]
