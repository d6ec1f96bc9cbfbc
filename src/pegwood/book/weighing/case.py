"""What was told, seen and ruled of a job's camera, as the causes read it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from pegwood.book.models import FaultRuling, Job, MendDone, SignAnswer, Story
from pegwood.book.seen_signs import SeenSigns, signs_from
from pegwood.causes.answers import likelihood
from pegwood.causes.case import Case
from pegwood.causes.family_net import FamilyCauses
from pegwood.causes.words.telling import FaultHint, SignHint


def case_of(job: Job, causes: FamilyCauses, seen: SeenSigns | None = None, *, as_found: bool = False) -> Case:
    """
    What was told, seen and ruled of a job's camera, as far as its family knows of it.

    What findings and accepted readings say counts as well; a person's own answer to the same sign comes
    before it. An answer in words that the sign no longer has is left out; it stays in the book.

    A fault whose last mend worked is there no more, and what was seen before the first mend of signs that it
    shows says nothing of the camera as it is: they are to be asked again.

    Parameters
    ----------
    seen : SeenSigns, optional
        As `signs_from` gives it, where that was asked for already.
    as_found : bool
        As it was before any mend: what it came in with.
    """
    seen = signs_from(job, causes) if seen is None else seen
    story = Story.objects.filter(job=job).first()
    rows = list(SignAnswer.objects.filter(job=job))
    answers, unanswered = _answers([row for row in rows if not row.after_mend], causes)
    by_itself = {one.sign: one.levels for one in seen.hints if isinstance(one, SignHint)}
    by_itself |= {one.sign: one.levels for one in seen.read}
    answers = {**{sign: by for sign, by in by_itself.items() if sign not in answers}, **answers}
    odds = {one.fault: one.odds for one in seen.hints if isinstance(one, FaultHint)}
    rulings = {row.fault: row.there for row in FaultRuling.objects.filter(job=job)}
    if not as_found and (mended := mended_in(job)):
        rulings |= dict.fromkeys(mended, False)
        odds = {fault: by for fault, by in odds.items() if fault not in mended}
        old = {one for one in answers if one in causes.signs and _is_shown_by(causes, one, mended)}
        since, unsure = _answers([row for row in rows if row.after_mend], causes)
        answers = {**{sign: by for sign, by in answers.items() if sign not in old}, **since}
        unanswered = unanswered - old | unsure
    return Case(
        told=frozenset(story.told if story else ()),
        denied=frozenset(story.denied if story else ()),
        answers=answers,
        unanswered=frozenset(unanswered - answers.keys()),
        rulings=rulings,
        odds=odds,
    ).within(causes)


def mended_in(job: Job) -> frozenset[str]:
    """Faults whose last mend did the job."""
    last = dict(MendDone.objects.filter(job=job, work__struck_out=False).values_list("fault", "worked"))
    return frozenset(fault for fault, worked in last.items() if worked)


def _is_shown_by(causes: FamilyCauses, sign: str, faults: Iterable[str]) -> bool:
    return not frozenset(faults).isdisjoint(one.fault for one in causes.signs[sign].shown_by)


def _answers(
    rows: Iterable[SignAnswer], causes: FamilyCauses
) -> tuple[Mapping[str, tuple[float, ...]], set[str]]:
    """What a person answered, and what nobody could answer."""
    answers: dict[str, tuple[float, ...]] = {}
    unanswered: set[str] = set()
    for row in rows:
        if row.sign not in causes.signs:
            continue
        try:
            weights = likelihood(causes.signs[row.sign], row.answer)
        except ValueError:
            continue
        if weights is None:
            unanswered.add(row.sign)
        else:
            answers[row.sign] = weights
    return answers, unanswered
