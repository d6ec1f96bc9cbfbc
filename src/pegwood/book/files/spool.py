"""
Sound as it comes in, piece by piece, until it is kept: a folder for each session.

``head.json`` says what is listened to, ``sound.pcm`` holds the readings (24 bits, little-endian, channels
interleaved), ``log.jsonl`` what was done meanwhile, ``heard.jsonl`` what was heard. A piece says at which
frame it begins, so that one sent twice lies where it lay, and one that comes too early is refused with the
frame that is wanted. A line that a power cut left half-written is passed over.
"""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any
from uuid import UUID

import numpy as np
from django.conf import settings
from numpy.typing import NDArray

from pegwood.book.refusal import Refused

BYTES = 3
_FULL = float(2**23)
_FLUSH_S = 2.0  # of sound that a power cut may take
_PIECE = 1 << 16


class NotThere(Refused):
    """A session that is not there: kept already, thrown away, or never begun."""


class Spool:
    """The files of one session. It can be opened as often as wanted; the files alone say what there is."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.head: dict[str, Any] = {}

    @classmethod
    def begin(cls, ticket: UUID, head: dict[str, Any]) -> Spool:
        """Make a session's folder; one that is there already stays as it is."""
        spool = cls(settings.WORKSHOP.live / str(ticket))
        try:
            spool.folder.mkdir(parents=True, exist_ok=True)
            if not spool._path("head.json").exists():
                fresh = spool._path("head.new")
                fresh.write_text(json.dumps(head), encoding="utf-8")
                fresh.replace(spool._path("head.json"))
        except OSError as error:
            raise _no_room(error) from error
        return cls.open(ticket)

    @classmethod
    def open(cls, ticket: UUID) -> Spool:
        """
        A session that was begun.

        Raises
        ------
        NotThere
            If there is none of that ticket.
        """
        spool = cls(settings.WORKSHOP.live / str(ticket))
        try:
            spool.head = json.loads(spool._path("head.json").read_text(encoding="utf-8"))
        except (OSError, ValueError):
            raise NotThere("That session is not there any more: it was kept, or thrown away.") from None
        return spool

    @property
    def ticket(self) -> UUID:
        return UUID(self.folder.name)

    @property
    def rate(self) -> int:
        return int(self.head["rate"])

    @property
    def channels(self) -> int:
        return int(self.head["channels"])

    @property
    def frames(self) -> int:
        """How many whole frames have come in."""
        try:
            return self._path("sound.pcm").stat().st_size // (BYTES * self.channels)
        except FileNotFoundError:
            return 0

    def append(self, at: int, piece: bytes) -> int:
        """
        Lay a piece of sound where it belongs; say how many frames there are now.

        A piece that lies there already changes nothing.

        Raises
        ------
        Refused
            If the disk is full.
        """
        frame = BYTES * self.channels
        have = self.frames
        fresh = piece[max(0, have - at) * frame :]
        if at > have or not fresh:
            return have
        try:
            flags = os.O_WRONLY | os.O_CREAT | getattr(os, "O_BINARY", 0)
            handle = os.open(self._path("sound.pcm"), flags, 0o600)
            with os.fdopen(handle, "wb") as out:
                out.seek(max(at, have) * frame)
                out.write(fresh)
                out.flush()
                every = int(_FLUSH_S * self.rate)
                if self.frames // every != have // every:
                    os.fsync(out.fileno())
        except OSError as error:
            raise _no_room(error) from error
        return self.frames

    def sound(self, start: int, stop: int) -> NDArray[np.float32]:
        """Readings from `start` to `stop` as a fraction of full scale, shape (frames, channels)."""
        frame = BYTES * self.channels
        with suppress(FileNotFoundError), self._path("sound.pcm").open("rb") as file:
            file.seek(start * frame)
            return samples(file.read(max(0, stop - start) * frame), self.channels)
        return np.zeros((0, self.channels), np.float32)

    def pieces(self) -> Iterator[NDArray[np.float32]]:
        """All of the sound, a stretch at a time."""
        for start in range(0, self.frames, _PIECE):
            yield self.sound(start, min(start + _PIECE, self.frames))

    def note(self, name: str, entry: dict[str, Any]) -> None:
        """Add a line to the log (``"log"``) or to what was heard (``"heard"``)."""
        try:
            with self._path(f"{name}.jsonl").open("a", encoding="utf-8") as out:
                out.write("\n" * self._is_torn(name) + json.dumps(entry) + "\n")
        except OSError as error:
            raise _no_room(error) from error

    def noted(self, name: str) -> list[dict[str, Any]]:
        """The lines of the log, or of what was heard."""
        found = []
        with suppress(FileNotFoundError):
            for line in (
                self._path(f"{name}.jsonl").read_text(encoding="utf-8", errors="replace").splitlines()
            ):
                with suppress(ValueError):
                    found.append(json.loads(line))
        return [entry for entry in found if isinstance(entry, dict)]

    def size(self, name: str) -> int:
        """How long the log, or what was heard, is by now, [byte]."""
        with suppress(OSError):
            return self._path(f"{name}.jsonl").stat().st_size
        return 0

    def drop(self) -> None:
        """Take the session's folder away."""
        shutil.rmtree(self.folder, ignore_errors=True)

    def _is_torn(self, name: str) -> bool:
        """Whether a power cut left the last line without its end."""
        with suppress(OSError), self._path(f"{name}.jsonl").open("rb") as file:
            file.seek(-1, os.SEEK_END)
            return file.read(1) != b"\n"
        return False

    def _path(self, name: str) -> Path:
        return self.folder / name


def spools() -> list[Spool]:
    """Every session that is not kept yet, the newest first."""
    found = []
    for folder in sorted(settings.WORKSHOP.live.glob("*"), key=lambda one: one.name):
        with suppress(NotThere, ValueError):
            found.append(Spool.open(UUID(folder.name)))
    return sorted(found, key=lambda one: str(one.head.get("at", "")), reverse=True)


def samples(piece: bytes, channels: int) -> NDArray[np.float32]:
    """24-bit little-endian readings as a fraction of full scale, shape (frames, channels)."""
    whole = len(piece) // (BYTES * channels)
    raw = np.frombuffer(piece, np.uint8, whole * channels * BYTES).reshape(-1, BYTES)
    wide = np.zeros((len(raw), 4), np.uint8)
    wide[:, 1:] = raw
    values = wide.view("<i4")[:, 0] >> 8
    return (values.astype(np.float32) / np.float32(_FULL)).reshape(whole, channels)


def _no_room(error: OSError) -> Refused:
    return Refused(f"The sound could not be stored: {error.strerror}. Make room on the disk.")
