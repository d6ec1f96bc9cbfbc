"""Narration in, proposals out."""

from __future__ import annotations

import gc
from bisect import bisect_right
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from functools import lru_cache
from typing import TypedDict

from pegwood.hearing.drafts import Draft, WorkDraft
from pegwood.hearing.lexicon import Lexicon, Phrasebook, words_of
from pegwood.hearing.listening import Listener
from pegwood.hearing.names import NameFinder
from pegwood.hearing.part_names import PartNames
from pegwood.hearing.reading import Reading
from pegwood.hearing.results import (
    Heard,
    Line,
    NamedPart,
    SaidFinding,
    SaidRemark,
    SaidWork,
    Unplaced,
)
from pegwood.hearing.tokens import plain_words
from pegwood.hearing.vocabulary import NOTHING, Vocabulary
from pegwood.hearing.weighing import Weigher, weights_of

#: Parts that an `Unplaced` names.
MOST_NAMED = 3


def hear(
    lines: Sequence[Line],
    parts: Sequence[NamedPart],
    vocabulary: Vocabulary,
    *,
    progress: Callable[[float], None] | None = None,
) -> Heard:
    """
    What a narration tells of the parts of a camera.

    Parameters
    ----------
    lines : sequence of Line
        From `read_narration`.
    parts : sequence of NamedPart
        The family's.
    vocabulary : Vocabulary
        Its language's, with what the bench taught.
    progress : callable, optional
        Told the share of the text heard, from 0 to 1, now and then.
    """
    with _uncollected():
        ear = listened(lines, parts, vocabulary, progress=progress)
        weights = weights_of(vocabulary.language)
        if progress is not None:
            progress(1.0)
        if weights is None:
            return _Telling(lines, parts, ear.reading).of(ear.drafts, ear.work, ear.remarks)
        return answered(lines, parts, Weigher(ear, weights))


@contextmanager
def _uncollected() -> Iterator[None]:
    """
    No cyclic garbage is looked for meanwhile: nearly all that hearing makes is kept to its end, and to look
    through it over and over takes a fifth of the time. 100,000 words leave 35 MB more until it is over.
    """
    collects = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if collects:
            gc.enable()


def listened(
    lines: Sequence[Line],
    parts: Sequence[NamedPart],
    vocabulary: Vocabulary,
    *,
    progress: Callable[[float], None] | None = None,
) -> Listener:
    """What the rules make of a narration, before it is weighed; see `hear`."""
    text = "\n".join(line.words for line in lines)
    lexicon, finder = _made_ready(tuple(parts), _Held(vocabulary))
    ear = Listener(Reading(text, lexicon, finder, progress))
    for sentence in ear.reading.sentences():
        ear.hear(sentence)
    return ear


def answered(lines: Sequence[Line], parts: Sequence[NamedPart], weigher: Weigher) -> Heard:
    """What is told, with what was weighed in the place of what the rules alone made of it."""
    ear = weigher.ear
    drafts, works = weigher.drafts()
    covered = {at for one in drafts for at in range(one.told, one.told_end)}
    drafts += [
        one
        for one in ear.drafts
        if not one.parts and not one.taken_back and covered.isdisjoint(range(one.told, one.told_end))
    ]
    drafts.sort(key=lambda one: one.told)
    return _Telling(lines, parts, ear.reading).of(drafts, works, weigher.remarks())


class _Held:
    """A vocabulary by its identity: it is never changed, and too large to compare."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self.vocabulary = vocabulary

    def __hash__(self) -> int:
        return hash((id(self.vocabulary.conditions), self.vocabulary.taught))

    def __eq__(self, other: object) -> bool:
        return (
            isinstance(other, _Held)
            and self.vocabulary.conditions is other.vocabulary.conditions
            and self.vocabulary.taught == other.vocabulary.taught
        )


@lru_cache(maxsize=4)
def _phrasebook(held: _Held) -> Phrasebook:
    return Phrasebook(held.vocabulary)


@lru_cache(maxsize=8)
def _made_ready(parts: tuple[NamedPart, ...], held: _Held) -> tuple[Lexicon, NameFinder]:
    vocabulary = held.vocabulary
    links = words_of(vocabulary.grammar.name_links)
    names = PartNames(
        parts,
        vocabulary.taught.part_names,
        links,
        vocabulary.pointing.opposites,
        vocabulary.small,
        vocabulary.called,
    )
    lexicon = Lexicon(vocabulary, names.words(), _phrasebook(held))
    stem = lexicon.stems.of
    shy = frozenset(tuple(stem(word) for word in plain_words(name)) for name in vocabulary.grammar.shy_names)
    return lexicon, NameFinder(names, stem, shy)


class _Words(TypedDict):
    at_s: float | None
    words: str
    where: tuple[int, int]


class _Telling:
    """Drafts into what is told of a narration."""

    def __init__(self, lines: Sequence[Line], parts: Sequence[NamedPart], reading: Reading) -> None:
        self._parts, self._reading = parts, reading
        self._times = [line.at_s for line in lines]
        self._begins = [0]
        for line in lines[:-1]:
            self._begins.append(self._begins[-1] + len(line.words) + 1)

    def of(
        self, drafts: Sequence[Draft], works: Sequence[WorkDraft], remarks: Sequence[tuple[int, int]]
    ) -> Heard:
        findings, unplaced = [], []
        for draft in drafts:
            if draft.taken_back or draft.condition == NOTHING:
                continue
            if draft.parts:
                findings += [self._finding(draft, part) for part in draft.parts]
            else:
                unplaced.append(self._unplaced(draft))
        work = [
            SaidWork(part=part, work=one.work, done=one.done, **self._words(one.first, one.end))
            for one in works
            for part in self._of(one.parts)
        ]
        said = [SaidRemark(**self._words(*span)) for span in remarks]
        return Heard(
            findings=tuple(_once(findings)),
            work=tuple(work),
            remarks=tuple(said),
            unplaced=tuple(unplaced),
        )

    def _words(self, first: int, end: int) -> _Words:
        where = self._reading.where(first, end)
        line = bisect_right(self._begins, where[0]) - 1
        at_s = self._times[line] if line < len(self._times) else None
        return {"at_s": at_s, "words": self._reading.text[where[0] : where[1]], "where": where}

    def _of(self, parts: tuple[int, ...]) -> Sequence[NamedPart | None]:
        return [self._parts[number] for number in parts] or [None]

    def _finding(self, draft: Draft, part: int) -> SaidFinding:
        work = tuple(dict.fromkeys(one.work for one in draft.work))
        return SaidFinding(
            part=self._parts[part], condition=draft.condition, grade=draft.grade, place=draft.place,
            certainty=draft.certainty, denied=draft.denied, cause=draft.cause, work=work,
            measured=draft.measured, earlier_repair=draft.earlier_repair,
            **self._words(draft.first, draft.end),
        )  # fmt: skip

    def _unplaced(self, draft: Draft) -> Unplaced:
        named = [self._parts[number].name for number in draft.may_be]
        more = f" and {len(named) - MOST_NAMED} more" if len(named) > MOST_NAMED else ""
        why = "may be the " + " or the ".join(named[:MOST_NAMED]) + more if named else "no part named"
        return Unplaced(condition=draft.condition, why=why, **self._words(draft.first, draft.end))


def _once(findings: list[SaidFinding]) -> list[SaidFinding]:
    """The same told twice with the very same words is told once."""
    seen: dict[tuple[str, str, tuple[int, int]], SaidFinding] = {}
    for one in findings:
        seen.setdefault((one.part.id, one.condition, one.where), one)
    return list(seen.values())
