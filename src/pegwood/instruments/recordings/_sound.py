"""Sound files (WAV, FLAC, AIFF) through soundfile, held to what a light gate can have written."""

from __future__ import annotations

import io
import struct
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np
import soundfile

from pegwood.instruments.recordings._limits import check_finite, check_size
from pegwood.instruments.recordings._recording import Recording, RefusedRecording, Samples

__all__ = ["SoundRecording", "open_sound"]

_FORMATS = {"WAV", "WAVEX", "RF64", "FLAC", "AIFF"}
# subtype: (words for people, type to decode to, type to compute in, divisor to full scale, finite by nature)
_SUBTYPES: dict[str, tuple[str, str, str, float, bool]] = {
    "PCM_U8": ("8 bit", "int16", "float32", 2.0**15, True),
    "PCM_S8": ("8 bit", "int16", "float32", 2.0**15, True),
    "PCM_16": ("16 bit", "int16", "float32", 2.0**15, True),
    "PCM_24": ("24 bit", "int32", "float32", 2.0**31, True),
    "PCM_32": ("32 bit", "int32", "float64", 2.0**31, True),
    "FLOAT": ("32 bit float", "float32", "float32", 1.0, False),
    "DOUBLE": ("64 bit float", "float64", "float64", 1.0, False),
}
_COMPRESSED_FORMATS = {"OGG", "MP3"}
_COMPRESSED_SUBTYPES: dict[str, tuple[str, str, str, float, bool]] = {
    "VORBIS": ("Vorbis", "float32", "float32", 1.0, False),
    "OPUS": ("Opus", "float32", "float32", 1.0, False),
    "MPEG_LAYER_III": ("MPEG layer III", "float32", "float32", 1.0, False),
}
_KINDS = {**_SUBTYPES, **_COMPRESSED_SUBTYPES}
_ONE_BLOCK = 1 << 18
# A file that unpacks to more than this many times its size holds no sensor's noise: it is empty or a trap.
_MAX_UNPACKING = 100
_SMALL_VALUES = 50_000_000


def open_sound(source: Path | BinaryIO, shown: str, size: int, *, compressed: bool = False) -> Recording:
    """
    Open a sound file.

    Parameters
    ----------
    source : Path or binary file
        The file.
    shown : str
        Name for people.
    size : int
        Size of the file, [byte].
    compressed : bool
        Whether sound compressed with loss is opened too.

    Returns
    -------
    recording : Recording
        Ready to be read in blocks.

    Raises
    ------
    RefusedRecording
        If it is damaged, cut short, compressed with loss, or of an impossible size.
    """
    warnings = _check_length(source, shown)
    with _opened(source, shown) as sound:
        known = sound.format in _FORMATS and sound.subtype in _SUBTYPES
        lossy = sound.format in _COMPRESSED_FORMATS and sound.subtype in _COMPRESSED_SUBTYPES
        if not known and not (compressed and lossy):
            raise RefusedRecording(
                f"{shown}: sound stored as {sound.format} {sound.subtype} bends the light curve. "
                "Record as plain WAV, FLAC or AIFF (PCM or float)."
            )
        check_size(shown, sound.frames, sound.channels, sound.samplerate)
        values = sound.frames * sound.channels
        if values > _SMALL_VALUES and values * 2 > _MAX_UNPACKING * size:
            raise RefusedRecording(
                f"{shown}: {size} bytes claim to hold {values} samples; no sensor's signal packs so "
                f"small. Record again."
            )
        words, *_, finite = _KINDS[sound.subtype]
        return SoundRecording(
            name=shown,
            sample_rate_hz=float(sound.samplerate),
            n_channels=sound.channels,
            n_samples=sound.frames,
            format=f"{sound.format}, {words}",
            full_scale=1.0 if finite else None,
            warnings=tuple(warnings),
            is_compressed=lossy,
            source=source,
            subtype=sound.subtype,
        )


