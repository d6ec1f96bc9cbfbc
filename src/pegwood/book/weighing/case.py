"""What was told, seen and ruled of a job's camera, as the causes read it."""

from __future__ import annotations

from datetime import datetime

from pegwood.book.models import FaultRuling, Job, SignAnswer, Story
from pegwood.book.seen_signs import SeenSigns, signs_from
from pegwood.causes.answers import likelihood
from pegwood.causes.case import Case
from pegwood.causes.family_net import FamilyCauses
from pegwood.causes.words.telling import FaultHint, SignHint


def case_of(
    job: Job, causes: FamilyCauses, seen: SeenSigns | None = None, *, until: datetime | None = None
) -> Case:
    """
    What was told, seen and ruled of a job's camera, as far as its family knows of it.

    What findings and accepted readings say counts as well; a person's own answer to the same sign comes
    before it. An answer in words that the sign no longer has is left out; it stays in the book.

    Parameters
    ----------
    seen : SeenSigns, optional
        As `signs_from` gives it, where that was asked for already.
    until : datetime, optional
        Answers that came later are left out.
    """
    seen = signs_from(job, causes) if seen is None else seen
    story = Story.objects.filter(job=job).first()
    answers: dict[str, tuple[float, ...]] = {}
    unanswered: set[str] = set()
    for row in SignAnswer.objects.filter(job=job):
        if row.sign not in causes.signs or (until is not None and row.at > until):
            continue
        try:
            weights = likelihood(causes.signs[row.sign], row.answer)
        except ValueError:
            continue
        if weights is None:
            unanswered.add(row.sign)
        else:
            answers[row.sign] = weights
    by_itself = {one.sign: one.levels for one in seen.hints if isinstance(one, SignHint)}
    by_itself |= {one.sign: one.levels for one in seen.read}
    rulings = {row.fault: row.there for row in FaultRuling.objects.filter(job=job)}
    return Case(
        told=frozenset(story.told if story else ()),
        denied=frozenset(story.denied if story else ()),
        answers={**{sign: by for sign, by in by_itself.items() if sign not in answers}, **answers},
        unanswered=frozenset(unanswered - by_itself.keys()),
        rulings=rulings,
        odds={one.fault: one.odds for one in seen.hints if isinstance(one, FaultHint)},
    ).within(causes)
