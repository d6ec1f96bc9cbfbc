"""
A walk down the marked speeds while the bench listens: which speed was fired when. Pure: lines of a log in.

Rules, in words:

1. A firing belongs to the speed that the page showed when it began.
2. A speed can be gone back to: its firings are all that began while it was shown.
3. What a person strikes out stays in the recording; it can be taken back.
4. Where one speed gives way to the next, the recording is parted in the middle of the darkness between the
   last firing of the one and the first firing of the other.
5. Where listening stopped and began again, nothing joins what was before with what comes after.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Protocol

Stretch = tuple[int, int]


class Fired(Protocol):
    """What a walk asks of a firing."""

    @property
    def number(self) -> int: ...
    @property
    def begins(self) -> int: ...
    @property
    def ends(self) -> int: ...


@dataclass(frozen=True)
class Walk:
    """
    What was done so far.

    Parameters
    ----------
    shown : tuple of (int, str)
        From which frame on which speed was shown, in order.
    breaks : tuple of int
        Frames at which listening began anew.
    struck : frozenset of int
        Numbers of the firings struck out.
    last : int
        Number of the last entry.
    voice : str
        Which page listens.
    heard_by : tuple of dict
        What is known of each input that was listened to: device, and how the browser bends its sound.
    """

    shown: tuple[tuple[int, str], ...] = ()
    breaks: tuple[int, ...] = ()
    struck: frozenset[int] = frozenset()
    last: int = 0
    voice: str = ""
    heard_by: tuple[dict[str, Any], ...] = ()

    @property
    def speed(self) -> str:
        """The speed that is shown now; empty before the first."""
        return self.shown[-1][1] if self.shown else ""

    @property
    def visited(self) -> tuple[str, ...]:
        """Every speed that was shown, in the order of its first time."""
        return tuple(dict.fromkeys(speed for _, speed in self.shown))

    def speed_at(self, frame: int) -> str:
        """The speed that was shown at a frame."""
        before = [speed for at, speed in self.shown if at <= frame]
        return before[-1] if before else (self.shown[0][1] if self.shown else "")

    def of(self, speed: str, fired: Iterable[Fired]) -> list[Fired]:
        """The firings of a speed, in order of time, struck ones too."""
        return sorted((f for f in fired if self.speed_at(f.begins) == speed), key=lambda f: f.begins)

    def stretches(self, speed: str, fired: Sequence[Fired], frames: int) -> list[Stretch]:
        """Which parts of the recording belong to a speed."""
        edges = [(0, self.shown[0][1])] if self.shown else []
        for at, following in self.shown[1:]:
            edges.append((min(frames, max(_parting(at, fired), edges[-1][0])), following))
        found: list[Stretch] = []
        for i, (start, shown) in enumerate(edges):
            stop = edges[i + 1][0] if i + 1 < len(edges) else frames
            if shown == speed:
                cuts = [start, *(b for b in self.breaks if start < b < stop), stop]
                found += [(a, b) for a, b in pairwise(cuts) if b > a]
        return found


def walk_of(log: Iterable[Mapping[str, Any]]) -> Walk:
    """What the lines of a session's log say; lines numbered twice count once."""
    shown: list[tuple[int, str]] = []
    breaks: list[int] = []
    heard_by: list[dict[str, Any]] = []
    struck: set[int] = set()
    last, voice = 0, ""
    for entry in log:
        if entry.get("n", 0) <= last:
            continue
        last = entry["n"]
        match entry["do"]:
            case "listen":
                voice = entry["voice"]
                heard_by.append({"device": entry["device"], "bent": list(entry["bent"])})
                breaks += [entry["at"]] if entry["at"] else []
            case "go" if not shown or shown[-1][1] != entry["speed"]:
                shown.append((max(entry["at"], shown[-1][0] if shown else 0), entry["speed"]))
            case "strike":
                struck |= set(entry["firings"])
            case "take back":
                struck -= set(entry["firings"])
    return Walk(tuple(shown), tuple(breaks), frozenset(struck), last, voice, tuple(heard_by))


def _parting(at: int, fired: Sequence[Fired]) -> int:
    """Where the recording is parted for a speed that was shown from `at` on."""
    before = max((f.ends for f in fired if f.begins < at), default=None)
    after = min((f.begins for f in fired if f.begins >= at), default=None)
    if before is None or after is None:
        return at if before is None else max(at, before)
    return (before + after) // 2 if before < after else at
