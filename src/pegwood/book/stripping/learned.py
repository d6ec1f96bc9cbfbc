"""A family's minutes as this bench's own jobs have them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.db.models import Count, Max, Subquery, Sum

from pegwood.anatomy.construction import Construction
from pegwood.anatomy.learning.minutes import BenchMinutes, learn_minutes
from pegwood.book.models import DiaryEntry, TakenOff
from pegwood.book.stripping.record import timed_logs


@dataclass(frozen=True)
class LearnedFamily:
    """A family with this bench's minutes in it, and what they rest on."""

    construction: Construction
    minutes: BenchMinutes


#: By the workshop's family: the construction as its file has it, the state of the log, and what followed.
_kept: dict[str, tuple[Construction, object, LearnedFamily]] = {}


def learned_family(construction: Construction) -> LearnedFamily:
    """
    The family with minutes learned from all its strip-downs in the book.

    The same object as long as neither its file nor a timed step changed: a planner's cache goes by that.
    With few times a step keeps close to the file's value, with none it is the file's own.
    """
    state = _state(construction.id)
    before = _kept.get(construction.id)
    if before is not None and before[0] is construction and before[1] == state:
        return before[2]
    found = _learned(construction)
    _kept[construction.id] = construction, state, found
    return found


def _learned(construction: Construction) -> LearnedFamily:
    minutes = learn_minutes(construction, timed_logs(construction.id))
    if not minutes.steps:
        return LearnedFamily(construction, minutes)
    return LearnedFamily(construction.with_minutes(minutes.for_construction()), minutes)


def _state(family: str) -> dict[str, Any]:
    """What changes whenever a timed step of that family comes, goes or is corrected: one query."""
    amended = (
        DiaryEntry.objects.filter(job__strip_down__family=family, what="amended a step")
        .order_by("-pk")
        .values("pk")[:1]
    )
    return TakenOff.objects.filter(job__strip_down__family=family, seconds__isnull=False).aggregate(
        steps=Count("pk"),
        latest=Max("pk"),
        seconds=Sum("seconds"),
        at=Max("at"),
        amended=Max(Subquery(amended)),
    )
