"""
What findings say about a family's faults and signs, so that nothing is entered twice.

A finding counts where its part is the fault's and its words speak of it. If a sign asks exactly that, the
finding answers the sign; else it multiplies the odds of the fault. Never both for one fault, and each word
of a finding answers one sign at most. All figures are estimates of common practice (mark: practice): how many
times as often such a finding is written where the fault is there as where it is not.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from pegwood.anatomy.construction import Construction
from pegwood.anatomy.part_names import NotOnePart, find_part
from pegwood.causes.family_net import FamilyCauses
from pegwood.causes.known import Fault, Sign
from pegwood.causes.words.concepts import vocabulary
from pegwood.causes.words.statements import Statement, concepts_in, statements, words_of
from pegwood.causes.words.told import Told

#: Said plainly; said to be slight; said with doubt, misspelt, in a near word, or of several faults alike.
PLAIN, SLIGHT, VAGUE = 100.0, 20.0, 4.0
#: Said not to be there; called clean, free or straight; called sound and nothing more.
DENIED, GOOD, SOUND = 0.1, 0.25, 0.4
#: How likely a finding is where nothing is to be seen, at another degree of it, at another degree that the
#: same word tells, and, where it is doubtful, at any answer it does not tell; against the answer it tells.
OTHER_ANSWER, OTHER_DEGREE, SAME_WORD, VAGUE_ANSWER = 0.03, 0.1, 0.3, 0.25
#: From this grade on a finding speaks for the worse of two answers with the same word.
HEAVY = 3


@dataclass(frozen=True, kw_only=True)
class SeenFinding:
    """
    What was seen, as it was written down.

    Attributes
    ----------
    part, condition, place : str
    grade : int, optional
        0 as new to 5 past use.
    number : int
        Whatever its owner knows it by.
    """

    part: str
    condition: str
    grade: int | None = None
    place: str = ""
    number: int = 0

    def __str__(self) -> str:
        graded = "" if self.grade is None else f", grade {self.grade}"
        at = f", {self.place}" if self.place else ""
        return f"{self.part}: {self.condition}{at}{graded}"


@dataclass(frozen=True, kw_only=True)
class FaultHint:
    """That a finding speaks for a fault, odds above 1, or against it, below 1; and why, in words."""

    fault: str
    odds: float
    finding: SeenFinding
    concept: str
    why: str


@dataclass(frozen=True, kw_only=True)
class SignHint:
    """That a finding answers a sign: how likely it is at each answer; and why, in words."""

    sign: str
    levels: tuple[float, ...]
    finding: SeenFinding
    concept: str
    why: str


Hint = FaultHint | SignHint


def said_of(
    causes: FamilyCauses, construction: Construction, findings: Iterable[SeenFinding]
) -> tuple[Hint, ...]:
    """
    What findings say about the faults and signs of a family.

    Of several findings about one sign the last counts. About one fault the strongest of the last ones that
    agree counts; two that agree are not taken for two.

    Parameters
    ----------
    causes : FamilyCauses
    construction : Construction
        The same family's, which knows its parts by name.
    findings : iterable of SeenFinding
        The oldest first.

    Returns
    -------
    hints : tuple of Hint
        At most one for each fault and each sign. A finding whose part or words nobody knows gives none.
    """
    signs: dict[str, SignHint] = {}
    faults: dict[str, FaultHint] = {}
    for finding in findings:
        part = _part(construction, finding.part)
        if not part:
            continue
        here: dict[str, SignHint] = {}
        for hint in _of_one(causes, part, finding):
            if isinstance(hint, SignHint):
                here[hint.sign] = _both(here[hint.sign], hint) if hint.sign in here else hint
            elif (before := faults.get(hint.fault)) is None or _outweighs(hint, before):
                faults[hint.fault] = hint
        signs |= here
    answered = {
        (shown.fault, hint.concept) for hint in signs.values() for shown in causes.signs[hint.sign].shown_by
    }
    kept = (hint for hint in faults.values() if (hint.fault, hint.concept) not in answered)
    return (*signs.values(), *kept)


def _outweighs(hint: FaultHint, before: FaultHint) -> bool:
    """Whether a later hint takes the place of an earlier one: it says otherwise, or the same more plainly."""
    now, then = math.log(hint.odds), math.log(before.odds)
    return now * then < 0 or abs(now) > abs(then)


def _both(one: SignHint, other: SignHint) -> SignHint:
    """Two words of a finding about one sign: both hold, and the surer is not made surer by the other."""
    lowest = [min(pair) for pair in zip(one.levels, other.levels, strict=True)]
    levels = tuple(level / max(lowest) for level in lowest)
    return replace(one, levels=levels, why=f"{one.why}; {other.why}")


def _part(construction: Construction, said: str) -> str:
    try:
        return find_part(construction, said).id
    except NotOnePart:
        return ""


def _of_one(causes: FamilyCauses, part: str, finding: SeenFinding) -> Iterator[Hint]:
    place = words_of(finding.place)
    said = _said(finding)
    signs = [one for one in causes.signs.values() if one.answered and part in one.answered.parts]
    faults = [one for one in causes.faults.values() if part in (one.part, *one.also)]
    taken: set[str] = set()
    left: list[Statement] = []
    for one in said:
        if sign := _asked(signs, one, place):
            taken |= {shown.fault for shown in sign.shown_by}
            yield _answer(sign, one, place, finding)
        else:
            left.append(one)
    exact = {one.words for one in said if one not in left}
    free = [one for one in faults if one.id not in taken]
    hits = [(one, hit) for one in left if (hit := _meant(free, one, place, near=False))]
    exact |= {one.words for one, _ in hits if one.there}
    for one in left:
        if one.there and one.words not in exact and (hit := _meant(free, one, place, near=True)):
            hits.append((one, hit))
    for one, hit in hits:
        near = all(told.concept != one.concept for told in hit.values()) and bool(one.concept)
        alike = near or (one.there and len(hit) > 1)
        for fault in hit:
            yield _speaks(causes.faults[fault], one, finding, is_vague=alike)


def _said(finding: SeenFinding) -> tuple[Statement, ...]:
    """What a finding says; with grade 0 it says that nothing of what it speaks of is there."""
    found = tuple({(one.concept, one.there): one for one in statements(finding.condition)}.values())
    if finding.grade == 0:
        if not any(one.there for one in found):
            return found or (_sound(finding),)
        return tuple(
            Statement(one.concept, False, one.sure, one.slight, True, one.words, one.around)
            for one in found
            if one.there
        )
    if finding.grade is not None and finding.grade > 1:
        return tuple(one for one in found if one.concept)  # "ok", and heavy: nobody knows what
    return found


def _sound(finding: SeenFinding) -> Statement:
    return Statement("", False, True, False, False, finding.condition, words_of(finding.condition))


def _asked(signs: Iterable[Sign], one: Statement, place: frozenset[str]) -> Sign | None:
    """The sign that asks exactly this, the one with the most words beside the concept first."""
    if not (one.there or one.direct):
        return None
    best: tuple[int, Sign] | None = None
    for sign in signs:
        fits = [len(told.beside) for level in _levels(sign) for told in level if told.fits(one, place)]
        if fits and (best is None or max(fits) > best[0]):
            best = (max(fits), sign)
    return best[1] if best else None


def _levels(sign: Sign) -> tuple[tuple[Told, ...], ...]:
    return tuple(_told(by) for by in sign.answered.by) if sign.answered else ()


@lru_cache(maxsize=4096)
def _told(texts: tuple[str, ...]) -> tuple[Told, ...]:
    return tuple(map(Told.parse, texts))


@lru_cache(maxsize=4096)
def _told_by_name(name: str) -> tuple[Told, ...]:
    return tuple(map(Told, concepts_in(name)))


def _answer(sign: Sign, one: Statement, place: frozenset[str], finding: SeenFinding) -> SignHint:
    speaks = [any(told.fits(one, place) for told in level) for level in _levels(sign)]
    if one.there:
        levels = _there(speaks, one, finding)
        answers = " or ".join(
            answer for answer, is_it in zip(sign.answers, levels, strict=True) if is_it >= SAME_WORD
        )
    else:
        levels = tuple((DENIED if one.sure else GOOD) if is_it else 1.0 for is_it in speaks)
        answers = sign.answers[0]
    why = f"'{finding.condition}' of {finding.part} answers '{sign.asks}': {answers}{_loosely(not one.sure)}"
    return SignHint(sign=sign.id, levels=levels, finding=finding, concept=one.concept, why=why)


def _there(speaks: list[bool], one: Statement, finding: SeenFinding) -> tuple[float, ...]:
    """Answers that the word speaks of are likely; of several the grade says which more."""
    at = [n for n, is_it in enumerate(speaks) if is_it]
    rest = OTHER_ANSWER if one.sure else VAGUE_ANSWER
    levels = [1.0 if is_it else max(rest, OTHER_DEGREE if n else 0.0) for n, is_it in enumerate(speaks)]
    if len(at) > 1:
        if one.slight or finding.grade == 1:
            levels[at[-1]] = SAME_WORD
        elif finding.grade is not None and finding.grade >= HEAVY:
            levels[at[0]] = SAME_WORD
    return tuple(levels)


def _meant(
    faults: Iterable[Fault], one: Statement, place: frozenset[str], *, near: bool
) -> Mapping[str, Told]:
    """The faults that a statement speaks of, by the words that fit best; for "nothing wrong" all."""
    if not one.concept:
        return {fault.id: Told("") for fault in faults}
    wanted = vocabulary().near[one.concept] if near else (one.concept,)
    found: dict[str, Told] = {}
    for fault in faults:
        fits = [
            told
            for told in (_told(fault.told) or _told_by_name(fault.name))
            if told.concept in wanted and told.beside <= one.around | place
        ]
        if fits:
            found[fault.id] = max(fits, key=lambda told: len(told.beside))
    if not one.there:
        return found
    most = max((len(told.beside) for told in found.values()), default=0)
    return {fault: told for fault, told in found.items() if len(told.beside) == most}


def _speaks(fault: Fault, one: Statement, finding: SeenFinding, *, is_vague: bool) -> FaultHint:
    is_vague = is_vague or not one.sure
    if one.there:
        odds = VAGUE if is_vague else SLIGHT if one.slight or finding.grade == 1 else PLAIN
    else:
        odds = SOUND if not one.concept else DENIED if one.direct and one.sure else GOOD
        if fault.also:  # one of its parts has it not; another may
            odds = math.sqrt(odds)
    way = "for" if one.there else "against"
    why = (
        f"'{finding.condition}' of {finding.part} speaks {way} {fault.name}{_loosely(one.there and is_vague)}"
    )
    return FaultHint(fault=fault.id, odds=odds, finding=finding, concept=one.concept, why=why)


def _loosely(is_vague: bool) -> str:
    return ", loosely" if is_vague else ""
