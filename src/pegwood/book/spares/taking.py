"""Taking from the shelf: reserved for a job, used in it, given back, written off; a slip undone."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.utils import timezone

from pegwood.book.models import DonorPart, Job, Spare, SpareMove
from pegwood.book.moving import locked, locked_open
from pegwood.book.refusal import Refused
from pegwood.book.spares.moves import (
    checked_count,
    count_of,
    held_for,
    locked_spare,
    moved,
    used_in,
)
from pegwood.book.states import OVER

Kind = SpareMove.Kind


@transaction.atomic
def reserve(
    spare: Spare, job: Job, count: int = 1, *, by: str, for_part: str = "", at: datetime | None = None
) -> SpareMove:
    """
    Keep a spare for a job; nobody else can take it then.

    Parameters
    ----------
    for_part : str
        Which part of the job's camera it is for, by id in its family; empty for the spare's own.

    Raises
    ------
    Refused
        If there are not so many free, or the job is over.
    """
    checked_count(count)
    job = locked_open(job)
    spare = locked_spare(spare)
    _check_free(spare, count, 0)
    return moved(spare, Kind.HELD, held=count, job=job, for_part=for_part, by=by, at=at or timezone.now())


@transaction.atomic
def let_go(spare: Spare, job: Job, *, by: str, at: datetime | None = None) -> SpareMove:
    """
    Reserve a spare for a job no longer.

    Raises
    ------
    Refused
        If none is reserved for it.
    """
    job = locked(job)
    spare = locked_spare(spare)
    held = held_for(spare, job)
    if not held:
        raise Refused(f"No {spare.name} is reserved for job {job.number}.")
    return moved(spare, Kind.LET_GO, held=-held, job=job, by=by, at=at or timezone.now())


@transaction.atomic
def use(
    spare: Spare, job: Job, count: int = 1, *, by: str, for_part: str = "", at: datetime | None = None
) -> SpareMove:
    """
    Put a spare into a job's camera. What was reserved for the job goes first.

    Raises
    ------
    Refused
        If there are not so many that are free or reserved for this very job, or the job is over.
    """
    checked_count(count)
    job = locked_open(job)
    spare = locked_spare(spare)
    own = held_for(spare, job)
    _check_free(spare, count, own)
    return moved(
        spare,
        Kind.USED,
        lies=-count,
        held=-min(own, count),
        job=job,
        for_part=for_part,
        by=by,
        at=at or timezone.now(),
    )


@transaction.atomic
def give_back(
    spare: Spare, job: Job, count: int = 1, *, by: str, reason: str = "", at: datetime | None = None
) -> SpareMove:
    """
    Put a spare back on the shelf that a job did not need after all.

    Raises
    ------
    Refused
        If so many are not in the job.
    """
    checked_count(count)
    job = locked(job)
    spare = locked_spare(spare)
    used = used_in(spare, job)
    if used < count:
        raise Refused(f"Job {job.number} has {used or 'none'} of {spare.name}, so {count} cannot come back.")
    return moved(spare, Kind.GIVEN_BACK, lies=count, job=job, reason=reason, by=by, at=at or timezone.now())


@transaction.atomic
def write_off(spare: Spare, count: int, reason: str, *, by: str, at: datetime | None = None) -> SpareMove:
    """
    Take a spare off the shelf for good: broken, lost, sold, gone bad.

    Raises
    ------
    Refused
        If no reason is given, or there are not so many free.
    """
    checked_count(count)
    if not reason.strip():
        raise Refused("Why is it written off? Write the reason, such as 'broke while it was cut to size'.")
    spare = locked_spare(spare)
    _check_free(spare, count, 0)
    return moved(spare, Kind.WRITTEN_OFF, lies=-count, reason=reason, by=by, at=at or timezone.now())


@transaction.atomic
def recount(
    spare: Spare, found: int, reason: str = "", *, by: str, at: datetime | None = None
) -> SpareMove | None:
    """
    Set the book right after counting what really lies there; None where it was right.

    Raises
    ------
    Refused
        If fewer lie there than are reserved, or the count cannot be.
    """
    if not 0 <= found <= MOST_COUNTED:
        raise Refused(f"{found} on the shelf cannot be. Expected 0 to {MOST_COUNTED}.")
    spare = locked_spare(spare)
    count = count_of(spare)
    if found == count.lies:
        return None
    if found < count.held:
        raise Refused(f"{count.held} of {spare.name} are reserved for jobs. Let go of some first.")
    return moved(spare, Kind.COUNTED, lies=found - count.lies, reason=reason, by=by, at=at or timezone.now())


@transaction.atomic
def undo(move: SpareMove, *, by: str, reason: str = "", at: datetime | None = None) -> SpareMove:
    """
    Undo a move that was a slip, by its counter-entry; both stay in the book.

    A part that was taken out of a donor is in it again.

    Raises
    ------
    Refused
        If it was undone already or is a counter-entry itself, if the spares it brought are gone since, or if
        what it let go of would be reserved for a job that is over.
    """
    at = at or timezone.now()
    job = locked(move.job) if move.job else None
    spare = locked_spare(move.spare)
    move = SpareMove.objects.get(pk=move.pk)
    if move.kind == Kind.UNDONE:
        raise Refused("That is a counter-entry itself. Do again what it undid.")
    if SpareMove.objects.filter(undoes=move).exists():
        raise Refused("That was undone already.")
    if job is not None and job.stands in OVER and move.held < 0:
        raise Refused(f"Job {job.number} is over, so nothing is reserved for it again.")
    count = count_of(spare)
    lies, held = count.lies - move.lies, count.held - move.held
    of_job = (used_in(spare, job) + move.lies, held_for(spare, job) - move.held) if job else (0, 0)
    if lies < 0 or held < 0 or held > lies or min(of_job) < 0:
        raise Refused(f"What it brought of {spare.name} has moved on since. Undo that first.")
    row = moved(
        spare,
        Kind.UNDONE,
        lies=-move.lies,
        held=-move.held,
        job=job,
        for_part=move.for_part,
        reason=reason or f"was a slip: {move.kind}",
        undoes=move,
        by=by,
        at=at,
    )
    if move.kind == Kind.PUT and move == spare.moves.first():
        DonorPart.objects.filter(spare=spare).update(struck_out=True)
    return row


#: More than lie in any drawer; a slip of the keys.
MOST_COUNTED = 30_000


def _check_free(spare: Spare, count: int, own: int) -> None:
    """`own` of what is reserved are for whoever asks."""
    there = count_of(spare)
    free = there.free + own
    if free >= count:
        return
    if not there.lies:
        raise Refused(f"No {spare.name} is left on the shelf.")
    if free:
        raise Refused(f"Only {free} of {spare.name} {'is' if free == 1 else 'are'} free, not {count}.")
    jobs = sorted({job.number for job in _who_holds(spare)})
    numbers = ", ".join(map(str, jobs))
    raise Refused(f"What lies there of {spare.name} is reserved for job {numbers}.")


def _who_holds(spare: Spare) -> list[Job]:
    jobs = Job.objects.filter(spare_moves__spare=spare, spare_moves__held__gt=0).distinct()
    return [job for job in jobs if held_for(spare, job)]
