"""Where one workshop keeps its book and its files, and how it is told apart from the demo's.

A workshop is a folder. Nothing of it lies anywhere else, so that copying the folder copies the workshop.
"""

from __future__ import annotations

import os
import secrets
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
    def secret_file(self) -> Path:
        return self.root / "secret.key"

    def secret_key(self) -> str:
        """The key that signs cookies: made at the first start, readable by its owner only."""
        self.root.mkdir(parents=True, exist_ok=True)
        if key := self._kept_key():
            return key
        # Written whole, flushed, and only then given its name: a start that is killed half-way leaves no
        # short key behind, and an empty one that a bad disk left is made anew.
        key = secrets.token_urlsafe(50)
        fresh = self.root / f".secret-{secrets.token_hex(6)}"
        handle = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(handle, "w", encoding="ascii") as out:
            out.write(key)
            out.flush()
            os.fsync(out.fileno())
        fresh.replace(self.secret_file)
        # Where two starts raced, the later one's key stands for both.
        return self._kept_key() or key

    def _kept_key(self) -> str:
        try:
            key = self.secret_file.read_text(encoding="ascii")
        except FileNotFoundError:
            return ""
        return key if len(key) >= SHORTEST_KEY else ""


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
