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

import numpy as np
from sklearn.feature_extraction.text import CountVectorizer
from sklearn.linear_model import LogisticRegression

from hearing.mishearing import misheard
from hearing.narrations import Finding, Narration, narrations
from hearing.scoring import Answer, score, table
from pegwood.hearing import vocabulary
from pegwood.hearing.extracting import answered, listened
from pegwood.hearing.results import Line
from pegwood.hearing.weighing import Weigher, Weights
from pegwood.hearing.weighing.claims import Claim
from pegwood.hearing.weighing.kinds import kind_signs
from pegwood.hearing.weighing.manner import manner_signs
from pegwood.hearing.weighing.signs import cue_signs, kind_said, part_signs
from pegwood.hearing.weighing.weights import Scale

#: Share of words misheard and the seed; the tests hear by other seeds.
HEARINGS = ((0.0, 0), (0.05, 71), (0.1, 72), (0.15, 73))
#: How much a misheard narration counts beside the one as said [1].
MISHEARD_WEIGHT = 0.5
#: Inverse of the ridge's strength, by scale; found by `check`.
STRENGTH = {"remark": 0.3, "nothing": 0.3, "meant": 0.2, "denied": 0.3, "unsure": 0.3}
#: Weights smaller than this are left out [log odds].
LEAST_WEIGHT = 0.03
#: Narrations that must show a sign, for it to be weighed.
LEAST_SOURCES = 2
FOLDS = 5
NOTHING_TOLD = "nothing told"


@dataclass(eq=False)
class Example:
    """Signs of a claim, and what the label says of it: right, denied, unsure; None where it says nothing."""

    claim: Claim
    signs: list[str]
    manner: list[str]
    kind: int
    right: bool | None
    label: Finding | None


@dataclass(eq=False)
class Lesson:
    """A narration heard once: its sentences' signs and kinds, and the examples of its claims."""

    narration: Narration
    lines: tuple[Line, ...]
    rate: float
    weigher: Weigher
    kinds: list[tuple[list[str], str]] = field(default_factory=list)
    examples: list[Example] = field(default_factory=list)


def hand_of(narration: Narration) -> str:
    """Whose hand wrote it: the letter its name begins with, "a" for the first ones."""
    named = re.match(r"([a-z])-", narration.name)
    return named[1] if named else "a"


NO_WEIGHTS = Weights(*[Scale(0.0, {})] * 5, 0.5, 0.5, 0.5, 0.5)


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
        for cue in scene.cues:
            line = bisect_right(begins, reading.tokens[cue.first].start) - 1
            for claim in lesson.weigher.claims(scene, cue):
                right, label = _judged(claim, narration, line)
                signs = [*cue_signs(scene, cue, claim.condition), *part_signs(scene, claim)]
                manner = list(manner_signs(scene, claim)) if right is not False else []
                lesson.examples.append(Example(claim, signs, manner, at, right, label))
    return lesson


def _judged(claim: Claim, narration: Narration, line: int) -> tuple[bool | None, Finding | None]:
    part = narration.parts()[claim.part].id
    for label in narration.sentences[line].findings:
        if label.part == part and claim.condition in label.conditions:
            return (None if label.optional else True), label
    return False, None


@cache
def lessons() -> tuple[Lesson, ...]:
    """All narrations for tuning, as said and misheard."""
    return tuple(lesson_of(one, rate, seed) for one in narrations("dev") for rate, seed in HEARINGS)


# --- scales ---------------------------------------------------------------------------------------


def _itself(signs: Sequence[str]) -> Sequence[str]:
    return signs


@dataclass(frozen=True)
class Row:
    """An example of a scale: its signs, whether it is so, the narration it is of, and what it counts."""

    signs: Sequence[str]
    true: bool
    source: str
    weight: float


def fitted(rows: Sequence[Row], c: float) -> Scale:
    """Logistic regression with a ridge, on the signs that more than one narration shows."""
    seen: dict[str, set[str]] = {}
    for row in rows:
        for sign in row.signs:
            seen.setdefault(sign, set()).add(row.source)
    shown = sorted(sign for sign, sources in seen.items() if len(sources) >= LEAST_SOURCES)
    counter = CountVectorizer(analyzer=_itself, binary=True, vocabulary=shown)
    matrix = counter.transform([row.signs for row in rows])
    matrix.indices, matrix.indptr = matrix.indices.astype(np.int32), matrix.indptr.astype(np.int32)
    model = LogisticRegression(C=c, solver="liblinear", max_iter=500)
    model.fit(
        matrix, np.array([row.true for row in rows]), sample_weight=np.array([row.weight for row in rows])
    )
    named = zip(counter.get_feature_names_out(), model.coef_[0], strict=True)
    kept = {str(name): round(float(w), 3) for name, w in named if abs(w) >= LEAST_WEIGHT}
    return Scale(round(float(model.intercept_[0]), 3), kept)


