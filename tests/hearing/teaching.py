"""
Weights learned from the labelled narrations for tuning: what `tools/teach-hearing` runs.

A sentence's kind is an example for the first scales, and each claim of it for the others. What the first
scales say is a sign for the others, so that it is foretold for each narration by scales that never saw it.
"""

from __future__ import annotations

import json
import random
import re
from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from itertools import accumulate
from typing import Any

from hearing.fitting import Laid, Row, fitted
from hearing.mishearing import misheard
from hearing.narrations import Finding, Narration, narrations
from hearing.sayings import sayings
from hearing.scoring import Answer, score, table
from pegwood.hearing import vocabulary
from pegwood.hearing.extracting import answered, listened
from pegwood.hearing.results import Line
from pegwood.hearing.weighing import Weigher, Weights
from pegwood.hearing.weighing.claims import Claim
from pegwood.hearing.weighing.deciding import NOTHING_TOLD as NOTHING_SAID
from pegwood.hearing.weighing.kinds import kind_signs
from pegwood.hearing.weighing.manner import manner_signs
from pegwood.hearing.weighing.signs import cue_signs, kind_said, part_signs
from pegwood.hearing.weighing.weights import Choice, Scale
from pegwood.hearing.weighing.wordless import Stretch, stretch_of, stretch_signs, stretches, words_said

#: Share of words misheard and the seed; the tests hear by other seeds.
HEARINGS = ((0.0, 0), (0.05, 71), (0.1, 72), (0.15, 73))
#: The same for the bank of sayings.
SAYINGS_HEARD = ((0.0, 0),)
#: How much a misheard narration counts beside the one as said, and a saying beside a sentence of one [1].
MISHEARD_WEIGHT = 0.5
SAYING_WEIGHT = 0.5
TELLING_WEIGHT = 0.3
#: Inverse of the ridge's strength, by scale; found by `check`.
STRENGTH = {"remark": 0.3, "nothing": 0.3, "meant": 0.2, "denied": 0.3, "unsure": 0.3, "words": 1.0}
FOLDS = 4
NOTHING_TOLD = "nothing told"


@dataclass(eq=False)
class Example:
    """Signs of a claim, and what the label says of it: right, denied, unsure; None where it says nothing."""

    claim: Claim
    signs: list[str]
    manner: list[str]
    kind: int
    stretch: int
    right: bool | None
    label: Finding | None


@dataclass(eq=False)
class Spoken:
    """Signs of a stretch, and the conditions told in it of those spoken of."""

    kind: int
    signs: list[str]
    conditions: list[frozenset[str]]


@dataclass(eq=False)
class Lesson:
    """A narration heard once: its sentences' signs and kinds, its stretches, the examples of its claims."""

    narration: Narration
    lines: tuple[Line, ...]
    rate: float
    weigher: Weigher
    kinds: list[tuple[list[str], str]] = field(default_factory=list)
    stretches: list[Spoken] = field(default_factory=list)
    examples: list[Example] = field(default_factory=list)

    @property
    def weight(self) -> float:
        """What its examples count [1]."""
        heard = MISHEARD_WEIGHT if self.rate else 1.0
        return heard * (1.0 if self.narration.family else SAYING_WEIGHT)

    def kind_weight(self, kind: str) -> float:
        """What a sentence counts as an example of its kind [1]: the bank tells far more than people do."""
        return self.weight * (1.0 if self.narration.family or kind != "talk" else TELLING_WEIGHT)


def hand_of(narration: Narration) -> str:
    """Whose hand wrote it: the letter its name begins with, "a" for the first ones."""
    if not narration.family:
        return "sayings"
    named = re.match(r"([a-z])-", narration.name)
    return named[1] if named else "a"


NO_WEIGHTS = Weights(*[Scale(0.0, {})] * 5, Choice({}, {}), 0.5, 0.5, 0.5, 0.5, 0.5)


