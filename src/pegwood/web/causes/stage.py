"""Where the weighing of a job's camera stands, read from the book once for a page."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from pegwood.anatomy.construction import Construction
from pegwood.book.models import FaultRuling, Job, MendDone, SignAnswer, TakenOff
from pegwood.book.seen_signs import SeenSigns, signs_from
from pegwood.book.states import Standing
from pegwood.book.stripping.record import off_now
from pegwood.book.weighing.about import causes_of, construction_for
from pegwood.book.weighing.case import case_of
from pegwood.causes.answers import likelihood
from pegwood.causes.case import Case
from pegwood.causes.family_net import FamilyCauses
from pegwood.causes.weighing import Weighed, weigh
from pegwood.causes.words.telling import FaultHint, SignHint

#: Until the owner says yes a camera is looked at from outside, for an estimate.
BEFORE_THE_YES = frozenset((Standing.ARRIVED, Standing.LOOKED_OVER, Standing.PRICED))


@dataclass(frozen=True, kw_only=True)
class Stage:
    """
    What is known of a job's camera, and what it comes to.

    Attributes
    ----------
    answers : tuple of SignAnswer
        In the order in which they were given, also those of signs that the family has no more.
    rulings : tuple of FaultRuling
        In the order in which they were made, also those on faults that the family has no more.
    mends : tuple of MendDone
        Those that stand: one goes when its piece of work is struck out.
    off : frozenset of str
        Parts of the family that are not in the camera now.
    seen : SeenSigns
        What findings and readings say without having been asked.
    """

    job: Job
    construction: Construction
    causes: FamilyCauses
    case: Case
    weighed: Weighed
    answers: tuple[SignAnswer, ...]
    rulings: tuple[FaultRuling, ...]
    mends: tuple[MendDone, ...]
    off: frozenset[str]
    seen: SeenSigns

    @cached_property
    def said(self) -> dict[str, str]:
        """By sign: what is taken for its answer, in words: a person's own, or what something else says."""
        return self._own | self.by_itself

    @cached_property
    def _own(self) -> dict[str, str]:
        """
        By sign: the answer of a person, where that counts.

        It does not where the sign has no such answer any more, where the sign was mended away since, and
        where nobody knew but a finding or a reading says it.
        """
        return {row.sign: row.answer for row in self.answers if self._counts(row)}

    def _counts(self, row: SignAnswer) -> bool:
        sign, case = self.causes.signs.get(row.sign), self.case
        try:
            seen = None if sign is None else likelihood(sign, row.answer)
        except ValueError:
            return False
        return row.sign in case.unanswered if seen is None else case.answers.get(row.sign) == seen

    @cached_property
    def by_itself(self) -> dict[str, str]:
        """By sign: the answer that findings and readings make likeliest, where that counts."""
        levels = {one.sign: one.levels for one in self.seen.hints if isinstance(one, SignHint)}
        levels |= {one.sign: one.levels for one in self.seen.read}
        return {
            sign: self.causes.signs[sign].answers[each.index(max(each))]
            for sign, each in levels.items()
            if sign not in self._own and self.case.answers.get(sign) == each
        }

    @cached_property
    def says_of(self) -> dict[str, str]:
        """By fault: what a finding says for or against it, in words."""
        return {one.fault: f"{one.finding}" for one in self.seen.hints if isinstance(one, FaultHint)}

    @property
    def mended(self) -> frozenset[str]:
        """Faults that were put right: by the last mend that was tried on each."""
        last = {row.fault: row.worked for row in self.mends}
        return frozenset(fault for fault, worked in last.items() if worked)

    @cached_property
    def decided(self) -> dict[str, bool]:
        """
        By fault: whether somebody found it, or found that it is not there; who mended it had found it.

        Unlike the case's rulings that is no less so once it is mended, when it is there no more.
        """
        return dict.fromkeys(self.mended, True) | {row.fault: row.there for row in self.rulings}

    @property
    def is_bench_check(self) -> bool:
        """Whether it is looked at from outside for an estimate: closed, nothing mended, no yes yet."""
        return self.job.standing in BEFORE_THE_YES and not (self.off or self.mends)

    @property
    def is_fresh(self) -> bool:
        """Whether nothing was told, looked at or decided yet."""
        case = self.case
        return not (case.told or case.denied or self.answers or self.rulings or self.mends)

    @property
    def is_bare(self) -> bool:
        """Whether nothing at all is known: no finding and no reading says anything either."""
        return self.is_fresh and not (self.case.answers or self.case.odds)


def stage_of(job: Job) -> Stage | None:
    """The stage of a job; None where nobody wrote down how such cameras are put together."""
    construction = construction_for(job)
    if construction is None:
        return None
    causes = causes_of(construction)
    seen = signs_from(job, causes)
    case = case_of(job, causes, seen)
    return Stage(
        job=job,
        construction=construction,
        causes=causes,
        case=case,
        weighed=weigh(causes, case),
        answers=tuple(SignAnswer.objects.filter(job=job)),
        rulings=tuple(FaultRuling.objects.filter(job=job)),
        mends=tuple(MendDone.objects.filter(job=job, work__struck_out=False).select_related("work")),
        off=off_now(TakenOff.objects.filter(job=job)),
        seen=seen,
    )
