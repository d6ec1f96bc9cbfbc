"""A job moves on: the one place where a standing changes."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.utils import timezone

from pegwood.book import diary, search
from pegwood.book.billing.clock import stop_with_the_work
from pegwood.book.models import Job
from pegwood.book.refusal import Refused
from pegwood.book.spares.moves import release
from pegwood.book.states import OVER, Move, NotNow, Standing, WaitingFor, destination
from pegwood.book.stripping.whole import lacks
from pegwood.book.waiting import waits_until

#: Where nobody works on a camera: its clock stands there.
OFF_THE_BENCH = frozenset({Standing.WAITING, Standing.READY, Standing.PRICED, *OVER})
#: How much of what is out a refusal names.
MOST_NAMED = 4


def locked(job: Job) -> Job:
    """The job as it stands now, held until the transaction ends."""
    return Job.objects.select_for_update().get(pk=job.pk)


def locked_open(job: Job) -> Job:
    """
    As `locked`, of a job that is not over.

    Raises
    ------
    Refused
        If it is over: what is found or done afterwards belongs into a remark, or into a new job.
    """
    job = locked(job)
    if job.is_over:
        raise Refused(f"Job {job.number} is over; it stands at '{job.standing}'. Write a remark instead.")
    return job


def advance(
    job: Job,
    move: Move,
    *,
    by: str,
    at: datetime,
    what: str = "",
    text: str = "",
    waiting_for: WaitingFor | None = None,
    waits_until: datetime | None = None,
    new: diary.Plain | None = None,
) -> Job:
    """
    Take a job, already locked, to where `move` leads, save it whole and write the diary entry. Spares that
    are reserved for a job that is over then are free again.

    Raises
    ------
    Refused
        If the move makes no sense where the job stands; the message says why.
    """
    before = job.stands
    try:
        after = destination(before, move, Standing(job.came_from) if job.came_from else None)
    except NotNow as reason:
        raise Refused(str(reason)) from None
    if after in OFF_THE_BENCH:
        stop_with_the_work(job, by=by, at=at)
    old = {"standing": before, "waiting_for": job.waiting_for}
    job.standing = after
    if after not in {Standing.WAITING, *OVER}:
        job.came_from = ""
    elif before is not Standing.WAITING:  # a job that was waiting keeps where it was before that
        job.came_from = before
    job.waiting_for = waiting_for or ""
    job.waits_until = waits_until
    job.stands_since = at
    job.save()
    diary.write(
        job,
        by=by,
        at=at,
        what=what or f"moved it: {move}",
        text=text,
        old=old,
        new={
            "standing": after,
            "waiting_for": job.waiting_for,
            **({"waits_until": waits_until.isoformat()} if waits_until else {}),
            **(new or {}),
        },
    )
    if after in OVER:
        release(job, by=by, at=at)
    search.index_job(job)
    return job


@transaction.atomic
def look_over(job: Job, *, by: str, at: datetime | None = None) -> Job:
    """
    Say that the camera has been looked over.

    Raises
    ------
    Refused
        If nothing was found to write down, not even that nothing is wrong.
    """
    job = locked(job)
    if not job.findings.exists():
        raise Refused("Nothing is noted yet. Note what you see first, even if it is that all is well.")
    return advance(job, Move.LOOK_OVER, by=by, at=at or timezone.now(), what="looked it over")


@transaction.atomic
def put_on_bench(job: Job, *, by: str, at: datetime | None = None) -> Job:
    """Begin the work the owner agreed to."""
    return advance(locked(job), Move.TAKE_ON, by=by, at=at or timezone.now(), what="put on the bench")


@transaction.atomic
def let_wait(
    job: Job,
    waiting_for: WaitingFor | str,
    *,
    by: str,
    note: str = "",
    long: str = "",
    at: datetime | None = None,
) -> Job:
    """
    Lay a job by until the owner answers, a part comes, or something has dried or cured.

    `long` is for how long, as `waiting.waits_until` reads it.
    """
    at = at or timezone.now()
    try:
        what_for = WaitingFor(waiting_for)
    except ValueError:
        raise Refused(
            f"A job cannot wait for {waiting_for!r}. It waits for one of: {', '.join(WaitingFor)}."
        ) from None
    return advance(
        locked(job),
        Move.WAIT,
        by=by,
        at=at,
        waiting_for=what_for,
        waits_until=waits_until(long, at),
        what=f"let it wait for: {what_for}",
        text=note.strip(),
    )


@transaction.atomic
def go_on(job: Job, *, by: str, at: datetime | None = None) -> Job:
    """Take a waiting job up again where it was laid by."""
    return advance(locked(job), Move.GO_ON, by=by, at=at or timezone.now(), what="went on")


@transaction.atomic
def prove(job: Job, *, by: str, at: datetime | None = None) -> Job:
    """Put the camera together for the proof by measurement."""
    return advance(locked(job), Move.PROVE, by=by, at=at or timezone.now(), what="began to prove it")


@transaction.atomic
def back_to_bench(job: Job, reason: str, *, by: str, at: datetime | None = None) -> Job:
    """Take a camera back to the bench that did not prove well."""
    return advance(
        locked(job),
        Move.BACK_TO_BENCH,
        by=by,
        at=at or timezone.now(),
        what="took it back to the bench",
        text=reason.strip(),
    )


@transaction.atomic
def call_ready(job: Job, *, by: str, at: datetime | None = None) -> Job:
    """
    Say that the camera is done and may be fetched.

    Raises
    ------
    Refused
        If something that came off it is neither back nor explained: each is named.
    """
    job = locked(job)
    if out := lacks(job):
        more = f" And {len(out) - MOST_NAMED} more." if len(out) > MOST_NAMED else ""
        raise Refused(
            f"It is not whole. {' '.join(out[:MOST_NAMED])}{more} Put it in, or say why it stays out."
        )
    return advance(job, Move.PASS, by=by, at=at or timezone.now(), what="called it ready")
