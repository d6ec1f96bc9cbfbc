"""What is wrong with a camera in a few words, for the job card."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Exists, Max, OuterRef, Q

from pegwood.book.families import construction_of
from pegwood.book.models import FaultRuling, Finding, Job, MendDone, SignAnswer, Story
from pegwood.book.seen_signs import shutter_found
from pegwood.book.stripping.way_in import strip_down_of
from pegwood.book.weighing.about import causes_for
from pegwood.web.causes.kept import Kept
from pegwood.web.causes.shown import Bar, plain_bars
from pegwood.web.causes.stage import stage_of

MOST_LIKELY = 3
#: Cards that are looked at again before something else is written down on them.
MOST_CARDS = 200


@dataclass(frozen=True, kw_only=True)
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
    is_silent : bool
        Whether something was written down, and nothing of it speaks of a fault.
    is_later : bool
        Whether it has to be weighed first, which a second request does: a card is opened often.
    """

    found: tuple[Bar, ...] = ()
    likely: tuple[Bar, ...] = ()
    looks: int = 0
    is_fresh: bool = False
    does_not_fit: bool = False
    is_silent: bool = False
    is_later: bool = False


NOTHING_YET = CausesSummary(is_fresh=True)
SILENT = CausesSummary(is_fresh=True, is_silent=True)
LATER = CausesSummary(is_later=True)
_lately: Kept[CausesSummary] = Kept(MOST_CARDS)


def summary(job: Job, *, may_wait: bool = False) -> CausesSummary | None:
    """
    What the card says; None where nothing can be weighed, or nothing was written down and the job is over.

    Parameters
    ----------
    job : Job
    may_wait : bool
        Leave it for later where it is not at hand.
    """
    if not _is_begun(job):
        family = strip_down_of(job).family
        return None if job.is_over or construction_of(family) is None else NOTHING_YET
    causes = causes_for(job)
    if causes is None:
        return None
    # whatever is done to a job stands in its diary
    asked = (job.pk, job.diary.aggregate(last=Max("pk"))["last"])
    if may_wait and not _lately.has((causes,), asked):
        return LATER
    return _lately.get((causes,), asked, lambda: _weighed(job))


def _weighed(job: Job) -> CausesSummary:
    stage = stage_of(job)
    if stage is None or stage.is_bare:
        return SILENT
    found, likely = plain_bars(stage, MOST_LIKELY)
    unfit = not stage.weighed.is_possible or bool(stage.weighed.unexplained)
    return CausesSummary(found=found, likely=likely, looks=len(stage.answers), does_not_fit=unfit)


def _is_begun(job: Job) -> bool:
    of = OuterRef("pk")
    any_of = Q(Exists(MendDone.objects.filter(job=of, work__struck_out=False)))
    for rows in (Story.objects, SignAnswer.objects, FaultRuling.objects, Finding.objects, shutter_found()):
        any_of |= Q(Exists(rows.filter(job=of)))
    return Job.objects.filter(any_of, pk=job.pk).exists()
