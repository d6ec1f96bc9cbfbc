"""
Signs that a finding, once kept, would answer: offered to the person, never answered silently.

Which finding answers which sign is knowledge, and stands with the signs (`answered` of each sign in
causes/knowledge): the same that reads the findings of a job. Here it is only asked of one finding that is not
on the card yet. Offered is what was said plainly; a conjecture answers nothing.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from pegwood.book.models import Job, SaidProposal, SignAnswer
from pegwood.book.told import Told
from pegwood.book.weighing.about import causes_for, construction_for
from pegwood.causes.words.telling import SAME_WORD, SeenFinding, SignHint, said_of


@dataclass(frozen=True, kw_only=True)
class OfferedSign:
    """A sign, what it asks, and the answers that a finding may come to, the likeliest first."""

    sign: str
    asks: str
    answers: tuple[str, ...]


def signs_offered(job: Job, told: Iterable[Told]) -> list[tuple[OfferedSign, ...]]:
    """
    For each thing heard: the signs that it answers and that nobody has answered yet.

    Empty for a conjecture and for what is no finding. Where the words leave two answers open ("oily": a film,
    or drops), both are offered.
    """
    told = list(told)
    wanted = [one.kind == SaidProposal.Kind.FINDING and one.certainty == "plain" for one in told]
    if not any(wanted):
        return [()] * len(told)
    construction, causes = construction_for(job), causes_for(job)
    if construction is None or causes is None:
        return [()] * len(told)
    answered = set(SignAnswer.objects.filter(job=job).values_list("sign", flat=True))
    offered: list[tuple[OfferedSign, ...]] = []
    for one, is_wanted in zip(told, wanted, strict=True):
        if not is_wanted:
            offered.append(())
            continue
        seen = SeenFinding(part=one.part, condition=one.condition_said, grade=one.grade, place=one.place)
        hints = [hint for hint in said_of(causes, construction, [seen]) if isinstance(hint, SignHint)]
        offered.append(
            tuple(
                OfferedSign(sign=hint.sign, asks=causes.signs[hint.sign].asks, answers=answers)
                for hint in hints
                if hint.sign not in answered
                and (answers := _likely(causes.signs[hint.sign].answers, hint.levels))
            )
        )
    return offered


def _likely(answers: tuple[str, ...], levels: tuple[float, ...]) -> tuple[str, ...]:
    """The answers that the words may mean; none where they leave all of them open."""
    likely = [(level, answer) for answer, level in zip(answers, levels, strict=True) if level >= SAME_WORD]
    if len(likely) == len(answers):
        return ()
    return tuple(answer for _, answer in sorted(likely, key=lambda one: -one[0]))
