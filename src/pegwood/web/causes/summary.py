"""What is wrong with a camera in a few words, for the job card."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Exists, OuterRef, Q

from pegwood.book.families import construction_of
from pegwood.book.models import FaultRuling, Finding, Job, MendDone, SignAnswer, Story
from pegwood.book.seen_signs import shutter_found
from pegwood.book.stripping.way_in import strip_down_of
from pegwood.web.causes.shown import Bar, plain_bars
from pegwood.web.causes.stage import stage_of

MOST_LIKELY = 3


@dataclass(frozen=True)
class CausesSummary:
    """
    What the card says of it.

    Attributes
    ----------
    found, likely : tuple of Bar
        What somebody found, and the likeliest besides; both empty where nothing was told or seen yet.
    looks : int
        How many were made.
    is_fresh, does_not_fit : bool
        Whether nothing was told or seen yet; whether something seen is explained by none.
    """

    found: tuple[Bar, ...]
    likely: tuple[Bar, ...]
    looks: int
    is_fresh: bool
    does_not_fit: bool


NOTHING_YET = CausesSummary((), (), 0, True, False)


def summary(job: Job) -> CausesSummary | None:
    """
    What the card says; None where nothing can be weighed, or nothing was and the job is over.

    A camera of which nobody told, looked, decided or wrote down anything is not weighed: a card is opened
    often.
    """
    if not _is_begun(job):
        family = strip_down_of(job).family
        return None if job.is_over or construction_of(family) is None else NOTHING_YET
    stage = stage_of(job)
    if stage is None:
        return None
    if stage.is_bare:
        return None if job.is_over else NOTHING_YET
    found, likely = plain_bars(stage, MOST_LIKELY)
    unfit = not stage.weighed.is_possible or bool(stage.weighed.unexplained)
    return CausesSummary(found, likely, len(stage.answers), False, unfit)


def _is_begun(job: Job) -> bool:
    of = OuterRef("pk")
    any_of = Q(Exists(MendDone.objects.filter(job=of, work__struck_out=False)))
    for rows in (Story.objects, SignAnswer.objects, FaultRuling.objects, Finding.objects, shutter_found()):
        any_of |= Q(Exists(rows.filter(job=of)))
    return Job.objects.filter(any_of, pk=job.pk).exists()