def lesson_of(narration: Narration, rate: float, seed: int) -> Lesson:
    """A narration listened to, misheard or not, and held against its labels."""
    lines = misheard(narration.lines(), rate, seed) if rate else narration.lines()
    ear = listened(lines, narration.parts(), vocabulary())
    lesson = Lesson(narration, lines, rate, Weigher(ear, NO_WEIGHTS))
    begins = list(accumulate((len(line.words) + 1 for line in lines), initial=0))[:-1]
    reading = ear.reading
    for at, told in enumerate(ear.told):
        line = bisect_right(begins, reading.tokens[told.sentence.first].start) - 1
        sentence = narration.sentences[line]
        kind = sentence.kind if sentence.kind != "talk" or sentence.findings else NOTHING_TOLD
        lesson.kinds.append((list(kind_signs(told, reading)), kind))
        scene = lesson.weigher.scene(told)
        laid, first = stretches(scene), len(lesson.stretches)
        for stretch in laid:
            line = bisect_right(begins, reading.tokens[stretch.first].start) - 1
            lesson.stretches.append(
                _spoken(stretch, narration, line, at, list(stretch_signs(scene, stretch)))
            )
        for cue in scene.cues:
            line = bisect_right(begins, reading.tokens[cue.first].start) - 1
            stretch_at = stretch_of(laid, cue.first)
            for claim in lesson.weigher.claims(scene, cue):
                right, label = _judged(claim, narration, line)
                signs = [*cue_signs(scene, cue, claim.condition), *part_signs(scene, claim)]
                manner = list(manner_signs(scene, claim)) if right is not False else []
                where = -1 if stretch_at is None else first + stretch_at
                lesson.examples.append(Example(claim, signs, manner, at, where, right, label))
    return lesson


def _spoken(stretch: Stretch, narration: Narration, line: int, kind: int, signs: list[str]) -> Spoken:
    parts = {narration.parts()[part].id for part in stretch.parts}
    labels = [one for one in narration.sentences[line].findings if one.part in parts and not one.optional]
    return Spoken(kind, signs, [one.conditions for one in labels])


def _judged(claim: Claim, narration: Narration, line: int) -> tuple[bool | None, Finding | None]:
    part = narration.parts()[claim.part].id
    for label in narration.sentences[line].findings:
        if label.part == part and claim.condition in label.conditions:
            return (None if label.optional else True), label
    return False, None


@cache
def lessons() -> tuple[Lesson, ...]:
    """All narrations for tuning, as said and misheard."""
    return (
        *(lesson_of(one, rate, seed) for one in narrations("dev") for rate, seed in HEARINGS),
        *(lesson_of(one, rate, seed) for one in sayings() for rate, seed in SAYINGS_HEARD),
    )


# --- scales ---------------------------------------------------------------------------------------


def kind_scales(taught: Sequence[Lesson]) -> tuple[Scale, Scale]:
    """Remark or not; nothing told or something."""

    def rows(*kinds: str) -> list[Row]:
        return [
            Row(signs, kind in kinds, lesson.narration.name, lesson.kind_weight(kind))
            for lesson in taught
            for signs, kind in lesson.kinds
        ]

    nothing = rows("remark", "aside", NOTHING_TOLD)
    return fitted(rows("remark"), STRENGTH["remark"]), fitted(nothing, STRENGTH["nothing"])


def words_choice(taught: Sequence[Lesson]) -> Choice:
    """Which condition is told in a stretch, whatever words the vocabulary has for it."""
    rows, chosen = [], []
    for lesson in taught:
        for one in lesson.stretches:
            for told in [min(conditions) for conditions in one.conditions] or [NOTHING_SAID]:
                rows.append(Row(one.signs, False, lesson.narration.name, lesson.weight))
                chosen.append(told)
    return Laid.of(rows).choice(chosen, STRENGTH["words"])


@dataclass
class Foretold:
    """What kinds are said of each sentence, and conditions of each stretch, by scales that never saw it."""

    kinds: dict[tuple[int, int], list[str]] = field(default_factory=dict)
    words: dict[tuple[int, int], dict[str, float]] = field(default_factory=dict)

    def of(self, lesson: Lesson, example: Example) -> list[str]:
        """Both as signs for a claim."""
        chance = self.words.get((id(lesson), example.stretch), {})
        return [*self.kinds[id(lesson), example.kind], *words_said(chance, example.claim.condition)]


