"""
Weights learned from the labelled narrations for tuning: what `tools/teach-hearing` runs.

What the scales of kinds and the choices say is a sign for the other scales, so that it is foretold for each
narration by scales that never saw it.
"""

from __future__ import annotations

import hashlib
import json
import random
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from pathlib import Path
from typing import Any

from hearing.fitting import Laid, Row, fitted
from hearing.lessons import NOTHING_TOLD, Example, Lesson, WorkExample, hand_of, lessons
from hearing.scoring import Answer, score, table
from pegwood.hearing.extracting import answered
from pegwood.hearing.weighing import Weights
from pegwood.hearing.weighing.about import NO_CHANCES, About, Chances
from pegwood.hearing.weighing.claims import Cue
from pegwood.hearing.weighing.signs import kind_said
from pegwood.hearing.weighing.weights import Choice, Scale
from pegwood.hearing.weighing.wordless import NOTHING_TOLD as NOTHING_SAID
from pegwood.hearing.weighing.wordless import told_chances, words_said

FOLDER = Path(__file__).parent
PRIMER = FOLDER / "primer.toml"
#: Digits of the digest of what is learned from: enough to tell one state of it from another.
DIGITS = 16
#: Inverse of the ridge's strength, by scale; found by `check`.
STRENGTH = {
    "remark": 0.3, "nothing": 0.3, "meant": 0.3, "denied": 0.3, "unsure": 0.3, "words": 1.0, "about": 1.0,
    "works": 1.0, "worked": 0.3, "done": 0.3,
}  # fmt: skip
FOLDS = 4
#: The share of words misheard at which lessons are taken as though nobody knew the parts of such a camera.
UNTOLD_AT = 0.1


def kind_scales(taught: Sequence[Lesson]) -> tuple[Scale, Scale]:
    """Remark or not; nothing told or something."""

    def rows(*kinds: str) -> list[Row]:
        return [
            Row(said.kind_signs, said.kind in kinds, lesson.narration.name, lesson.kind_weight(said.kind))
            for lesson in taught
            for said in lesson.said
        ]

    nothing = rows("remark", "aside", NOTHING_TOLD)
    return fitted(rows("remark"), STRENGTH["remark"]), fitted(nothing, STRENGTH["nothing"])


def words_choice(taught: Sequence[Lesson]) -> Choice:
    """Which condition is told in a stretch, whatever words the vocabulary has for it."""
    rows, chosen = [], []
    for lesson in taught:
        for said in lesson.said:
            for one in said.spoken:
                for told in [min(conditions) for conditions in one.conditions] or [NOTHING_SAID]:
                    rows.append(Row(one.signs, False, lesson.narration.name, lesson.weight))
                    chosen.append(told)
    return Laid.of(rows).choice(chosen, STRENGTH["words"])


def about_choice(taught: Sequence[Lesson]) -> Choice:
    """Which part is told of in a sentence."""
    rows, chosen = [], []
    for lesson in taught:
        if not lesson.narration.family:
            continue  # parts of the bank of sayings are of no family
        for said in lesson.said:
            for one in lesson.findings(said.line):
                if not one.optional:
                    rows.append(Row(said.about_signs, False, lesson.narration.name, lesson.weight))
                    chosen.append(one.part)
    return Laid.of(rows).choice(chosen, STRENGTH["about"])


def works_choice(taught: Sequence[Lesson]) -> Choice:
    """Which work is told in a stretch; the bank of sayings does not say which."""
    rows, chosen = [], []
    for lesson in taught:
        if not lesson.narration.family:
            continue
        for one in (worked for said in lesson.said for worked in said.worked):
            row = Row(one.signs, False, lesson.narration.name, lesson.weight)
            rows += [row] * max(1, len(one.works))
            chosen += [work.work for work in one.works] or [NOTHING_SAID]
    return Laid.of(rows).choice(chosen, STRENGTH["works"])


def done_scale(taught: Sequence[Lesson]) -> Scale:
    """Whether work that is told in a stretch is done."""
    rows = [
        Row(one.signs, work.done, lesson.narration.name, lesson.weight)
        for lesson in taught
        if lesson.narration.family
        for said in lesson.said
        for one in said.worked
        for work in one.works
    ]
    return fitted(rows, STRENGTH["done"])


@dataclass
class Foretold:
    """What is said of each sentence, and of each stretch of it, by scales that never saw it."""

    kinds: dict[tuple[int, int], list[str]] = field(default_factory=dict)
    about: dict[tuple[int, int], Chances] = field(default_factory=dict)
    words: dict[tuple[int, int], list[Mapping[str, float]]] = field(default_factory=dict)
    works: dict[tuple[int, int], list[Mapping[str, float]]] = field(default_factory=dict)

    def examples(self, lesson: Lesson) -> Iterator[tuple[Example, list[str]]]:
        """Each claim of a lesson, and what was foretold as signs for it."""
        for at in range(len(lesson.said)):
            where = id(lesson), at
            for one in lesson.examples(at, self.about[where], self.words[where]):
                yield one, [*self.kinds[where], *words_said(one.chance, one.claim.condition)]

    def work_examples(self, lesson: Lesson) -> Iterator[tuple[WorkExample, list[str]]]:
        """Each claim of work of a lesson, and what was foretold as signs for it."""
        for at in range(len(lesson.said)):
            where = id(lesson), at
            for one in lesson.work_examples(at, self.works[where]):
                yield one, [*self.kinds[where], *words_said(one.chance, one.claim.condition)]


