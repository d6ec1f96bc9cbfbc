"""Frames of a video file, one after another, through PyAV: the only place that knows it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.recordings import RefusedRecording

__all__ = ["ADD_IT", "Frame", "VideoFile", "can_read_video", "open_video"]

MAX_PIXELS = 4096 * 4096  # of one frame: 8K slow motion does not exist on a phone, a trap does
MAX_FRAMES = 1_000_000  # over an hour at 240 frames a second
_MIN_SIDE = 8
ADD_IT = "Reading video needs PyAV: pip install 'pegwood[video]'"

# planar brightness first, by the name of the layout: bits of a value
_PLANAR = {"gray": 8, "nv12": 8, "nv21": 8}
_PLANAR |= {f"yuv{j}{s}p": 8 for j in ("", "j") for s in ("420", "422", "444", "440", "411")}
_PLANAR |= {f"yuv{s}p{b}le": b for s in ("420", "422", "444") for b in (10, 12)}
_PLANAR |= {"gray10le": 10, "gray12le": 12, "p010le": 16}
_PLAIN = "yuv420p"
# A file, and one that holds its own frames: a playlist must reach for nothing else.
_ONLY = {"protocol_whitelist": "file", "format_whitelist": "mov,mp4,matroska,webm,avi,mpegts"}

Luma = NDArray[np.uint8] | NDArray[np.uint16]


def can_read_video() -> bool:
    """
    Whether what reads videos is installed.

    Returns
    -------
    can_read_video : bool
        False where `ADD_IT` has to be said.
    """
    return find_spec("av") is not None


@dataclass(frozen=True)
class Frame:
    """
    One frame.

    Parameters
    ----------
    stamp_s : float or None
        Time stamp as recorded, [s]; None where there is none.
    luma : array, shape (height, width)
        Stored brightness.
    """

    stamp_s: float | None
    luma: Luma


@dataclass(frozen=True)
class VideoFile:
    """
    A video that can be gone through as often as need be.

    Parameters
    ----------
    source : Path or binary file
        The file.
    name : str
        Name for people.
    width, height : int
        Of a frame, [pixel].
    bits : int
        Of a stored value.
    is_full_range : bool
        Whether black and white are the ends of that range.
    transfer_code : int
        Transfer characteristics the stream names (ITU-T H.273; 2: not said).
    tick_s : float
        Smallest step of the time stamps, [s].
    told_fps : float or None
        Rate of capture the file's own notes name, [1/s].
    n_expected : int
        Frames the file promises; 0 where it does not.
    codec : str
        How it is packed.
    """

    source: Path | BinaryIO
    name: str
    width: int
    height: int
    bits: int
    is_full_range: bool
    transfer_code: int
    tick_s: float
    told_fps: float | None
    n_expected: int
    codec: str

    def frames(self) -> Iterator[Frame]:
        """
        All frames in the order they are shown; can be called again.

        Yields
        ------
        frame : Frame
            The next one.

        Raises
        ------
        RefusedRecording
            If the file turns out damaged, or changes its size on the way.
        """
        with _opened(self.source, self.name) as (container, stream):
            for count, frame in enumerate(_decoded(container, stream, self.name), start=1):
                if count > MAX_FRAMES:
                    raise RefusedRecording(
                        f"{self.name}: more than {MAX_FRAMES} frames. Cut out the firings and try again."
                    )
                if (frame.width, frame.height) != (self.width, self.height):
                    raise RefusedRecording(
                        f"{self.name}: the size of its frames changes at frame {count}. Film it in one go."
                    )
                stamp = None if frame.pts is None else float(frame.pts * frame.time_base)
                yield Frame(stamp, _luma(frame))


def open_video(source: Path | BinaryIO, name: str) -> VideoFile:
    """
    Open a video and look at its first frame.

    Parameters
    ----------
    source : Path or binary file
        The file; an open one must allow seeking.
    name : str
        Name for people.

    Returns
    -------
    video : VideoFile
        Ready to be gone through.

    Raises
    ------
    RefusedRecording
        If it is no video, damaged, or of an impossible size; or PyAV is not there.
    """
    with _opened(source, name) as (container, stream):
        context = stream.codec_context
        _check_size(name, context.width, context.height)
        first = next(_decoded(container, stream, name), None)
        if first is None:
            raise RefusedRecording(f"{name}: a video without a single frame. Copy it again.")
        _check_size(name, first.width, first.height)
        layout = first.format.name
        return VideoFile(
            source=source,
            name=name,
            width=first.width,
            height=first.height,
            bits=_PLANAR.get(layout, 8),
            is_full_range=_is_full_range(first, layout),
            transfer_code=int(first.color_trc or 2),
            tick_s=float(stream.time_base or 0),
            told_fps=_told_fps({**container.metadata, **stream.metadata}),
            n_expected=int(stream.frames or 0),
            codec=str(context.name),
        )


@contextmanager
def _opened(source: Path | BinaryIO, name: str) -> Iterator[tuple[Any, Any]]:
    try:
        import av
    except ImportError:
        raise RefusedRecording(f"{name}: {ADD_IT}.") from None
    if not isinstance(source, Path):
        source.seek(0)
    given: Any = f"file:{source}" if isinstance(source, Path) else source
    try:
        container = av.open(given, metadata_errors="replace", options=_ONLY)
    except (av.FFmpegError, ValueError, OverflowError) as error:
        raise RefusedRecording(
            f"{name}: no video that can be read: {_reason(error)}. Copy the file as the phone stored it."
        ) from error
    with container:
        if not container.streams.video:
            raise RefusedRecording(f"{name}: no picture in it, sound at most. Choose the video.")
        stream = container.streams.video[0]
        if stream.codec_context is None:
            raise RefusedRecording(f"{name}: stored in a way that is not known here. Export it as H.264.")
        stream.codec_context.options = {"max_pixels": str(MAX_PIXELS)}  # refused before memory is asked for
        stream.thread_type = "SLICE"
        yield container, stream


def _decoded(container: Any, stream: Any, name: str) -> Iterator[Any]:
    import av

    try:
        yield from container.decode(stream)
    except (av.FFmpegError, ValueError, OverflowError, MemoryError) as error:
        raise RefusedRecording(
            f"{name}: damaged: {_reason(error)}. Copy the file again as the phone stored it."
        ) from error


def _check_size(name: str, width: int, height: int) -> None:
    if width * height > MAX_PIXELS:
        raise RefusedRecording(
            f"{name}: frames of {width} x {height} are more than a phone films. Export it smaller."
        )
    if min(width, height) < _MIN_SIDE and max(width, height) > 0:
        raise RefusedRecording(f"{name}: frames of {width} x {height} are too small to read.")


def _luma(frame: Any) -> Luma:
    bits = _PLANAR.get(frame.format.name)
    if bits is None:  # colours by themselves, or packed
        frame, bits = frame.reformat(format=_PLAIN), 8
    plane = frame.planes[0]
    kind: Any = np.uint8 if bits == 8 else np.uint16
    rows: Luma = np.frombuffer(plane, kind).reshape(-1, plane.line_size // np.dtype(kind).itemsize)
    return rows[: frame.height, : frame.width]


def _is_full_range(frame: Any, layout: str) -> bool:
    told = int(frame.color_range or 0)
    if layout not in _PLANAR:
        return False  # as it is converted
    return told == 2 or layout.startswith("yuvj") or (layout.startswith("gray") and told == 0)


def _told_fps(notes: dict[str, str]) -> float | None:
    """A rate of capture among the notes, such as a phone leaves beside a slowed-down recording."""
    for key, value in notes.items():
        if key.lower().replace("_", ".").endswith("capture.fps"):
            with suppress(ValueError):
                fps = float(value)
                if 1 <= fps <= 100_000:
                    return fps
    return None


def _reason(error: Exception) -> str:
    text = str(getattr(error, "strerror", "") or type(error).__name__)
    return " ".join(text.split()).rstrip(".")[:120]
