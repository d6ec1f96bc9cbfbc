"""
The clock of the bench: it runs while a job is worked on, and its minutes are added up.

A clock that ran longer than the workshop's limit, or over midnight, was forgotten: what it shows is asked
about and never counted by itself. What was counted wrong is put right by a counter-entry.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from django.db import transaction
from django.utils import timezone

from pegwood.book import diary
from pegwood.book.models import BenchClock, ClockEntry, Job
from pegwood.book.refusal import Refused
from pegwood.book.states import OVER
from pegwood.book.workshop import Workshop, workshop


class Hands(StrEnum):
    """How a clock stands."""

    STILL = "still"
    RUNS = "runs"
    ASKED = "asked about"


@dataclass(frozen=True, kw_only=True)
class ClockFace:
    """
    What a job's clock shows.

    Attributes
    ----------
    hands : Hands
    since, until : datetime, optional
        Of the run that goes on, or that is asked about.
    running_minutes : int
        Of that run, [min]; not counted yet.
    minutes : int
        Counted so far, [min].
    by : str
        Whose hands they are.
    """

    hands: Hands
    since: datetime | None
    until: datetime | None
    running_minutes: int
    minutes: int
    by: str


def face(job: Job, now: datetime) -> ClockFace:
    """What the clock of a job shows now; one that runs too long is asked about already."""
    clock = BenchClock.objects.filter(job=job).first()
    minutes = sum(job.clock_entries.values_list("minutes", flat=True))
    if clock is None or clock.since is None:
        return ClockFace(hands=Hands.STILL, since=None, until=None, running_minutes=0, minutes=minutes, by="")
    until = clock.until or now
    asked = clock.until is not None or forgotten(clock.since, now, workshop())
    return ClockFace(
        hands=Hands.ASKED if asked else Hands.RUNS,
        since=clock.since,
        until=until,
        running_minutes=minutes_between(clock.since, until),
        minutes=minutes,
        by=clock.by,
    )


def forgotten(since: datetime, until: datetime, shop: Workshop) -> bool:
    """Whether a clock that ran so long was forgotten: longer than the limit, or over midnight."""
    days = {moment.astimezone(shop.zone).date() for moment in (since, until)}
    return until - since > timedelta(minutes=shop.clock_longest) or len(days) > 1


def minutes_between(since: datetime, until: datetime) -> int:
    """Whole minutes, half a minute upwards; never below nothing, should the machine's own clock go back."""
    return max(0, int((until - since).total_seconds() + 30) // 60)


@transaction.atomic
def start(job: Job, *, by: str, at: datetime | None = None) -> BenchClock:
    """
    Let the clock of a job run. Another that the same person left running is stopped: hands are one pair.

    Raises
    ------
    Refused
        If the job is over, its clock runs already, or it waits to be told how long the last run was.
    """
    at = at or timezone.now()
    job = Job.objects.select_for_update().get(pk=job.pk)
    if job.stands in OVER:
        raise Refused(f"Job {job.number} is over; it stands at '{job.standing}'. Its clock stays still.")
    clock, _ = BenchClock.objects.select_for_update().get_or_create(job=job)
    if clock.until is not None:
        raise Refused("The clock was forgotten the last time. Say first how long that work was.")
    if clock.since is not None:
        raise Refused(f"The clock runs already, since {_moment(clock.since)}.")
    mine = BenchClock.objects.filter(by=by, since__isnull=False, until__isnull=True).exclude(pk=clock.pk)
    for other in mine.select_for_update(of=("self",)).select_related("job"):
        _stop(other, by=by, at=at)
    clock.since, clock.until, clock.by = at, None, by
    clock.save()
    diary.write(job, by=by, at=at, what="started the clock")
    return clock


@transaction.atomic
def stop(job: Job, *, by: str, at: datetime | None = None) -> ClockEntry | None:
    """
    Stop the clock of a job and count its minutes; None where it was forgotten, and is to be asked about.

    Raises
    ------
    Refused
        If it does not run.
    """
    job = Job.objects.select_for_update().get(pk=job.pk)
    clock = BenchClock.objects.select_for_update().filter(job=job, since__isnull=False).first()
    if clock is None:
        raise Refused("The clock does not run.")
    if clock.until is not None:
        raise Refused("The clock was forgotten and stands already. Say how long the work was.")
    return _stop(clock, by=by, at=at or timezone.now())


def stop_with_the_work(job: Job, *, by: str, at: datetime) -> None:
    """Stop the clock of a job, already locked, that leaves the bench; nothing happens where it stands."""
    running = BenchClock.objects.select_for_update().filter(job=job, since__isnull=False, until__isnull=True)
    if (clock := running.first()) is not None:
        _stop(clock, by=by, at=at)


def _stop(clock: BenchClock, *, by: str, at: datetime) -> ClockEntry | None:
    since = clock.since
    assert since is not None
    at = max(at, since)
    if forgotten(since, at, workshop()):
        clock.until = at
        clock.save()
        diary.write(
            clock.job, by=by, at=at, what="noticed a forgotten clock", text=f"it ran since {_moment(since)}"
        )
        return None
    return _count(clock, ClockEntry.Kind.RUN, minutes_between(since, at), at, "", by=by, at=at)


@transaction.atomic
def settle(job: Job, minutes: int, *, by: str, why: str = "", at: datetime | None = None) -> ClockEntry:
    """
    Say how long the work really was of a clock that was forgotten.

    Raises
    ------
    Refused
        If none is asked about, or the minutes are more than it ran.
    """
    at = at or timezone.now()
    job = Job.objects.select_for_update().get(pk=job.pk)
    clock = BenchClock.objects.select_for_update().filter(job=job, since__isnull=False).first()
    if clock is None or clock.since is None:
        raise Refused("No clock of this job is asked about.")
    until = clock.until or at
    if clock.until is None and not forgotten(clock.since, at, workshop()):
        raise Refused("The clock runs as it should. Stop it, and its minutes count.")
    if not 0 <= minutes <= minutes_between(clock.since, until):
        ran = minutes_between(clock.since, until)
        raise Refused(f"{minutes} minutes cannot be: the clock ran {ran}. Write 0 to {ran}.")
    return _count(clock, ClockEntry.Kind.TOLD, minutes, until, why.strip(), by=by, at=at)


@transaction.atomic
def correct(job: Job, minutes: int, why: str, *, by: str, at: datetime | None = None) -> ClockEntry:
    """
    Put the minutes of a job right by a counter-entry, below zero or above.

    Raises
    ------
    Refused
        If nothing says why, or there would be fewer minutes than none.
    """
    at = at or timezone.now()
    job = Job.objects.select_for_update().get(pk=job.pk)
    if not why.strip():
        raise Refused("Why are the minutes other? Write it: the diary keeps both.")
    if not minutes or abs(minutes) > 100_000:
        raise Refused("How many minutes too few or too many? Write -15 to take 15 off, 15 to add them.")
    counted = sum(job.clock_entries.values_list("minutes", flat=True))
    if counted + minutes < 0:
        raise Refused(f"Only {counted} minutes are counted. Take off those at most.")
    entry = ClockEntry.objects.create(
        job=job, kind=ClockEntry.Kind.CORRECTION, minutes=minutes, why=why.strip()[:240], at=at, by=by
    )
    diary.write(job, by=by, at=at, what="corrected the clock", text=why.strip(), new={"minutes": minutes})
    return entry


def _count(
    clock: BenchClock, kind: str, minutes: int, until: datetime, why: str, *, by: str, at: datetime
) -> ClockEntry:
    since = clock.since
    clock.since = clock.until = None
    clock.save()
    entry = ClockEntry.objects.create(
        job=clock.job, kind=kind, minutes=minutes, since=since, until=until, why=why[:240], at=at, by=by
    )
    diary.write(clock.job, by=by, at=at, what="stopped the clock", text=why, new={"minutes": minutes})
    return entry


def _moment(moment: datetime) -> str:
    return f"{moment.astimezone(workshop().zone):%Y-%m-%d %H:%M}"
