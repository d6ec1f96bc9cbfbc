"""Where the weighing of a job's camera stands, read from the book once for a page."""

from __future__ import annotations

from dataclasses import dataclass

from pegwood.anatomy.construction import Construction
from pegwood.book.models import Job, MendDone, SignAnswer
from pegwood.book.stripping.record import steps_of
from pegwood.book.weighing.about import causes_of, construction_for
from pegwood.book.weighing.case import case_of
from pegwood.causes.case import Case
from pegwood.causes.family_net import FamilyCauses
from pegwood.causes.weighing import Weighed, weigh
from pegwood.web.strip.stage import off_now


@dataclass(frozen=True, kw_only=True)
class Stage:
    """
    What is known of a job's camera, and what it comes to.

    Attributes
    ----------
    answers : tuple of SignAnswer
        In the order in which they were given, also those of signs that the family has no more.
    mends : tuple of MendDone
        Those that stand: one goes when its piece of work is struck out.
    off : frozenset of str
        Parts of the family that are not in the camera now.
    """

    job: Job
    construction: Construction
    causes: FamilyCauses
    case: Case
    weighed: Weighed
    answers: tuple[SignAnswer, ...]
    mends: tuple[MendDone, ...]
    off: frozenset[str]

    @property
    def said(self) -> dict[str, str]:
        """By sign: its answer in words."""
        return {row.sign: row.answer for row in self.answers}

    @property
    def mended(self) -> frozenset[str]:
        """Faults that were put right: by the last mend that was tried on each."""
        last = {row.fault: row.worked for row in self.mends}
        return frozenset(fault for fault, worked in last.items() if worked)

    @property
    def is_fresh(self) -> bool:
        """Whether nothing was told, seen or decided yet."""
        case = self.case
        return not (case.told or case.denied or self.answers or case.rulings)


def stage_of(job: Job) -> Stage | None:
    """The stage of a job; None where nobody wrote down how such cameras are put together."""
    construction = construction_for(job)
    if construction is None:
        return None
    causes = causes_of(construction)
    case = case_of(job, causes)
    return Stage(
        job=job,
        construction=construction,
        causes=causes,
        case=case,
        weighed=weigh(causes, case),
        answers=tuple(SignAnswer.objects.filter(job=job)),
        mends=tuple(MendDone.objects.filter(job=job, work__struck_out=False).select_related("work")),
        off=off_now(tuple(steps_of(job))),
    )