@dataclass(frozen=True)
class SoundRecording(Recording):
    """A sound file, decoded block by block; see `Recording`."""

    source: Path | BinaryIO = field(default_factory=io.BytesIO, repr=False)
    subtype: str = "PCM_16"

    def blocks(self, n: int) -> Iterator[Samples]:
        """
        Go through the whole file; can be called again.

        Parameters
        ----------
        n : int
            Samples in each block.

        Yields
        ------
        block : array, shape (<= n, n_channels)
            Readings as a fraction of full scale.
        """
        with _opened(self.source, self.name) as sound:
            for start in range(0, self.n_samples, n):
                yield self._decode(sound, start, min(n, self.n_samples - start), seek=start == 0)

    def read(self, start: int, stop: int) -> Samples:
        """
        Read one stretch.

        Parameters
        ----------
        start, stop : int
            First sample and one past the last.

        Returns
        -------
        samples : array, shape (stop - start, n_channels)
            Readings as a fraction of full scale.
        """
        with _opened(self.source, self.name) as sound:
            return self._decode(sound, start, stop - start, seek=True)

    def _decode(self, sound: Any, start: int, count: int, *, seek: bool) -> Samples:
        _, stored, computed, divisor, finite = _KINDS[self.subtype]
        try:
            if seek or not isinstance(self.source, Path):
                sound.seek(start)  # somebody else may have moved a shared file
            raw = sound.read(count, dtype=stored, always_2d=True)
        except (soundfile.SoundFileError, RuntimeError) as error:
            raise RefusedRecording(
                f"{self.name}: damaged near sample {start}: {_reason(error)}. Record again or export it anew."
            ) from error
        if len(raw) < count:
            raise RefusedRecording(
                f"{self.name}: cut short: its header promises {self.n_samples} samples, "
                f"but it ends after {start + len(raw)}. Copy or record it again."
            )
        samples: Samples = raw.astype(computed, copy=False)
        if divisor != 1.0:
            samples *= np.asarray(1 / divisor, computed)
        if not finite:
            check_finite(self.name, samples, start)
        return samples


@contextmanager
def _opened(source: Path | BinaryIO, shown: str) -> Iterator[Any]:
    try:
        if isinstance(source, Path):
            sound = soundfile.SoundFile(str(source))
        else:
            source.seek(0)
            sound = soundfile.SoundFile(source)
    except (soundfile.SoundFileError, RuntimeError, TypeError) as error:
        raise RefusedRecording(
            f"{shown}: not a sound file that can be read: {_reason(error)}. Record as WAV, FLAC or AIFF."
        ) from error
    try:
        yield sound
    finally:
        sound.close()


def _reason(error: Exception) -> str:
    """What the library says, without its own framing."""
    text = str(getattr(error, "error_string", "") or "unknown error")
    return text.strip().rstrip(".").removeprefix("Error : ")


def _check_length(source: Path | BinaryIO, shown: str) -> list[str]:
    """Refuse a file whose header promises more than it holds: the library would cut it silently."""
    if isinstance(source, Path):
        with source.open("rb") as stream:
            promised, held = _promised(stream)
    else:
        promised, held = _promised(source)
    if promised is None:
        return []
    if promised in (0, 0xFFFFFFFF) and held > 0:
        return [
            "The header does not say how long the recording is; its length was taken from the file's size."
        ]
    if promised > held + 1:
        raise RefusedRecording(
            f"{shown}: cut short: its header promises {promised} bytes of readings, but only {held} are "
            "there. Copy or record it again."
        )
    return []


def _promised(stream: BinaryIO) -> tuple[int | None, int]:
    """Bytes of readings an IFF-style header (WAV, AIFF) promises, and those that are there."""
    size = stream.seek(0, io.SEEK_END)
    stream.seek(0)
    top = stream.read(12)
    if top[:4] not in (b"RIFF", b"FORM"):
        return None, size
    order = "<" if top[:4] == b"RIFF" else ">"
    place = 12
    for _ in range(1000):
        stream.seek(place)
        chunk = stream.read(8)
        if len(chunk) < 8:
            break
        length = struct.unpack(order + "I", chunk[4:])[0]
        if chunk[:4] in (b"data", b"SSND"):
            return length, size - place - 8
        place += 8 + length + (length & 1)
    return None, size
