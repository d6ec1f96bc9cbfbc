"""The voice this bench was taught, if any: a file in the workshop's folder, here only, forgotten at a
word."""

from __future__ import annotations

import os
import secrets
from typing import TYPE_CHECKING

from django.conf import settings

from pegwood.book.refusal import Refused
from pegwood.hearing.spoken import NotAVoice, Voice, learn, sentences_to_read, voice_in

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path


def kept_voice() -> Voice | None:
    """The voice that was taught; None if none was, or its file is spoiled: then ears are as if untaught."""
    try:
        return voice_in(_file().read_bytes())
    except (FileNotFoundError, NotAVoice):
        return None


def mark_of_voice() -> str:
    """Changes when another voice is taught, or the voice is forgotten."""
    try:
        stat = _file().stat()
    except FileNotFoundError:
        return ""
    return f"{stat.st_mtime_ns}-{stat.st_size}-{stat.st_ino}"


def teach(readings: Mapping[int, bytes]) -> Voice:
    """
    Learn a voice from what it read, and keep it in place of the one before.

    Parameters
    ----------
    readings : mapping of int to bytes
        Which of `sentences_to_read`, and its sound: 16-bit, 16 kHz, one channel. The sound itself is not
        kept.

    Raises
    ------
    Refused
        If too little of it was heard.
    NoRecogniser
        If the extra is not installed.
    """
    texts = sentences_to_read()
    try:
        voice = learn([(texts[at], pcm) for at, pcm in sorted(readings.items())])
    except NotAVoice as reason:
        raise Refused(str(reason)) from None
    file = _file()
    file.parent.mkdir(parents=True, exist_ok=True)
    fresh = file.with_name(f".{file.name}-{secrets.token_hex(6)}")
    try:
        handle = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(handle, "wb") as out:
            out.write(voice.content())
        fresh.replace(file)
    finally:
        fresh.unlink(missing_ok=True)
    return voice


def forget_voice() -> None:
    """As if it had never been taught."""
    _file().unlink(missing_ok=True)


def _file() -> Path:
    path: Path = settings.WORKSHOP.voice
    return path
