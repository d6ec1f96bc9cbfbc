"""What the book holds of a camera's faults and signs, as the causes read it."""

from __future__ import annotations

from pegwood.anatomy.construction import Construction
from pegwood.book.families import construction_learned
from pegwood.book.models import FaultRuling, Job, SignAnswer, Story
from pegwood.book.refusal import Refused
from pegwood.book.stripping.way_in import strip_down_of
from pegwood.causes.answers import likelihood
from pegwood.causes.case import Case
from pegwood.causes.family_net import FamilyCauses, family_causes
from pegwood.causes.known import knowledge

NO_FAMILY = "Nobody has written down how such cameras are put together, so nothing can be weighed."


def construction_for(job: Job) -> Construction | None:
    """How the job's camera is put together, with this bench's minutes; None where nobody wrote it down."""
    return construction_learned(strip_down_of(job).family)


def causes_for(job: Job) -> FamilyCauses | None:
    """Faults and signs of the job's camera; None where nobody wrote down how it is put together."""
    construction = construction_for(job)
    return None if construction is None else causes_of(construction)


#: By the family's id: its construction, and what was put together of it.
_put_together: dict[str, tuple[Construction, FamilyCauses]] = {}


def causes_of(construction: Construction) -> FamilyCauses:
    """Faults and signs of a family: the same object as long as its construction is."""
    before = _put_together.get(construction.id)
    if before is None or before[0] is not construction:
        before = construction, family_causes(construction, knowledge())
        _put_together[construction.id] = before
    return before[1]


def the_causes(job: Job) -> FamilyCauses:
    """
    As `causes_for`, where there must be some.

    Raises
    ------
    Refused
        If nobody wrote down how such cameras are put together.
    """
    causes = causes_for(job)
    if causes is None:
        raise Refused(NO_FAMILY)
    return causes


def case_of(job: Job, causes: FamilyCauses) -> Case:
    """
    What was told, seen and ruled of a job's camera, as far as its family knows of it.

    An answer in words that the sign no longer has is left out; it stays in the book.
    """
    story = Story.objects.filter(job=job).first()
    answers: dict[str, tuple[float, ...]] = {}
    unanswered: set[str] = set()
    for row in SignAnswer.objects.filter(job=job):
        if row.sign not in causes.signs:
            continue
        try:
            seen = likelihood(causes.signs[row.sign], row.answer)
        except ValueError:
            continue
        if seen is None:
            unanswered.add(row.sign)
        else:
            answers[row.sign] = seen
    rulings = {row.fault: row.there for row in FaultRuling.objects.filter(job=job)}
    return Case(
        told=frozenset(story.told if story else ()),
        denied=frozenset(story.denied if story else ()),
        answers=answers,
        unanswered=frozenset(unanswered),
        rulings=rulings,
    ).within(causes)
