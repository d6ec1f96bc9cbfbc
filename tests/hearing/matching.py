"""Which label is met by which claim: holding together what was heard and what should have been."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import TypeVar

from hearing.narrations import Finding, Work
from pegwood.hearing.results import Line

Label = TypeVar("Label", Finding, Work)


@dataclass(frozen=True, kw_only=True)
class Claim:
    """Something heard: where its words begin and end, by sentence, and what it says."""

    first: int
    last: int
    part: str | None
    what: str
    denied: bool = False
    certainty: str = "plain"
    done: bool = False


def sentence_finder(lines: Sequence[Line]) -> Callable[[int], int]:
    """From a character of the whole text to the sentence it stands in."""
    begins = list(accumulate((len(line.words) + 1 for line in lines), initial=0))[:-1]
    return lambda character: max(bisect_right(begins, character) - 1, 0)


def finding_fits(label: Finding, claim: Claim) -> bool:
    return claim.part == label.part and claim.what in label.conditions


def finding_agrees(label: Finding, claim: Claim) -> int:
    sure = (claim.certainty == "plain") == (label.certainty == "plain")
    return 2 * (claim.denied == label.denied) + sure


def work_fits(label: Work, claim: Claim) -> bool:
    return claim.what == label.work and label.part in (None, claim.part)


def matched(
    labels: Sequence[tuple[int, Label]],
    claims: Sequence[Claim],
    fits: Callable[[Label, Claim], bool],
    agrees: Callable[[Label, Claim], int],
) -> dict[int, int]:
    """
    Which label is met by which claim, each once.

    Pairs of the very sentence come first; among them those that agree best, those that must be found, and
    those that were said earlier.
    """
    pairs = sorted(
        (claim.last != where, -agrees(label, claim), bool(getattr(label, "optional", False)), at, to)
        for at, (where, label) in enumerate(labels)
        for to, claim in enumerate(claims)
        if claim.first <= where + 1 and claim.last >= where and fits(label, claim)
    )
    met: dict[int, int] = {}
    used: set[int] = set()
    for *_, at, to in pairs:
        if at not in met and to not in used:
            met[at] = to
            used.add(to)
    return met


def share(some: int, of: int) -> float:
    return some / of if of else 0.0


def f1(right: int, missed: int, invented: int) -> float:
    return share(2 * right, 2 * right + missed + invented)
