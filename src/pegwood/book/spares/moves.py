"""
What moves on the shelf.

How many there are of a spare is the sum of its moves. Whoever moves one holds the spare's row until the
transaction ends, so that of two benches that take the last one, the second sees that it is gone. Where a job
is held too, it is held first: nobody then waits in a ring.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import QuerySet, Sum

from pegwood.book import diary
from pegwood.book.models import Job, Spare, SpareMove
from pegwood.book.refusal import Refused

MOST_AT_ONCE = 999
LONGEST_REASON = 240


@dataclass(frozen=True)
class Count:
    """How many lie on the shelf, and how many of these are reserved."""

    lies: int
    held: int

    @property
    def free(self) -> int:
        return self.lies - self.held


def locked_spare(spare: Spare) -> Spare:
    """The spare as it stands now, held until the transaction ends."""
    return Spare.objects.select_for_update().get(pk=spare.pk)


def count_of(spare: Spare) -> Count:
    """How many there are."""
    found = SpareMove.objects.filter(spare=spare).aggregate(lies=Sum("lies"), held=Sum("held"))
    return Count(found["lies"] or 0, found["held"] or 0)


def held_for(spare: Spare, job: Job) -> int:
    """How many are reserved for a job."""
    moves = SpareMove.objects.filter(spare=spare, job=job)
    return int(moves.aggregate(held=Sum("held"))["held"] or 0)


def used_in(spare: Spare, job: Job) -> int:
    """How many are in a job's camera."""
    moves = SpareMove.objects.filter(spare=spare, job=job)
    return -int(moves.aggregate(lies=Sum("lies"))["lies"] or 0)


def checked_count(count: int) -> int:
    if not 1 <= count <= MOST_AT_ONCE:
        raise Refused(f"{count} at once cannot be. Expected 1 to {MOST_AT_ONCE}.")
    return count


def moved(
    spare: Spare,
    kind: str,
    *,
    by: str,
    at: datetime,
    lies: int = 0,
    held: int = 0,
    job: Job | None = None,
    for_part: str = "",
    reason: str = "",
    undoes: SpareMove | None = None,
    new: Mapping[str, Any] | None = None,
) -> SpareMove:
    """Write a move of a spare that is held, and the diary's entry for it."""
    if len(reason.strip()) > LONGEST_REASON:
        raise Refused(f"The reason is longer than {LONGEST_REASON} characters. Make it shorter.")
    row = SpareMove.objects.create(
        spare=spare,
        kind=kind,
        lies=lies,
        held=held,
        job=job,
        for_part=for_part,
        reason=reason.strip(),
        undoes=undoes,
        at=at,
        by=by,
    )
    count = count_of(spare)
    told = {"spare": spare.pk, "how_many": abs(lies or held), "on_the_shelf": count.lies, **(new or {})}
    text = f"{spare.name}: {row.reason}" if row.reason else spare.name
    diary.write(job, by=by, at=at, what=_WHAT[SpareMove.Kind(kind)], text=text, new=told)
    return row


def release(job: Job, *, by: str, at: datetime) -> None:
    """Let go of all that is reserved for a job that is over; the job is held already."""
    for spare in _held(job):
        spare = locked_spare(spare)
        if held := held_for(spare, job):
            moved(spare, SpareMove.Kind.LET_GO, held=-held, job=job, reason="the job is over", by=by, at=at)


def _held(job: Job) -> QuerySet[Spare]:
    """In one order, so that two jobs that end at once never wait for each other."""
    rows = SpareMove.objects.filter(job=job).values("spare").annotate(sum=Sum("held")).filter(sum__gt=0)
    return Spare.objects.filter(pk__in=rows.values("spare")).order_by("pk")


_WHAT: dict[SpareMove.Kind, str] = {
    SpareMove.Kind.PUT: "put on the shelf",
    SpareMove.Kind.HELD: "reserved a spare",
    SpareMove.Kind.LET_GO: "let go of a spare",
    SpareMove.Kind.USED: "used a spare",
    SpareMove.Kind.GIVEN_BACK: "gave a spare back",
    SpareMove.Kind.WRITTEN_OFF: "wrote a spare off",
    SpareMove.Kind.COUNTED: "counted a spare",
    SpareMove.Kind.UNDONE: "undid a move of the shelf",
}
