"""
The acoustic model that pocketsphinx carries, as arrays: which sounds it knows and how they are spread.

One codebook of 128 normal distributions for each phone and for each of three streams (the cepstrum, how fast
it changes, how fast that changes); a senone (a third of a phone among its neighbours) weighs those of its
phone. The layout of the files is pocketsphinx's own and is read, never guessed: what does not fit it is
refused.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
_ORDER = 0x11223344
#: A weight is kept as its logarithm to the base 1.0001, shifted ten bits down, in a byte [nats a step].
_WEIGHT_STEP = 1024 * float(np.log(1.0001))


class NotAcoustics(ValueError):
    """A model's file that is laid out in another way; one line."""


@dataclass(frozen=True)
class Acoustics:
    """
    Attributes
    ----------
    phones : tuple of str
        In the order of the codebooks.
    means, variances : ndarray, shape (phones, streams, distributions, dimensions)
    log_weights : ndarray, shape (streams, distributions, senones)
        Of the distributions of a senone's phone [nats].
    """

    phones: tuple[str, ...]
    means: Array
    variances: Array
    log_weights: NDArray[np.float32]

    def with_means(self, means: Array) -> Acoustics:
        """The same sounds elsewhere."""
        return replace(self, means=means)


def read_acoustics(folder: Path) -> Acoustics:
    """
    The model in a folder.

    Raises
    ------
    NotAcoustics
        If it is no semi-continuous model with one codebook for each phone.
    OSError
        If a file cannot be read.
    """
    phones = _phones((folder / "mdef").read_bytes())
    means, variances = (_normals((folder / name).read_bytes(), name) for name in ("means", "variances"))
    if means.shape != variances.shape or means.shape[0] != len(phones):
        raise NotAcoustics("The model has not one codebook for each phone.")
    return Acoustics(
        phones=phones,
        means=means,
        variances=np.maximum(variances, 1e-4),  # the floor that pocketsphinx sets (-varfloor)
        log_weights=_weights((folder / "sendump").read_bytes(), means.shape[1], means.shape[2]),
    )


def means_file(means: Array) -> bytes:
    """Means as a file that pocketsphinx reads; without a checksum, which is optional there."""
    phones, streams, normals, long = means.shape
    head = b"s3\nversion 1.0\n"
    head += b" " * (-(len(head) + 7) % 4) + b"endhdr\n"
    counts = [_ORDER, phones, streams, normals, *[long] * streams, means.size]
    return head + struct.pack(f"<{len(counts)}i", *counts) + means.astype("<f4").tobytes()


def _phones(content: bytes) -> tuple[str, ...]:
    if content[:4] != b"BMDF":
        raise NotAcoustics("The model's definition is no binary one of little-endian order.")
    (told,) = struct.unpack_from("<i", content, 8)
    at = 12 + told
    (n,) = struct.unpack_from("<i", content, at)
    names = content[at + 40 :].split(b"\0", n)[:n]
    return tuple(one.decode("ascii") for one in names)


def _normals(content: bytes, name: str) -> Array:
    mark = b"endhdr\n"
    at = content.find(mark) + len(mark)
    order, phones, streams, normals = struct.unpack_from("<4i", content, at)
    if not content.startswith(b"s3\n") or order != _ORDER:
        raise NotAcoustics(f"The model's {name} are not laid out as they should be.")
    lengths = struct.unpack_from(f"<{streams}i", content, at + 16)
    (size,) = struct.unpack_from("<i", content, at + 16 + 4 * streams)
    if len(set(lengths)) != 1 or size != phones * normals * sum(lengths):
        raise NotAcoustics(f"The model's {name} have streams of unlike length.")
    held = np.frombuffer(content, "<f4", size, at + 20 + 4 * streams)
    return held.astype(np.float64).reshape(phones, streams, normals, lengths[0])


def _weights(content: bytes, streams: int, normals: int) -> NDArray[np.float32]:
    at = 0
    while True:
        (long,) = struct.unpack_from("<i", content, at)
        at += 4
        if long == 0:
            break
        if content[at : at + long].startswith(b"cluster_count ") and content[at + 14 : at + 15] != b"0":
            raise NotAcoustics("The model's weights are clustered.")
        at += long
    rows, senones = struct.unpack_from("<2i", content, at)
    if rows != normals or len(content) - at - 8 != streams * normals * senones:
        raise NotAcoustics("The model's weights do not fit its codebooks.")
    held = np.frombuffer(content, np.uint8, streams * normals * senones, at + 8)
    return (held.astype(np.float32) * np.float32(-_WEIGHT_STEP)).reshape(streams, normals, senones)