def foretold(taught: Sequence[Lesson]) -> Foretold:
    """See `Foretold`."""
    names = sorted({lesson.narration.name for lesson in taught})
    random.Random(8).shuffle(names)
    found = Foretold()
    for fold in range(FOLDS):
        held = set(names[fold::FOLDS])
        others = [one for one in taught if one.narration.name not in held]
        kinds, words, about = kind_scales(others), words_choice(others), about_choice(others)
        works = works_choice(others)
        for lesson in taught:
            if lesson.narration.name not in held:
                continue
            of_parts = About(about, lesson.narration.parts())
            abouts = of_parts.chances([said.about_signs for said in lesson.said])
            if lesson.rate == UNTOLD_AT:
                abouts = [NO_CHANCES] * len(abouts)
            for at, (said, chances) in enumerate(zip(lesson.said, abouts, strict=True)):
                where = id(lesson), at
                likely = [scale.probability(scale.sum(said.kind_signs)) for scale in kinds]
                found.kinds[where] = kind_said(*likely)
                found.about[where] = chances
                found.words[where] = told_chances(words, [one.signs for one in said.spoken])
                found.works[where] = told_chances(works, [one.signs for one in said.worked])
    return found


class CueNumbers:
    """
    Numbers cues of which all claims come one after the other.

    Their ids would not do: a cue that is gone leaves its id to one that is made later.
    """

    def __init__(self) -> None:
        self._last: Cue | None = None
        self._number = -1

    def of(self, cue: Cue) -> int:
        """The number of a cue: a new one if it is not the cue asked for last."""
        if cue is not self._last:
            self._last, self._number = cue, self._number + 1
        return self._number


def learned(taught: Sequence[Lesson]) -> Weights:
    """All scales, from some lessons."""
    said = foretold(taught)
    meant, denied, unsure = [], [], []
    cues, numbers = list[int](), CueNumbers()
    for lesson in taught:
        name, weight = lesson.narration.name, lesson.weight
        for one, foreseen in said.examples(lesson):
            if one.right is not None and not one.claim.cue.settled:
                meant.append(Row([*one.signs, *foreseen], one.right, name, weight))
                cues.append(numbers.of(one.claim.cue))
            if one.label is not None:
                signs = [*one.manner, *said.kinds[id(lesson), one.kind]]
                denied.append(Row(signs, one.label.denied, name, weight))
                unsure.append(Row(signs, one.label.certainty != "plain", name, weight))
    return Weights(
        *kind_scales(taught),
        Laid.of(meant).rivals([row.true for row in meant], cues, STRENGTH["meant"]),
        fitted(denied, STRENGTH["denied"]),
        fitted(unsure, STRENGTH["unsure"]),
        words_choice(taught),
        about_choice(taught),
        works_choice(taught),
        worked_scale(taught, said),
        done_scale(taught),
        **THRESHOLDS,
        learned_from="",
    )


def worked_scale(taught: Sequence[Lesson], said: Foretold) -> Scale:
    """Whether work is told of a part, of what was foretold."""
    rows: list[Row] = []
    cues, numbers = list[int](), CueNumbers()
    for lesson in taught:
        if not lesson.narration.family:
            continue
        for one, foreseen in said.work_examples(lesson):
            if one.right is not None:
                signs = [*one.signs, *foreseen]
                rows.append(Row(signs, one.right, lesson.narration.name, lesson.weight))
                cues.append(numbers.of(one.claim.cue))
    return Laid.of(rows).rivals([row.true for row in rows], cues, STRENGTH["worked"])


#: Probabilities from which on each is taken to be so; found by `check`.
THRESHOLDS = {
    "remark_from": 0.15,
    "meant_from": 0.3,
    "denied_from": 0.06,
    "unsure_from": 0.05,
    "worked_from": 0.25,
}


def learn() -> Weights:
    """All scales, from all narrations for tuning."""
    found = learned(lessons())
    return replace(found, worked=said_by_people(found.worked, _words_said()), learned_from=digest())


def _words_said() -> set[str]:
    """Stems of all words of the labelled talk as it was said."""
    readings = [lesson.weigher.reading for lesson in lessons() if not lesson.rate]
    return {reading.lexicon.stems.of(word) for reading in readings for word in reading.plain}


def said_by_people(scale: Scale, words: set[str]) -> Scale:
    """A scale without the words of a cue that nobody said: a recogniser's alone, they may be anything."""

    def is_said(sign: str) -> bool:
        kind, _, told = sign.partition(" ")
        return kind != "said" or words.issuperset(told.split())

    return replace(scale, signs={sign: weight for sign, weight in scale.signs.items() if is_said(sign)})


def digest() -> str:
    """The beginning of the SHA-256 of the files that are learned from: of each its name and what it holds."""
    found = hashlib.sha256()
    for path in sorted([*FOLDER.glob("narrations/dev/*.toml"), *FOLDER.glob("sayings/*.toml"), PRIMER]):
        found.update(f"{path.relative_to(FOLDER).as_posix()}\n".encode())
        found.update(path.read_bytes())
    return found.hexdigest()[:DIGITS]


def written(weights: Weights) -> str:
    """As the file of weights holds it: a sign a line, the same signs always in the same order."""
    told = {one.name: _written(getattr(weights, one.name)) for one in fields(weights)}
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