def _weight(lesson: Lesson) -> float:
    return MISHEARD_WEIGHT if lesson.rate else 1.0


def kind_scales(taught: Sequence[Lesson]) -> tuple[Scale, Scale]:
    """Remark or not; nothing told or something."""

    def rows(*kinds: str) -> list[Row]:
        return [
            Row(signs, kind in kinds, lesson.narration.name, _weight(lesson))
            for lesson in taught
            for signs, kind in lesson.kinds
        ]

    nothing = rows("remark", "aside", NOTHING_TOLD)
    return fitted(rows("remark"), STRENGTH["remark"]), fitted(nothing, STRENGTH["nothing"])


def foretold(taught: Sequence[Lesson]) -> dict[tuple[int, int], list[str]]:
    """Of each sentence of each lesson, what kinds are said of it by scales that never saw its narration."""
    names = sorted({lesson.narration.name for lesson in taught})
    random.Random(8).shuffle(names)
    said: dict[tuple[int, int], list[str]] = {}
    for fold in range(FOLDS):
        held = set(names[fold::FOLDS])
        scales = kind_scales([one for one in taught if one.narration.name not in held])
        for lesson in taught:
            if lesson.narration.name in held:
                for at, (signs, _) in enumerate(lesson.kinds):
                    chance = tuple(scale.probability(scale.sum(signs)) for scale in scales)
                    said[id(lesson), at] = kind_said(*chance)
    return said


def learned(taught: Sequence[Lesson]) -> Weights:
    """All scales, from some lessons."""
    said = foretold(taught)
    examples = [
        (lesson, example, said[id(lesson), example.kind]) for lesson in taught for example in lesson.examples
    ]

    def row(lesson: Lesson, signs: Sequence[str], true: bool) -> Row:
        return Row(signs, true, lesson.narration.name, _weight(lesson))

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
        **THRESHOLDS,
    )


#: Probabilities from which on each is taken to be so; found by `check`.
THRESHOLDS = {"remark_from": 0.5, "meant_from": 0.25, "denied_from": 0.5, "unsure_from": 0.3}


def learn() -> Weights:
    """All scales, from all narrations for tuning."""
    return learned(lessons())


def written(weights: Weights) -> str:
    """As the file of weights holds it: a sign a line, the same signs always in the same order."""
    told: dict[str, Any] = {}
    for name, value in vars(weights).items():
        told[name] = (
            {"level": value.level, "signs": dict(sorted(value.signs.items()))}
            if isinstance(value, Scale)
            else value
        )
    return json.dumps(told, ensure_ascii=False, indent=0) + "\n"


# --- how it went ----------------------------------------------------------------------------------


def answers(taught: Iterable[Lesson], weights: Weights) -> list[Answer]:
    """What is heard of some lessons by weights."""
    found = []
    for one in taught:
        weigher = replace(one.weigher, weights=weights)
        heard = answered(one.lines, one.narration.parts(), weigher)
        found.append(Answer(narration=one.narration, lines=one.lines, heard=heard))
    return found


def check() -> str:
    """Each hand heard by what was learned from the others."""
    hands = sorted({hand_of(one.narration) for one in lessons()})
    by_rate: dict[float, list[Answer]] = {}
    told = []
    for hand in hands:
        weights = learned([one for one in lessons() if hand_of(one.narration) != hand])
        for rate in sorted({0.0, 0.15}):
            found = answers(
                [one for one in lessons() if hand_of(one.narration) == hand and one.rate == rate], weights
            )
            by_rate.setdefault(rate, []).extend(found)
            whole = score(found)
            told.append(
                f"{hand} {rate:.2f}  F1 {whole.f1:.3f} (P {whole.precision:.3f} R {whole.recall:.3f})"
                f"  denials {whole.denials_right:.3f}  works {whole.works_f1:.3f}"
            )
    return "\n".join([*told, *(f"--- {rate}\n{table(found)}" for rate, found in by_rate.items())])