def foretold(taught: Sequence[Lesson]) -> Foretold:
    """See `Foretold`."""
    names = sorted({lesson.narration.name for lesson in taught})
    random.Random(8).shuffle(names)
    said = Foretold()
    for fold in range(FOLDS):
        held = set(names[fold::FOLDS])
        others = [one for one in taught if one.narration.name not in held]
        kinds, words = kind_scales(others), words_choice(others)
        for lesson in taught:
            if lesson.narration.name not in held:
                continue
            for at, (signs, _) in enumerate(lesson.kinds):
                likely = tuple(scale.probability(scale.sum(signs)) for scale in kinds)
                said.kinds[id(lesson), at] = kind_said(*likely)
            for at, stretch in enumerate(lesson.stretches):
                chance = words.probabilities(stretch.signs)
                chance.pop(NOTHING_SAID, None)
                said.words[id(lesson), at] = chance
    return said


def learned(taught: Sequence[Lesson]) -> Weights:
    """All scales, from some lessons."""
    said = foretold(taught)
    examples = [
        (lesson, example, said.of(lesson, example)) for lesson in taught for example in lesson.examples
    ]

    def row(lesson: Lesson, signs: Sequence[str], true: bool) -> Row:
        return Row(signs, true, lesson.narration.name, lesson.weight)

    meant = [
        row(lesson, [*one.signs, *kind], one.right) for lesson, one, kind in examples if one.right is not None
    ]
    told = [
        (lesson, [*one.manner, *kind], one.label) for lesson, one, kind in examples if one.label is not None
    ]
    denied = [row(lesson, signs, label.denied) for lesson, signs, label in told]
    unsure = [row(lesson, signs, label.certainty != "plain") for lesson, signs, label in told]
    return Weights(
        *kind_scales(taught),
        fitted(meant, STRENGTH["meant"]),
        fitted(denied, STRENGTH["denied"]),
        fitted(unsure, STRENGTH["unsure"]),
        words_choice(taught),
        **THRESHOLDS,
    )


#: Probabilities from which on each is taken to be so; found by `check`.
THRESHOLDS = {
    "remark_from": 0.2,
    "meant_from": 0.3,
    "denied_from": 0.12,
    "unsure_from": 0.1,
    "words_from": 0.45,
}


def learn() -> Weights:
    """All scales, from all narrations for tuning."""
    return learned(lessons())


def written(weights: Weights) -> str:
    """As the file of weights holds it: a sign a line, the same signs always in the same order."""
    told = {name: _written(value) for name, value in vars(weights).items()}
    return json.dumps(told, ensure_ascii=False, indent=0) + "\n"


def _written(value: Any) -> Any:
    if isinstance(value, Scale):
        return {"level": value.level, "signs": dict(sorted(value.signs.items()))}
    if isinstance(value, Choice):
        return {"levels": value.levels, "signs": dict(sorted(value.signs.items()))}
    return value


# --- how it went ----------------------------------------------------------------------------------


def answers(taught: Iterable[Lesson], weights: Weights) -> list[Answer]:
    """What is heard of some lessons by weights."""
    found = []
    for one in taught:
        weigher = replace(one.weigher, weights=weights)
        heard = answered(one.lines, one.narration.parts(), weigher)
        found.append(Answer(narration=one.narration, lines=one.lines, heard=heard))
    return found


def check(held: Sequence[Sequence[str]]) -> str:
    """Hands heard by what was learned from the others: each group of `held` is held out together."""
    by_rate: dict[float, list[Answer]] = {}
    told = []
    for hands in held:
        weights = learned([one for one in lessons() if hand_of(one.narration) not in hands])
        for rate in (0.0, 0.15):
            for hand in hands:
                mine = [one for one in lessons() if hand_of(one.narration) == hand and one.rate == rate]
                found = answers(mine, weights)
                by_rate.setdefault(rate, []).extend(found)
                whole = score(found)
                told.append(
                    f"{hand} {rate:.2f}  F1 {whole.f1:.3f} (P {whole.precision:.3f} R {whole.recall:.3f})"
                    f"  denials {whole.denials_right:.3f}  works {whole.works_f1:.3f}"
                )
    return "\n".join([*told, *(f"--- {rate}\n{table(found)}" for rate, found in by_rate.items())])
