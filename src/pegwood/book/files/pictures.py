"""
Photographs: what is let in, how they are shown, what leaves in a paper.

The bytes that came are kept as they came, as evidence. What is shown or printed is drawn anew from the
pixels, upright and without any note of where, when or with what it was taken.
"""

from __future__ import annotations

import io
import os
import secrets
import struct
import warnings
from contextlib import suppress
from dataclasses import dataclass
from typing import BinaryIO

from django.conf import settings
from PIL import Image, ImageOps, UnidentifiedImageError
from pillow_heif import register_heif_opener

from pegwood.book.files.store import read
from pegwood.book.models import StoredFile
from pegwood.book.refusal import Refused

register_heif_opener()

LARGEST_FILE = 60 * 1024**2
LARGEST_PIXELS = 120_000_000
Image.MAX_IMAGE_PIXELS = LARGEST_PIXELS  # the library would stop earlier, at fewer than some telephones take
MEDIA_TYPES = {"JPEG": "image/jpeg", "PNG": "image/png", "HEIF": "image/heic", "MPO": "image/jpeg"}
THUMBNAIL_PIXELS = 480
# Exif, tag 0x0112 and its values for a camera that was held upright (from memory; a test turns a picture).
_ORIENTATION = 0x0112
_ON_ITS_SIDE = {5, 6, 7, 8}
# What decoders raise on bytes that somebody has tampered with; found by tampering.
_UNREADABLE = (
    OSError, ValueError, SyntaxError, EOFError, MemoryError, RuntimeError, TypeError, LookupError,
    ArithmeticError, AttributeError, struct.error,
)  # fmt: skip


@dataclass(frozen=True)
class Picture:
    """A photograph that has been opened and found whole. Width and height are as shown, upright."""

    media_type: str
    width: int
    height: int


def inspect(content: BinaryIO, name: str = "The picture") -> Picture:
    """
    Open a photograph to its last row and say what it is; `content` is left at its start.

    Raises
    ------
    Refused
        If it is not a JPEG, PNG or HEIC photograph, is empty, too large or cut short, or has more pixels than
        a camera takes.
    """
    size = content.seek(0, os.SEEK_END)
    if not size:
        raise Refused(f"{name} is empty. Choose another, or take it again.")
    if size > LARGEST_FILE:  # before any decoder reads it into memory
        raise Refused(f"{name} is larger than {LARGEST_FILE // 1024**2} MB. Send a smaller one.")
    content.seek(0)
    upright = _open(content, name)
    content.seek(0)
    return Picture(MEDIA_TYPES[str(upright.info["pegwood_format"])], upright.width, upright.height)


def upright_size(content: BinaryIO, name: str = "The picture") -> tuple[int, int]:
    """
    Width and height, as shown, of a photograph that `inspect` has let in: read from its head alone.

    Raises
    ------
    Refused
        If it is no photograph after all.
    """
    try:
        image = Image.open(content, formats=list(MEDIA_TYPES))
    except _UNREADABLE:
        raise Refused(f"{name} is not a JPEG, PNG or HEIC photograph. Choose one of these.") from None
    try:
        lies_on_its_side = image.getexif().get(_ORIENTATION) in _ON_ITS_SIDE
    except _UNREADABLE:
        lies_on_its_side = False  # as it is shown: see `_turn_upright`
    return (image.height, image.width) if lies_on_its_side else image.size


def upright(content: BinaryIO, name: str = "The picture") -> Image.Image:
    """
    A photograph to look at, upright, nothing of it kept.

    Raises
    ------
    Refused
        As `inspect`.
    """
    inspect(content, name)
    return _open(content, name)


def picture_for_paper(content: bytes, longest_side: int = 1400) -> bytes:
    """The photograph as a plain JPEG, upright, no longer than `longest_side` pixels, with no EXIF at all."""
    return _as_jpeg(_open(io.BytesIO(content), "The picture"), longest_side)


def thumbnail(file: StoredFile, longest_side: int = THUMBNAIL_PIXELS) -> bytes:
    """A small JPEG of a stored photograph, made once and kept in the workshop's folder of thumbnails."""
    place = settings.WORKSHOP.thumbnails / f"{file.sha256}-{longest_side}.jpg"
    try:
        return place.read_bytes()
    except FileNotFoundError:
        pass
    small = _as_jpeg(_open(io.BytesIO(read(file)), file.name), longest_side)
    place.parent.mkdir(parents=True, exist_ok=True)
    fresh = place.with_name(f".{place.name}-{secrets.token_hex(4)}")
    fresh.write_bytes(small)
    fresh.replace(place)
    return small


def _open(content: BinaryIO, name: str) -> Image.Image:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            # Only these decoders are ever handed what came from outside.
            image = Image.open(content, formats=["JPEG", "PNG", "HEIF"])
            if image.width * image.height > LARGEST_PIXELS:
                raise Refused(
                    f"{name} has {image.width} x {image.height} pixels; more than {LARGEST_PIXELS // 10**6} "
                    "million are refused. Save it smaller and send it again."
                )
            kind = image.format
            image.load()
    except (Image.DecompressionBombWarning, Image.DecompressionBombError):
        raise Refused(f"{name} unpacks to far more than a photograph. Send the photograph itself.") from None
    except UnidentifiedImageError:
        raise Refused(f"{name} is not a JPEG, PNG or HEIC photograph. Choose one of these.") from None
    except _UNREADABLE as error:
        why = " ".join(str(error).split())[:120]
        raise Refused(f"{name} is damaged or cut short ({why}). Take or send it again.") from None
    _turn_upright(image)
    image.info["pegwood_format"] = kind
    return image


def _turn_upright(image: Image.Image) -> None:
    """Turn it as the camera was held; where that note is damaged, the picture is as good lying down."""
    with suppress(*_UNREADABLE):
        ImageOps.exif_transpose(image, in_place=True)


def _as_jpeg(image: Image.Image, longest_side: int) -> bytes:
    small = _on_white(image)
    small.thumbnail((longest_side, longest_side), Image.Resampling.LANCZOS)
    clean = Image.new(small.mode, small.size)
    clean.paste(small)  # pixels only: no EXIF, no colour profile, no comment travels along
    out = io.BytesIO()
    clean.save(out, "JPEG", quality=86, optimize=True)
    return out.getvalue()


def _on_white(image: Image.Image) -> Image.Image:
    """The picture without transparency, as it would look lying on white paper."""
    if image.mode in {"RGB", "L"}:
        return image.copy()
    if not image.has_transparency_data:
        return image.convert("RGB")
    seen_through = image.convert("RGBA")
    paper = Image.new("RGBA", image.size, "white")
    return Image.alpha_composite(paper, seen_through).convert("RGB")
