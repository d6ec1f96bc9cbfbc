"""Looks as pages show them: the one that comes next, and all of a family to choose from."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from pegwood.causes.family_net import FamilyCauses
from pegwood.causes.known import DONT_KNOW, SORT_OF, Sign
from pegwood.causes.story import STORY
from pegwood.web.causes import words
from pegwood.web.causes.access import Access, access
from pegwood.web.causes.advised import bearing
from pegwood.web.causes.stage import Stage
from pegwood.web.strip.steps import group_of


@dataclass(frozen=True)
class AnswerShown:
    """An answer as it is sent, plainly and as 'sort of'; `is_now`, `is_sort_of` where that was answered."""

    word: str
    sort_of: str
    is_now: bool
    is_sort_of: bool


@dataclass(frozen=True, kw_only=True)
class LookShown:
    """
    A look to be made.

    Attributes
    ----------
    sign : Sign
    group : str
        The mechanism it is of.
    by, minutes : str
        In words.
    answers : tuple of AnswerShown
    answered : str
        What was answered before; empty for nothing.
    access : Access or None
        What must come off before it.
    bears_on : tuple of (str, str)
        Faults by name, and their chances.
    tells_of : tuple of str
        What of the story it tells of.
    is_chosen : bool
        Whether somebody chose it, not the program.
    """

    sign: Sign
    group: str
    by: str
    minutes: str
    answers: tuple[AnswerShown, ...]
    answered: str
    access: Access | None
    bears_on: tuple[tuple[str, str], ...]
    tells_of: tuple[str, ...]
    is_chosen: bool
    dont_know: str = DONT_KNOW


@dataclass(frozen=True)
class SignLine:
    """A look in the list of all; `off` is how many parts must still come off for it itself."""

    sign: Sign
    by: str
    minutes: str
    off: int
    answered: str


@dataclass(frozen=True)
class Group:
    """What is of one mechanism."""

    name: str
    signs: tuple[SignLine, ...]


def look(stage: Stage, sign: Sign, *, is_chosen: bool) -> LookShown:
    """A look with its answers."""
    answered = stage.said.get(sign.id, "")
    before = answered.casefold()
    return LookShown(
        sign=sign,
        group=group_of(sign.id),
        by=words.BY[sign.by],
        minutes=words.minutes(sign.minutes),
        answers=tuple(
            AnswerShown(
                word,
                f"{SORT_OF}{word}",
                before == word.casefold(),
                before == f"{SORT_OF}{word}".casefold(),
            )
            for word in sign.answers
        ),
        answered=answered,
        access=access(stage.construction, sign.off, stage.off),
        bears_on=tuple(
            (stage.causes.faults[fault].name, words.chance(chance))
            for fault, chance in bearing(sign, stage.weighed.chances)
        ),
        tells_of=tuple(STORY[one.by] for one in sign.tells_of),
        is_chosen=is_chosen,
    )


def all_looks(stage: Stage, wanted: str) -> tuple[Group, ...]:
    """
    All looks of a family by their mechanisms, or those that every word of `wanted` is found in.

    What is looked for is the question, its answers, the mechanism, and the faults that it bears on.
    """
    asked = wanted.casefold().split()
    found: dict[str, list[SignLine]] = {}
    for sign in stage.causes.signs.values():
        group = group_of(sign.id)
        if asked and not _has(asked, _spoken_of(stage.causes, sign, group)):
            continue
        line = SignLine(
            sign,
            words.BY[sign.by],
            words.minutes(sign.minutes),
            len(set(sign.off) - stage.off),
            stage.said.get(sign.id, ""),
        )
        found.setdefault(group, []).append(line)
    return tuple(Group(name, tuple(lines)) for name, lines in found.items())


def _spoken_of(causes: FamilyCauses, sign: Sign, group: str) -> str:
    faults = (causes.faults[one.fault].name for one in sign.shown_by)
    return " ".join((group, sign.asks, words.BY[sign.by], *sign.answers, *faults)).casefold()


def _has(words_of: Iterable[str], text: str) -> bool:
    return all(word in text for word in words_of)
