"""What findings say: as a reader of the trade takes them, once, with the right strength, and in words."""

from __future__ import annotations

from functools import cache

import pytest

from causes.words.findings_told import FINDINGS
from pegwood.anatomy.construction import constructions
from pegwood.causes.family_net import FamilyCauses, family_causes
from pegwood.causes.known import knowledge
from pegwood.causes.words.telling import FaultHint, Hint, SeenFinding, said_of


@cache
def causes(family: str) -> FamilyCauses:
    return family_causes(constructions()[family], knowledge())


def hints(family: str, *findings: SeenFinding) -> tuple[Hint, ...]:
    return said_of(causes(family), constructions()[family], findings)


def seen(part: str, condition: str, grade: int | None = None, place: str = "") -> SeenFinding:
    return SeenFinding(part=part, condition=condition, grade=grade, place=place)


def short(hint: Hint) -> str:
    if isinstance(hint, FaultHint):
        return f"{'+' if hint.odds > 1 else '-'}{hint.fault}"
    top = max(hint.levels)
    assert hint.levels.count(top) == 1 or top == hint.levels[0], "one answer is the likeliest"
    return f"{hint.sign}={hint.levels.index(top)}"


@pytest.mark.parametrize(
    ("family", "part", "condition", "grade", "place", "expected"),
    FINDINGS,
    ids=[f"{one[1]}: {one[2]}" for one in FINDINGS],
)
def test_a_finding_says_what_a_repairer_takes_it_to_say(family, part, condition, grade, place, expected):
    found = hints(family, seen(part, condition, grade, place))
    assert sorted(map(short, found)) == sorted(expected), [hint.why for hint in found]
