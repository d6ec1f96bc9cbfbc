"""What a recording holds: light as a gate sees it, the sounds of the shutter, or a video of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

from pegwood.book.arrangement import Arrangement
from pegwood.book.refusal import Refused
from pegwood.instruments.sound import MIRRORS, Mirror
from pegwood.instruments.video import ADD_IT, can_read_video

By = Literal["light", "sound", "video"]
BYS: tuple[By, ...] = ("light", "sound", "video")
KEY = "taken"
"""Its name among the settings of a measurement."""

_LOSSLESS = {".wav": "audio/wav", ".flac": "audio/flac", ".aif": "audio/aiff", ".aiff": "audio/aiff"}
#: What may be sent. What is in the file decides, not its name; this only tells a slip of the thumb early.
ENDINGS: dict[By, dict[str, str]] = {
    "light": {**_LOSSLESS, ".csv": "text/csv", ".txt": "text/csv"},
    "sound": {
        **_LOSSLESS, ".ogg": "audio/ogg", ".oga": "audio/ogg", ".opus": "audio/ogg", ".mp3": "audio/mpeg",
    },
    "video": {
        ".mp4": "video/mp4", ".m4v": "video/mp4", ".mov": "video/quicktime", ".mkv": "video/x-matroska",
        ".webm": "video/webm", ".avi": "video/x-msvideo",
    },
}  # fmt: skip
_SEND: dict[By, str] = {
    "light": "Send a WAV, FLAC, AIFF or CSV file.",
    "sound": "Send a WAV, FLAC or AIFF file; Ogg and MP3 are less certain.",
    "video": "Send the video as the phone stored it, such as MP4 or MOV.",
}
_SLOWEST_FPS, _FASTEST_FPS = 1, 100_000
_MOST_PIXELS = 16_384


@dataclass(frozen=True, kw_only=True)
class Taken:
    """
    What a recording holds, and what its instrument has to be told beside it.

    Parameters
    ----------
    by : "light", "sound" or "video"
    mirror : "none", "locked", "moving" or "not told"
        By sound: whether a mirror strokes as well.
    captured_fps : float or None
        By video: frames a second while it was filmed, [1/s]; None where the file shall tell.
    region : tuple of int or None
        By video: x, y, width and height of what is read, [pixel]; None where it shall be found.
    """

    by: By = "light"
    mirror: Mirror = "not told"
    captured_fps: float | None = None
    region: tuple[int, int, int, int] | None = None

    def check(self, arrangement: Arrangement) -> None:
        """
        Refuse what can't be, what contradicts the arrangement, and a video that nothing here can read.

        Raises
        ------
        Refused
            In one line.
        """
        if self.by not in BYS or self.mirror not in MIRRORS:
            raise Refused("A recording holds light, sound or a video; a mirror is none, locked or moving.")
        if self.by != "light" and arrangement != Arrangement():
            raise Refused(
                "Flash contact, smaller stops and sensors across the gate need light. Leave them out, or "
                "send what a light gate recorded."
            )
        if self.by == "video" and not can_read_video():
            raise Refused(f"{ADD_IT}.")
        fps = self.captured_fps
        if fps is not None and not _SLOWEST_FPS <= fps <= _FASTEST_FPS:
            raise Refused(f"No phone films {fps:g} frames a second. Give such as 240.")
        if self.region is not None and not all(0 <= side <= _MOST_PIXELS for side in self.region):
            raise Refused("A part of the picture is x, y, width, height in pixels, as 200,120,80,60.")

    def media_type(self, name: str) -> str:
        """
        The type of a file by its ending.

        Raises
        ------
        Refused
            If the ending is none of those that hold this, with what it is if that is known.
        """
        ending = f".{name.rsplit('.', 1)[-1].lower()}"
        if ending in ENDINGS[self.by]:
            return ENDINGS[self.by][ending]
        other = next((by for by in BYS if ending in ENDINGS[by]), None)
        if other is not None:
            raise Refused(f"'{name}' may hold {_A[other]}: say so, or send what holds {_A[self.by]}.")
        raise Refused(f"'{name}' is not a recording. {_SEND[self.by]}")

    def to_settings(self) -> dict[str, Any]:
        """What was said of it, as plain data; nothing for light, which needs no word."""
        if self.by == "light":
            return {}
        if self.by == "sound":
            return {KEY: {"by": "sound", "mirror": self.mirror}}
        said = {"captured_fps": self.captured_fps, "region_px": self.region and list(self.region)}
        return {KEY: {"by": "video", **{name: value for name, value in said.items() if value is not None}}}

    @property
    def words(self) -> str:
        """How it was measured beside light, in words; empty for light."""
        return "" if self.by == "light" else f"by {self.by}"

    @classmethod
    def of(cls, settings: Mapping[str, Any]) -> Taken:
        """What a measurement's settings say of its recording."""
        said = settings.get(KEY) or {}
        region = said.get("region_px")
        return cls(
            by=said.get("by", "light"),
            mirror=said.get("mirror", "not told"),
            captured_fps=said.get("captured_fps"),
            region=None if region is None else tuple(region),
        )


_A: dict[By, str] = {"light": "light", "sound": "sound", "video": "a video"}


def region_of(text: str) -> tuple[int, int, int, int]:
    """
    A part of the picture as it is typed: x, y, width, height.

    Raises
    ------
    Refused
        If it is none.
    """
    try:
        x, y, width, height = (int(part) for part in text[:60].split(","))
    except ValueError:
        raise Refused(
            f"Can't read the region {text[:60]!r}: write x,y,width,height, as 200,120,80,60."
        ) from None
    return x, y, width, height
