"""The bench listens while a shutter is fired down its speeds, and keeps what it heard with the job."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass, fields
from datetime import datetime
from typing import Any, TypeGuard
from uuid import UUID

import numpy as np
import soundfile
from django.db import transaction
from django.utils import timezone

from pegwood.book import diary
from pegwood.book.files.spool import BYTES, NotThere, Spool, spools
from pegwood.book.files.store import keep
from pegwood.book.instrument import marked_speed
from pegwood.book.measuring import LARGEST_RECORDING, enter_recording
from pegwood.book.models import Gear, Job, Measurement, StoredFile
from pegwood.book.moving import locked_open
from pegwood.book.refusal import Refused
from pegwood.book.walk import Fired, Walk, walk_of

RATES = (8000, 384_000)
MOST_CHANNELS = 2
MOST_SPEEDS = 40
FIRINGS = (3, 5)
LONGEST_S = 3600
MOST_BYTES = LARGEST_RECORDING * 3 // 4
MOST_OPEN = 20
MOST_LINES = 5000
LONGEST_TEXT = 200


@dataclass(frozen=True, kw_only=True)
class Plan:
    """
    What is to be fired.

    Parameters
    ----------
    speeds : tuple of str
        Marked speeds, in the order they are walked.
    firings : int
        How many that belong together make a speed done.
    moves_on : bool
        Whether the page goes to the next speed by itself then.
    phase : str
        "as found", "as left" or empty: what the repairer means it to be.
    """

    speeds: tuple[str, ...]
    firings: int = 5
    moves_on: bool = False
    phase: str = ""

    def __post_init__(self) -> None:
        if not 1 <= len(self.speeds) <= MOST_SPEEDS:
            raise Refused(f"Choose the speeds to be fired: one at least, {MOST_SPEEDS} at most.")
        if not FIRINGS[0] <= self.firings <= FIRINGS[1]:
            raise Refused(f"From {FIRINGS[0]} to {FIRINGS[1]} firings make a speed, not {self.firings}.")
        if self.phase not in {"", Measurement.Phase.FOUND, Measurement.Phase.LEFT}:
            raise Refused(f"A reading is meant 'as found' or 'as left', not '{self.phase[:20]}'.")
        object.__setattr__(self, "speeds", tuple(dict.fromkeys(marked_speed(s).text for s in self.speeds)))


@dataclass(frozen=True, kw_only=True)
class Session:
    """One session of listening: where it lies, whose it is, what was planned and what was done."""

    spool: Spool
    job_id: int
    plan: Plan
    walk: Walk
    gear_id: int | None
    at: datetime

    @property
    def ticket(self) -> UUID:
        return self.spool.ticket

    @property
    def seconds(self) -> float:
        """How much has been heard, [s]."""
        return self.spool.frames / self.spool.rate


def begin_listening(
    job: Job,
    ticket: UUID,
    plan: Plan,
    *,
    rate: int,
    channels: int,
    by: str,
    gear: Gear | None = None,
    at: datetime | None = None,
) -> Session:
    """
    Begin a session. Begun twice under one ticket, it is one session.

    Raises
    ------
    Refused
        If the job is over, no sound input is like that, or too many sessions wait to be kept.
    """
    if job.is_over:
        raise Refused(f"Job {job.number} is over; it stands at '{job.standing}'.")
    if not RATES[0] <= rate <= RATES[1]:
        raise Refused(f"A sound input gives {RATES[0]} to {RATES[1]} readings a second, not {rate}.")
    if not 1 <= channels <= MOST_CHANNELS:
        raise Refused(f"One or two channels are listened to, not {channels}.")
    waiting = spools()
    if len(waiting) >= MOST_OPEN and all(one.ticket != ticket for one in waiting):
        raise Refused(f"{MOST_OPEN} sessions wait to be kept. Keep them or throw them away first.")
    head = {
        "job": job.pk,
        "rate": rate,
        "channels": channels,
        "plan": asdict(plan),
        "gear": gear.pk if gear else None,
        "by": by,
        "at": (at or timezone.now()).isoformat(),
    }
    Spool.begin(ticket, head)
    return session_of(job, ticket)


def session_of(job: Job, ticket: UUID) -> Session:
    """
    A session of a job that is not kept yet.

    Raises
    ------
    NotThere
        If there is none.
    """
    session = _session(Spool.open(ticket))
    if session.job_id != job.pk:
        raise NotThere("That session belongs to another job.")
    return session


def open_sessions(job: Job) -> list[Session]:
    """The sessions of a job that are not kept yet, the newest first."""
    return [_session(spool) for spool in spools() if spool.head.get("job") == job.pk]


def _session(spool: Spool) -> Session:
    head = spool.head
    planned = {f.name: head["plan"][f.name] for f in fields(Plan)}
    return Session(
        spool=spool,
        job_id=head["job"],
        plan=Plan(**{**planned, "speeds": tuple(planned["speeds"])}),
        walk=walk_of(spool.noted("log")),
        gear_id=head["gear"],
        at=datetime.fromisoformat(head["at"]),
    )


def take_sound(session: Session, at: int, piece: bytes) -> int:
    """
    Take a piece of sound that begins at a frame; say how many frames there are now.

    Raises
    ------
    Refused
        If it is no whole number of frames, or the session has its fill.
    """
    spool = session.spool
    frame = BYTES * spool.channels
    if not piece or len(piece) % frame:
        raise Refused(
            f"A piece of sound is a whole number of frames of {frame} bytes, not {len(piece)} bytes."
        )
    frames = at + len(piece) // frame
    if frames > LONGEST_S * spool.rate or frames * frame > MOST_BYTES:
        raise Refused("This session has its fill. Keep it with the job, then listen anew.")
    return spool.append(at, piece)


def note_step(session: Session, entry: dict[str, Any]) -> Walk:
    """
    Write down what was done at the page: `n` counts from 1, `at` is the frame it happened at.

    A step that was written down already changes nothing.

    Raises
    ------
    Refused
        If it is none, or one before it is missing.
    """
    n, step = _checked(entry)
    if n > session.walk.last + 1 or n > MOST_LINES:
        raise Refused(f"Step {n} came before step {session.walk.last + 1}. Load the page anew.")
    if n == session.walk.last + 1:
        session.spool.note("log", step)
    return walk_of(session.spool.noted("log"))


def _checked(entry: dict[str, Any]) -> tuple[int, dict[str, Any]]:
    n, at, do = entry.get("n"), entry.get("at"), entry.get("do")
    if not _is_count(n) or not _is_count(at) or n == 0:
        raise Refused("A step has its number and the frame it happened at.")
    step: dict[str, Any] = {"n": n, "at": at, "do": do}
    if do == "go":
        step["speed"] = marked_speed(str(entry.get("speed", ""))[:LONGEST_TEXT]).text
    elif do in {"strike", "take back"}:
        firings = entry.get("firings")
        if not isinstance(firings, list) or not all(map(_is_count, firings)) or len(firings) > MOST_LINES:
            raise Refused("Say which firings by their numbers.")
        step["firings"] = firings
    elif do == "listen":
        bent = entry.get("bent")
        step["voice"] = str(entry.get("voice", ""))[:LONGEST_TEXT]
        step["device"] = _plain(str(entry.get("device", "")))
        step["bent"] = [_plain(str(one)) for one in bent[:9]] if isinstance(bent, list) else []
    else:
        raise Refused("A step is to listen, to go to a speed, to strike out or to take back.")
    return n, step


def _is_count(value: object) -> TypeGuard[int]:
    return isinstance(value, int) and not isinstance(value, bool) and 0 <= value < 2**40


def _plain(text: str) -> str:
    return "".join(c for c in text if c.isprintable())[:LONGEST_TEXT].strip()


def keep_session(
    job: Job, ticket: UUID, fired: Sequence[Fired], *, by: str, at: datetime | None = None
) -> list[Measurement]:
    """
    Keep the whole recording with the job, and a measurement to be read for each speed that was fired.

    Kept twice, it is kept once.

    Parameters
    ----------
    fired : sequence of Fired
        What was heard, by whoever listened.

    Returns
    -------
    measurements : list of Measurement
        In the order the speeds were first shown.

    Raises
    ------
    Refused
        If the job is over, nothing was fired, or all of it was struck out.
    """
    kept = list(job.measurements.filter(settings__live__session=str(ticket)).order_by("pk"))
    if kept:
        drop_session(job, ticket)  # a power cut may have left it
        return kept
    session = session_of(job, ticket)
    at = at or timezone.now()
    parts = _parts(session, fired)
    if not parts:
        why = "all that was fired is struck out" if fired else "no firing was heard"
        raise Refused(f"There is nothing to keep: {why}. Fire a speed, or throw the session away.")
    file = _stored(session, at)
    gear = Gear.objects.filter(pk=session.gear_id).first() if session.gear_id else None
    heard = {"session": str(ticket), "phase": session.plan.phase, "heard_by": list(session.walk.heard_by)}
    with transaction.atomic():
        job = locked_open(job)
        measurements = [
            enter_recording(
                job, marked_speed(speed), file, by=by, gear=gear, at=at, more={"live": {**part, **heard}}
            )
            for speed, part in parts.items()
        ]
        diary.write(
            job,
            by=by,
            at=at,
            what="listened to the shutter",
            text=", ".join(parts),
            new={
                "session": str(ticket),
                "sha256": file.sha256,
                "seconds": round(session.seconds, 2),
                "firings": len(fired),
                "struck_out": len(session.walk.struck),
                "heard_by": heard["heard_by"],
            },
        )
    session.spool.drop()
    return measurements


def _parts(session: Session, fired: Sequence[Fired]) -> dict[str, dict[str, Any]]:
    """Stretches and struck firings of every speed of which a firing stands."""
    walk, found = session.walk, {}
    for speed in walk.visited:
        own = walk.of(speed, fired)
        struck = [(one.begins, one.ends) for one in own if one.number in walk.struck]
        if len(own) > len(struck):
            stretches = walk.stretches(speed, fired, session.spool.frames)
            found[speed] = {"stretches": [list(s) for s in stretches], "struck": [list(s) for s in struck]}
    return found


def _stored(session: Session, at: datetime) -> StoredFile:
    """The whole recording as FLAC (no reading is lost), one channel where both were the same."""
    spool = session.spool
    place = spool.folder / "whole.flac"
    same = spool.channels > 1 and all(np.array_equal(p[:, 0], p[:, 1]) for p in spool.pieces())
    try:
        with soundfile.SoundFile(
            str(place), "w", spool.rate, 1 if same else spool.channels, format="FLAC", subtype="PCM_24"
        ) as out:
            for piece in spool.pieces():
                out.write(piece[:, :1] if same else piece)
        name = f"live-{session.at:%Y%m%d-%H%M%S}.flac"
        with place.open("rb") as content:
            return keep(content, name=name, media_type="audio/flac", at_most=LARGEST_RECORDING, at=at)
    except (OSError, soundfile.SoundFileError) as error:
        raise Refused(f"The recording could not be written: {error}. Make room on the disk.") from error
    finally:
        place.unlink(missing_ok=True)


def drop_session(job: Job, ticket: UUID) -> None:
    """Throw a session away, with all that was heard in it. One that is gone already is gone."""
    try:
        session_of(job, ticket).spool.drop()
    except NotThere:
        return
