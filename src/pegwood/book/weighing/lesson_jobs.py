"""The closed jobs that teach, family by family, whether their lesson is left out or not."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.db.models import Count, QuerySet

from pegwood.book.models import FaultRuling, Job, LessonLeftOut, MendDone, SignAnswer
from pegwood.book.weighing.learnt import family_of, teaching


@dataclass(frozen=True, kw_only=True)
class LessonJob:
    """
    A job that teaches.

    Attributes
    ----------
    job : Job
    answers, rulings, mends : int
        How many looks were answered, faults ruled there or not, mends tried.
    left_out : LessonLeftOut or None
        Why nothing is learned from it.
    """

    job: Job
    answers: int
    rulings: int
    mends: int
    left_out: LessonLeftOut | None


def lesson_jobs() -> dict[str, list[LessonJob]]:
    """By family, the newest first; a family that nobody knows any more is among them."""
    answers = _counted(SignAnswer.objects.all())
    rulings = _counted(FaultRuling.objects.all())
    mends = _counted(MendDone.objects.filter(work__struck_out=False))
    found: dict[str, list[LessonJob]] = {}
    jobs = teaching().select_related("owner", "camera", "strip_down", "lesson_left_out")
    for job in jobs.order_by("-number"):
        one = LessonJob(
            job=job,
            answers=answers.get(job.pk, 0),
            rulings=rulings.get(job.pk, 0),
            mends=mends.get(job.pk, 0),
            left_out=getattr(job, "lesson_left_out", None),
        )
        found.setdefault(family_of(job), []).append(one)
    return found


def _counted(rows: QuerySet[Any]) -> dict[int, int]:
    return dict(rows.order_by("job").values_list("job").annotate(n=Count("pk")))
