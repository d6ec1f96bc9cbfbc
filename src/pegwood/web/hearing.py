"""
Ears of the server: one listener for each session that sound comes in for.

A listener is only memory. What it heard is written beside the sound, line by line; after a restart, or in
another process, a new one takes over from there with the last half minute of sound.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from dataclasses import dataclass, field
from uuid import UUID

from pegwood.book.files.spool import Spool
from pegwood.book.instrument import marked_speed
from pegwood.book.listening import Session, take_sound
from pegwood.book.walk import Walk
from pegwood.instruments.shutter import Heard, Listener, heard_from_json, heard_to_json
from pegwood.instruments.shutter.live import LONGEST_S

MOST = 6
_STEP_S = 0.05  # of sound that a listener takes at a time


@dataclass
class _Ear:
    """One listener, and whoever waits for it."""

    lock: threading.Lock = field(default_factory=threading.Lock)
    listener: Listener | None = None
    breaks: int = 0


class Ears:
    """Listeners by the ticket of their session; the least used is forgotten first."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._ears: OrderedDict[UUID, _Ear] = OrderedDict()

    def take(self, session: Session, at: int, piece: bytes) -> int:
        """
        Take a piece of sound and listen to it; say how many frames there are.

        Raises
        ------
        Refused
            As `take_sound`.
        """
        ear = self._ear(session.ticket)
        with ear.lock:
            frames = take_sound(session, at, piece)
            self._listen(ear, session, frames)
            return frames

    def finish(self, session: Session) -> list[Heard]:
        """Settle what is open; all that was heard."""
        ear = self._ear(session.ticket)
        with ear.lock:
            self._listen(ear, session, session.spool.frames)
            if ear.listener is not None:
                _write(session.spool, ear.listener.finish())
            ear.listener = None
        return heard_in(session.spool)

    def forget(self, ticket: UUID) -> None:
        """The session is over."""
        with self._lock:
            self._ears.pop(ticket, None)

    def _ear(self, ticket: UUID) -> _Ear:
        with self._lock:
            ear = self._ears.setdefault(ticket, _Ear())
            self._ears.move_to_end(ticket)
            while len(self._ears) > MOST:
                self._ears.popitem(last=False)
            return ear

    def _listen(self, ear: _Ear, session: Session, frames: int) -> None:
        spool, walk = session.spool, session.walk
        if ear.listener is not None and len(walk.breaks) > ear.breaks:
            _write(spool, ear.listener.finish())
            ear.listener = None
        if ear.listener is None:
            begins = max([0, frames - int(LONGEST_S * spool.rate), *(b for b in walk.breaks if b <= frames)])
            known = heard_in(spool)
            ear.listener = Listener(spool.rate, spool.channels, position=begins, known=known)
            ear.breaks = len(walk.breaks)
        step = max(1, int(_STEP_S * spool.rate))
        while ear.listener.position < frames:
            start = ear.listener.position
            ear.listener.expected_s = _expected(walk, start)
            _write(spool, ear.listener.hear(spool.sound(start, min(start + step, frames))))


def heard_in(spool: Spool) -> list[Heard]:
    """All that was heard in a session, in order; what was read again counts as it was read last."""
    last = {entry["number"]: entry for entry in spool.noted("heard") if "number" in entry}
    return [heard_from_json(entry) for _, entry in sorted(last.items())]


def version_of(session: Session) -> str:
    """Changes with every step and with all that is heard."""
    return f"{session.walk.last}-{session.spool.size('heard')}"


def _write(spool: Spool, heard: list[Heard]) -> None:
    for one in heard:
        spool.note("heard", heard_to_json(one))


def _expected(walk: Walk, frame: int) -> float | None:
    speed = walk.speed_at(frame)
    return marked_speed(speed).seconds() if speed else None


ears = Ears()
