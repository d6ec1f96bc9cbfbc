"""Recordings that are none, that claim what cannot be, or that are traps. Made here, byte by byte."""

from __future__ import annotations

import gzip
import io
import struct

import numpy as np
import soundfile

RATE = 48_000


def light(firings: int = 2) -> np.ndarray:
    """A plain light curve: dark, open for 20 ms, dark again, with a sensor's noise; shape (n,)."""
    noise = np.random.default_rng(7).normal(0, 1e-3, RATE // 2 * firings)
    for i in range(firings):
        noise[RATE // 2 * i + RATE // 5 :][: RATE // 50] += 0.5
    return noise


def sound(kind: str = "WAV", subtype: str = "PCM_16", samples: np.ndarray | None = None) -> bytes:
    out = io.BytesIO()
    soundfile.write(out, light() if samples is None else samples, RATE, format=kind, subtype=subtype)
    return out.getvalue()


def table(rows: int = 20_000, sign: str = ",") -> bytes:
    values = light()[:rows]
    lines = [f"{i / RATE:.7f}{sign}{value:.5f}" for i, value in enumerate(values)]
    return ("time_s" + sign + "volts\n" + "\n".join(lines) + "\n").encode()


def wav(
    data: bytes = bytes(400),
    *,
    says: int | None = None,
    rate: int = RATE,
    channels: int = 1,
    bits: int = 16,
    form: int = 1,
    align: int | None = None,
) -> bytes:
    """A WAV whose head says what it is told to: RIFF, `fmt ` and `data`, little-endian (from memory)."""
    align = channels * bits // 8 if align is None else align
    head = struct.pack(
        "<HHIIHH", form, channels & 0xFFFF, rate, rate * align & 0xFFFFFFFF, align & 0xFFFF, bits
    )
    says = len(data) if says is None else says
    body = b"WAVEfmt " + struct.pack("<I", 16) + head + b"data" + struct.pack("<I", says) + data
    return b"RIFF" + struct.pack("<I", (len(body) + says - len(data)) & 0xFFFFFFFF) + body


def aiff(
    data: bytes = bytes(400), *, frames: int = 200, channels: int = 1, rate: bytes | None = None
) -> bytes:
    """An AIFF whose COMM chunk says what it is told to: big-endian, an 80-bit rate (from memory)."""
    rate = struct.pack(">HQ", 16383 + 15, RATE << 48) if rate is None else rate
    comm = b"COMM" + struct.pack(">IhIh", 18, channels, frames, 16) + rate
    ssnd = b"SSND" + struct.pack(">III", 8 + len(data), 0, 0) + data
    body = b"AIFF" + comm + ssnd
    return b"FORM" + struct.pack(">I", len(body)) + body


def flac_that_says(*, rate: int = RATE, channels: int = 1, samples: int = 1000) -> bytes:
    """A FLAC that says what it is told to: 20 bits of rate, 3 channels, 36 samples (RFC 9639, 8.2)."""
    whole = bytearray(sound("FLAC"))
    bits = (rate << 44) | ((channels - 1) << 41) | (15 << 36) | samples
    whole[18:26] = struct.pack(">Q", bits)
    return bytes(whole)


def rf64(samples: int) -> bytes:
    """An RF64 whose ds64 chunk says so many samples (EBU Tech 3306; from memory)."""
    ds64 = b"ds64" + struct.pack("<IQQQI", 28, samples * 2 + 72, samples * 2, samples, 0)
    fmt = b"fmt " + struct.pack("<IHHIIHH", 16, 1, 1, RATE, RATE * 2, 2, 16)
    return b"RF64\xff\xff\xff\xffWAVE" + ds64 + fmt + b"data\xff\xff\xff\xff" + bytes(400)


def spoilt(value: float, subtype: str = "FLOAT") -> bytes:
    samples = light()
    samples[12_345] = value
    return sound("WAV", subtype, samples)


def spoilt_table(row: str, at: int = 700) -> bytes:
    lines = table().decode().splitlines()
    lines[at] = row
    return "\n".join(lines).encode()


def table_that_jumps_where_a_time_lacks() -> bytes:
    lines = table().decode().splitlines()
    return "\n".join([*lines[:700], ",0.1", *lines[731:]]).encode()


def gzipped(content: bytes) -> bytes:
    return gzip.compress(content, mtime=0)
