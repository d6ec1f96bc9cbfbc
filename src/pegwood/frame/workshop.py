"""Where one workshop keeps its book and its files, and how it is told apart from the demo's.

A workshop is a folder. Nothing of it lies anywhere else, so that copying the folder copies the workshop.
"""

from __future__ import annotations

import os
import secrets
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from platformdirs import user_data_path

FOLDER_VARIABLE = "PEGWOOD_WORKSHOP"
SHORTEST_KEY = 50


@dataclass(frozen=True)
class WorkshopFolder:
    """The places inside a workshop's folder."""

    root: Path

    @property
    def database(self) -> Path:
        return self.root / "book.sqlite3"

    @property
    def files(self) -> Path:
        """Photographs, recordings and papers, each under the SHA-256 of its content."""
        return self.root / "files"

    @property
    def thumbnails(self) -> Path:
        """Small pictures made from the files; they can be thrown away and are made again."""
        return self.root / "thumbnails"

    @property
    def live(self) -> Path:
        """Sessions in which the bench listens, until they are kept with their job."""
        return self.root / "live"

    @property
    def tables(self) -> Path:
        """The workshop's own rows of the trade's tables, if it has any."""
        return self.root / "tables"

    @property
    def voice(self) -> Path:
        """How the person at this bench sounds, if it was taught; thrown away, it is taught anew."""
        return self.root / "voice"

    @property
    def secret_file(self) -> Path:
        return self.root / "secret.key"

    def secret_key(self) -> str:
        """The key that signs cookies: made at the first start, readable by its owner only."""
        self.root.mkdir(parents=True, exist_ok=True)
        if key := self._kept_key():
            return key
        # Written whole, flushed, and only then given its name: a start that is killed half-way leaves no
        # short key behind. One that a power cut left unusable is made anew.
        unusable = self.secret_file.exists()
        key = secrets.token_urlsafe(50)
        fresh = self.root / f".secret-{secrets.token_hex(6)}"
        _write_through(fresh, key)
        try:
            if unusable:
                fresh.replace(self.secret_file)
            else:
                self._name_it(fresh, key)
        finally:
            fresh.unlink(missing_ok=True)
        _flush_folder(self.root)
        return self._kept_key() or key

    def _name_it(self, fresh: Path, key: str) -> None:
        """Give the key its name unless another start did so first: then that one's stands for both."""
        try:
            os.link(fresh, self.secret_file)
        except FileExistsError:
            pass
        except OSError:  # a memory stick's file system knows no second name for a file
            with suppress(FileExistsError):
                _write_through(self.secret_file, key)

    def _kept_key(self) -> str:
        """
        The key as it lies there; empty if there is none to use.

        After a power cut a file may have its length and hold nothing but noughts: a key anybody can guess.
        """
        try:
            key = self.secret_file.read_bytes().decode("ascii", "replace").strip()
        except FileNotFoundError:
            return ""
        plain = key.isascii() and key.isprintable() and " " not in key
        return key if plain and len(key) >= SHORTEST_KEY else ""


def _write_through(path: Path, text: str) -> None:
    """Write a new file that only its owner may read, down to the disk."""
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "w", encoding="ascii") as out:
        out.write(text)
        out.flush()
        os.fsync(out.fileno())


def _flush_folder(folder: Path) -> None:
    """Bring a folder's list of names down to the disk, where the system knows how."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def real_workshop() -> Path:
    """The folder used when none is named."""
    return user_data_path("pegwood") / "workshop"


def demo_workshop() -> Path:
    """The demo's folder: beside the real one, never inside it."""
    return user_data_path("pegwood") / "demo"


def current() -> WorkshopFolder:
    """The workshop this process works in: ``PEGWOOD_WORKSHOP``, else the usual folder."""
    named = os.environ.get(FOLDER_VARIABLE)
    return WorkshopFolder(Path(named).expanduser().resolve() if named else real_workshop())
