"""
From a picture's file to light.

Telephones and scanners write brightness on the curve of sRGB (IEC 61966-2-1; memory); half the light lies at
188 of 255, not at 128. Without a word of the file's own that curve is taken, for pictures of 16 bits too.
Luminance weights of red, green and blue are those of ITU-R BT.709 (memory).
"""

from __future__ import annotations

import io
import struct
import warnings
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.readings import RefusedReadings

__all__ = ["LARGEST_FILE", "MOST_PIXELS", "Photograph", "linear", "open_photograph"]

LARGEST_FILE = 120 * 1024**2
MOST_PIXELS = 64_000_000
"""Beyond that nothing more is seen and a bench computer's memory is full."""
FEWEST_SIDE = 32
_WEIGHTS = (0.2126, 0.7152, 0.0722)
_FORMATS = ("JPEG", "PNG", "TIFF", "HEIF", "WEBP", "BMP")
# What decoders raise on bytes that somebody has tampered with; found by tampering.
_UNREADABLE = (
    OSError, ValueError, SyntaxError, EOFError, MemoryError, RuntimeError, TypeError, LookupError,
    ArithmeticError, AttributeError, struct.error,
)  # fmt: skip

Light = NDArray[np.float32]


@dataclass(frozen=True)
class Photograph:
    """
    A picture as light.

    Parameters
    ----------
    name : str
        What it is called.
    light : array of float32, shape (height, width)
        Relative luminance, 0 black to 1 white, upright; as linear as the file's curve is sRGB's.
    clipped : float
        Share of the pixels at the very top of the scale, [-]: there is no telling how much light there was.
    colour : bool
        Whether its three colours differ.
    lossy : bool
        Whether it was stored with loss (JPEG, HEIC, WebP).
    """

    name: str
    light: Light
    clipped: float
    colour: bool
    lossy: bool

    @property
    def shape(self) -> tuple[int, int]:
        """Height and width, [pixel]."""
        return self.light.shape[0], self.light.shape[1]


def open_photograph(source: Path | BinaryIO, name: str = "") -> Photograph:
    """
    Read a photograph.

    Parameters
    ----------
    source : Path or binary file
        JPEG, PNG, TIFF, HEIC, WebP or BMP.
    name : str, optional
        What to call it; the file's own name if not given.

    Returns
    -------
    photograph : Photograph

    Raises
    ------
    RefusedReadings
        If it is no picture, cut short, too large or too small; one line, with what to do.
    OSError
        If the file cannot be opened.
    """
    shown = name or (source.name if isinstance(source, Path) else "The picture")
    if isinstance(source, Path):
        with source.open("rb") as file:
            held = file.read(LARGEST_FILE + 1)
    else:
        held = source.read(LARGEST_FILE + 1)
    if len(held) > LARGEST_FILE:
        raise RefusedReadings(f"{shown} is larger than {LARGEST_FILE // 1024**2} MB. Send a smaller one.")
    image = _decoded(held, shown)
    if min(image.size) < FEWEST_SIDE:
        raise RefusedReadings(
            f"{shown} is only {image.width} by {image.height} pixels: too small to measure."
        )
    values, top = _values(image)
    light, clipped, colour = _as_light(values, top)
    lossy = image.info["pegwood_format"] in ("JPEG", "MPO", "HEIF", "WEBP")
    return Photograph(shown, light, clipped, colour, lossy)


def linear(share: NDArray[Any]) -> NDArray[np.float64]:
    """
    Light behind a stored brightness, by the curve of sRGB (IEC 61966-2-1).

    Parameters
    ----------
    share : array
        Stored number over the largest one, 0 to 1.

    Returns
    -------
    light : array, same shape
        0 to 1.
    """
    value = np.asarray(share, dtype=float)
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def _decoded(held: bytes, shown: str) -> Any:
    from PIL import Image, ImageOps, UnidentifiedImageError
    from pillow_heif import register_heif_opener

    register_heif_opener()
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # its size is looked at here
            image = Image.open(io.BytesIO(held), formats=_FORMATS)
            if image.width * image.height > MOST_PIXELS:
                raise RefusedReadings(
                    f"{shown} has {image.width} by {image.height} pixels, more than "
                    f"{MOST_PIXELS // 1_000_000} million. Cut out what matters, or send a smaller one."
                )
            kind = image.format
            image.load()
            upright = ImageOps.exif_transpose(image)
    except RefusedReadings:
        raise
    except UnidentifiedImageError:
        raise RefusedReadings(f"{shown} is no picture. Send JPEG, PNG, TIFF or HEIC.") from None
    except _UNREADABLE:
        raise RefusedReadings(f"{shown} cannot be read to its end. Send it again, or another.") from None
    upright.info["pegwood_format"] = kind
    return upright


def _values(image: Any) -> tuple[NDArray[Any], float]:
    """The stored numbers, and the largest there can be."""
    if image.mode in ("I;16", "I;16L", "I;16B", "I"):
        return np.asarray(image).astype(np.int64).clip(0, 65535).astype(np.uint16), 65535.0
    if image.mode == "F":
        values = np.nan_to_num(np.asarray(image, dtype=float), nan=0.0, posinf=1.0, neginf=0.0).clip(0, 1)
        return np.rint(values * 65535).astype(np.uint16), 65535.0
    if image.mode in ("L", "1", "LA"):
        return np.asarray(image.convert("L")), 255.0
    return np.asarray(image.convert("RGB")), 255.0


def _as_light(values: NDArray[Any], top: float) -> tuple[Light, float, bool]:
    table = _table(int(top))
    if values.ndim == 2:
        return table[values], float((values >= top).mean()), False
    red, green, blue = (values[..., n] for n in range(3))
    light: Light = (table * np.float32(_WEIGHTS[0]))[red]
    light += (table * np.float32(_WEIGHTS[1]))[green]
    light += (table * np.float32(_WEIGHTS[2]))[blue]
    clipped = float((green >= top).mean())
    return (
        light,
        clipped,
        not (np.array_equal(red[::8], green[::8]) and np.array_equal(green[::8], blue[::8])),
    )


@cache
def _table(top: int) -> Light:
    return linear(np.arange(top + 1) / top).astype(np.float32)
