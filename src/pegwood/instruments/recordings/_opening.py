"""Recognise a file by its content and open it."""

from __future__ import annotations

import io
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import BinaryIO

from pegwood.instruments.recordings._recording import Recording, RefusedRecording
from pegwood.instruments.recordings._sound import open_sound
from pegwood.instruments.recordings._table import open_table

__all__ = ["open_recording"]

_SOUND = {b"RIFF": b"WAVE", b"RF64": b"WAVE", b"FORM": b"AIF"}
_STRANGERS = {
    b"PK\x03\x04": "a ZIP archive or an office document: unpack it, or save the table as CSV",
    b"\x1f\x8b": "packed with gzip: unpack it first",
    b"\x89PNG": "a picture: choose the recording itself",
    b"\xff\xd8\xff": "a picture: choose the recording itself",
    b"GIF8": "a picture: choose the recording itself",
    b"%PDF": "a PDF: choose the recording itself",
    b"OggS": "compressed sound, which bends the light curve: record as WAV or FLAC",
    b"ID3": "compressed sound, which bends the light curve: record as WAV or FLAC",
    b"\xff\xfb": "compressed sound, which bends the light curve: record as WAV or FLAC",
    b"\x1aE\xdf\xa3": "a video or compressed sound: record as WAV or FLAC",
}


_COMPRESSED = (b"OggS", b"ID3", b"\xff\xfb", b"\xff\xf3", b"\xff\xf2")


def open_recording(
    source: Path | BinaryIO, name: str | None = None, *, compressed: bool = False
) -> Recording:
    """
    Open a recording: WAV, FLAC, AIFF, or a CSV table from a scope or a microcontroller.

    Parameters
    ----------
    source : Path or binary file
        The file; an open one must allow seeking and stays open.
    name : str, optional
        Name to show; by default the file's own.
    compressed : bool
        Also open sound compressed with loss (Ogg Vorbis, Opus, MP3): good for listening for knocks, never for
        a light curve.

    Returns
    -------
    recording : Recording
        Ready to be read in blocks.

    Raises
    ------
    RefusedRecording
        If it can't be used, with the reason and the remedy in one line.
    """
    shown = _shown_name(source, name)
    try:
        head, size = _look_at(source, shown)
        if compressed and size and head.startswith(_COMPRESSED):
            return open_sound(source, shown, size, compressed=True)
        _refuse_strangers(head, size, shown)
        if _is_sound(head):
            return open_sound(source, shown, size)
        return open_table(source, shown, size)
    except OSError as error:
        reason = error.strerror or "it can't be read"
        raise RefusedRecording(f"{shown}: {reason}. Check the file and try again.") from error


def _shown_name(source: Path | BinaryIO, name: str | None) -> str:
    """The last part of the name, with nothing in it that could break a line."""
    full = name or (str(source) if isinstance(source, Path) else str(getattr(source, "name", "")))
    last = PurePosixPath(PureWindowsPath(full).as_posix()).name
    return "".join(c for c in last if c.isprintable())[:120] or "recording"


def _look_at(source: Path | BinaryIO, shown: str) -> tuple[bytes, int]:
    """First bytes and size of the file."""
    if isinstance(source, Path):
        if not source.exists():
            raise RefusedRecording(f"{shown}: there is no such file. Check the name.")
        if not source.is_file():
            raise RefusedRecording(f"{shown}: not a file. Name the recording itself.")
        with source.open("rb") as stream:
            return stream.read(64), source.stat().st_size
    try:
        size = source.seek(0, io.SEEK_END)
        source.seek(0)
        return source.read(64), size
    except (AttributeError, ValueError) as error:
        raise RefusedRecording(
            f"{shown}: can't be read at any place in it. Save it as a file first."
        ) from error


def _refuse_strangers(head: bytes, size: int, shown: str) -> None:
    if size == 0:
        raise RefusedRecording(f"{shown}: the file is empty. Record again.")
    for magic, what in _STRANGERS.items():
        if head.startswith(magic):
            raise RefusedRecording(f"{shown}: not a recording but {what}.")


def _is_sound(head: bytes) -> bool:
    inner = _SOUND.get(head[:4])
    return head.startswith(b"fLaC") or (inner is not None and head[8:12].startswith(inner))
