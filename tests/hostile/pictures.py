"""Pictures that are no photographs, and photographs with something amiss. Made here, byte by byte."""

from __future__ import annotations

import io
import struct
import zipfile
import zlib

import numpy as np
from PIL import Image
from pillow_heif import register_heif_opener

register_heif_opener()


def photograph(kind: str = "JPEG", size: tuple[int, int] = (64, 48), mode: str = "RGB", **more) -> bytes:
    """A photograph of noise, always the same."""
    out = io.BytesIO()
    shape = (size[1], size[0], 3)
    noise = np.random.default_rng(5).integers(0, 256, shape, dtype=np.uint8)
    Image.fromarray(noise).convert(mode).save(out, kind, **more)
    return out.getvalue()


def png_chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def png(width: int, height: int, pixels: bytes, extra: bytes = b"") -> bytes:
    """A PNG in black and white that says it is of that size, whatever its pixels are (RFC 2083, 4.1)."""
    head = png_chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0))
    body = extra + png_chunk(b"IDAT", zlib.compress(pixels, 9)) + png_chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + head + body


def png_bomb() -> bytes:
    """30000 x 30000 pixels, all of them there, in about a hundred kilobytes."""
    return png(30_000, 30_000, bytes(30_000 * (1 + 30_000 // 8)))


def png_text_bomb() -> bytes:
    """A small picture with a compressed remark of two hundred million letters."""
    remark = b"Comment\0\0" + zlib.compress(bytes(200_000_000), 1)
    return png(8, 8, bytes(8 * 2), png_chunk(b"zTXt", remark))


def png_long_remark(length: int) -> bytes:
    """A small picture with a remark that is as long as that, not compressed."""
    return png(8, 8, bytes(8 * 2), png_chunk(b"tEXt", b"Comment\0" + bytes(length)))


def with_size(jpeg: bytes, width: int, height: int) -> bytes:
    """A JPEG whose frame header says another size (ITU-T T.81, B.2.2)."""
    at = jpeg.index(b"\xff\xc0") + 5
    return jpeg[:at] + struct.pack(">HH", height, width) + jpeg[at + 4 :]


def with_exif(exif: bytes) -> bytes:
    """A JPEG with those bytes where its EXIF belongs."""
    jpeg = photograph()
    segment = b"Exif\0\0" + exif
    return jpeg[:2] + b"\xff\xe1" + struct.pack(">H", len(segment) + 2) + segment + jpeg[2:]


def heic_of_size(width: int, height: int) -> bytes:
    """A HEIC whose image spatial extents say another size (ISO/IEC 23008-12, 6.5.3; from memory)."""
    heic = photograph("HEIF")
    at = heic.index(b"ispe") + 8
    return heic[:at] + struct.pack(">II", width, height) + heic[at + 8 :]


def zipped(name: str = "x.csv", content: bytes = b"time_s,v\n0,0\n") -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr(name, content)
    return out.getvalue()


SVG = b"<?xml version='1.0'?><svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>"
PAGE = b"<!doctype html><script>alert(document.cookie)</script>"
