"""
The labelled narrations and sayings listened to, and held against their labels: what weights are learned from.

What is told of a part is an example for the scales that weigh claims. Which claims there are hangs on what
the choices say of a sentence, so that these are laid out only when that was foretold.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from itertools import accumulate
from typing import TypeVar

from hearing.mishearing import misheard
from hearing.narrations import Finding, Narration, Work, narrations
from hearing.primer import NAMED, primer
from hearing.sayings import sayings
from pegwood.hearing import vocabulary
from pegwood.hearing.extracting import listened
from pegwood.hearing.results import Line
from pegwood.hearing.weighing import Weigher, Weights
from pegwood.hearing.weighing.about import Chances, about_signs
from pegwood.hearing.weighing.claims import Claim, Cue
from pegwood.hearing.weighing.kinds import kind_signs
from pegwood.hearing.weighing.manner import manner_signs
from pegwood.hearing.weighing.scenes import Scene, Stretch
from pegwood.hearing.weighing.signs import claim_signs
from pegwood.hearing.weighing.weights import Choice, Scale
from pegwood.hearing.weighing.wordless import stretch_signs
from pegwood.hearing.weighing.works import benches, work_cues, work_signs

#: Share of words misheard and the seed; the tests hear by other seeds.
HEARINGS = ((0.0, 0), (0.1, 72), (0.15, 73))
#: The same for the bank of sayings.
SAYINGS_HEARD = ((0.0, 0),)
PRIMER_HEARD = ((0.0, 0), (0.1, 74))
#: How much a misheard narration counts beside the one as said, and a saying beside a sentence of one [1].
MISHEARD_WEIGHT = 0.5
SAYING_WEIGHT = 0.5
TELLING_WEIGHT = 0.3
PRIMER_WEIGHT = 0.3
#: The kind of a sentence of talk in which nothing is told.
NOTHING_TOLD = "nothing told"
NO_CHOICE = Choice({}, {})
NO_SCALE = Scale(0.0, {})
NO_WEIGHTS = Weights(*[NO_SCALE] * 5, *[NO_CHOICE] * 3, *[NO_SCALE] * 2, *[0.5] * 5, "")


@dataclass(eq=False)
class Example:
    """Signs of a claim, and what the label says of it: right, denied, unsure; None where it says nothing."""

    claim: Claim
    signs: list[str]
    manner: list[str]
    kind: int
    chance: Mapping[str, float]
    right: bool | None
    label: Finding | None


@dataclass(eq=False)
class WorkExample:
    """Signs of a claim of work, how likely each is by the words around, and what the labels say of it."""

    claim: Claim
    signs: list[str]
    chance: Mapping[str, float]
    right: bool | None


@dataclass(eq=False)
class Spoken:
    """Signs of a stretch, and the conditions told in it of those spoken of."""

    signs: list[str]
    conditions: list[frozenset[str]]


@dataclass(eq=False)
class Worked:
    """Signs of a stretch, and the work told in it of those spoken of."""

    signs: list[str]
    works: list[Work]


@dataclass(eq=False)
class Said:
    """
    A sentence: where it stands, its signs and what is labelled in it.

    Attributes
    ----------
    scene : Scene
    line : int
        The narration's sentence that it begins in.
    kind : str
    kind_signs, about_signs : list of str
    spoken : list of Spoken
    worked : list of Worked
    """

    scene: Scene
    line: int
    kind: str
    kind_signs: list[str]
    about_signs: list[str]
    spoken: list[Spoken] = field(default_factory=list)
    worked: list[Worked] = field(default_factory=list)


@dataclass(eq=False)
class Lesson:
    """A narration heard once."""

    narration: Narration
    lines: tuple[Line, ...]
    rate: float
    weigher: Weigher
    begins: list[int]
    said: list[Said] = field(default_factory=list)

    @property
    def weight(self) -> float:
        """What its examples count [1]."""
        heard = MISHEARD_WEIGHT if self.rate else 1.0
        if hand_of(self.narration) == "primer":
            return heard * PRIMER_WEIGHT
        return heard * (1.0 if self.narration.family else SAYING_WEIGHT)

    def kind_weight(self, kind: str) -> float:
        """What a sentence counts as an example of its kind [1]: the bank tells far more than people do."""
        written = self.narration.family and hand_of(self.narration) != "primer"
        return self.weight * (1.0 if written or kind != "talk" else TELLING_WEIGHT)

    def line_of(self, token: int) -> int:
        """The narration's sentence in which a token stands."""
        return bisect_right(self.begins, self.weigher.reading.where(token, token + 1)[0]) - 1

    def findings(self, line: int) -> tuple[Finding, ...]:
        """What is labelled in a sentence."""
        return self.narration.sentences[line].findings

    def examples(self, at: int, about: Chances, chances: list[Mapping[str, float]]) -> Iterator[Example]:
        """
        Every claim in a sentence.

        Parameters
        ----------
        at : int
            Which sentence.
        about : Chances
            What it may be about, as foretold.
        chances : list of mapping of str to float
            How likely each condition is told in each of its stretches, as foretold [1].
        """
        scene = self.said[at].scene
        scene.about, scene.chances = about, chances
        told: set[int | None] = set()
        for cue in scene.cues:
            for one in self._claims(scene, cue, at):
                if one.right:
                    told.add(scene.stretch_of(cue.first))
                yield one
        for where, stretch in enumerate(scene.laid):
            if where not in told and not scene.told.corrected:
                yield from self._claims(scene, Cue(stretch.first, stretch.end, wordless=True), at)

    def work_examples(self, at: int, chances: Sequence[Mapping[str, float]]) -> Iterator[WorkExample]:
        """
        Every claim of work in a sentence; its `examples` are laid out first.

        Parameters
        ----------
        at : int
            Which sentence.
        chances : sequence of mapping of str to float
            How likely each work is told in each of its stretches, as foretold [1].
        """
        scene = self.said[at].scene
        if scene.told.corrected:
            return
        told: set[int | None] = set()
        for cue in work_cues(scene):
            place = scene.stretch_of(cue.first)
            for one in self._work_claims(scene, cue, chances[place] if place is not None else {}):
                if one.right:
                    told.add(place)
                yield one
        for where, stretch in enumerate(scene.laid):
            if where not in told:
                wordless = Cue(stretch.first, stretch.end, wordless=True, tells_work=True)
                yield from self._work_claims(scene, wordless, chances[where])

    def _work_claims(self, scene: Scene, cue: Cue, chance: Mapping[str, float]) -> Iterator[WorkExample]:
        line = self.line_of(cue.first)
        for claim in self.weigher.works.claims(scene, cue, chance):
            signs = list(claim_signs(scene, claim))
            yield WorkExample(claim, signs, chance, self._is_work(claim, line))

    def _is_work(self, claim: Claim, line: int) -> bool | None:
        part = self.narration.parts()[claim.part].id
        for label in self.narration.sentences[line].work:
            if label.part in (None, part) and label.work == claim.condition:
                return None if label.optional else True
        return False

    def _claims(self, scene: Scene, cue: Cue, at: int) -> Iterator[Example]:
        line, chance = self.line_of(cue.first), scene.chance(cue.first)
        for claim in self.weigher.claims(scene, cue):
            right, label = self._judged(claim, line)
            signs = list(claim_signs(scene, claim))
            manner = list(manner_signs(scene, claim)) if right is not False else []
            yield Example(claim, signs, manner, at, chance, right, label)

    def _judged(self, claim: Claim, line: int) -> tuple[bool | None, Finding | None]:
        part = self.narration.parts()[claim.part].id
        for label in self.findings(line):
            if label.part == part and claim.condition in label.conditions:
                return (None if label.optional else True), label
        return False, None


def hand_of(narration: Narration) -> str:
    """Whose hand wrote it: the letters its name begins with, "a" for the first ones."""
    if not narration.family:
        return "sayings"
    if narration.name.startswith(NAMED):
        return "primer"
    named = re.match(r"([a-z]{1,2})-", narration.name)
    return named[1] if named else "a"


def lesson_of(narration: Narration, rate: float, seed: int) -> Lesson:
    """A narration listened to, misheard or not, and held against its labels."""
    lines = misheard(narration.lines(), rate, seed) if rate else narration.lines()
    ear = listened(lines, narration.parts(), vocabulary())
    begins = list(accumulate((len(line.words) + 1 for line in lines), initial=0))[:-1]
    lesson = Lesson(narration, lines, rate, Weigher(ear, NO_WEIGHTS), begins)
    reading = ear.reading
    for told in ear.told:
        line = lesson.line_of(told.sentence.first)
        sentence = narration.sentences[line]
        kind = sentence.kind if sentence.kind != "talk" or sentence.findings else NOTHING_TOLD
        scene = lesson.weigher.scene(told)
        said = Said(scene, line, kind, list(kind_signs(told, reading)), list(about_signs(told, reading)))
        scene.shown = [list(stretch_signs(scene, one)) for one in scene.laid]
        for stretch, shown in zip(scene.laid, scene.shown, strict=True):
            conditions = [one.conditions for one in _told_in(stretch, scene, lesson, sentence.findings)]
            said.spoken.append(Spoken(list(shown), conditions))
        for bench in benches(scene):
            works = _told_in(bench.stretch, scene, lesson, sentence.work)
            said.worked.append(Worked(list(work_signs(scene, bench)), works))
        lesson.said.append(said)
    return lesson


Label = TypeVar("Label", Finding, Work)


def _told_in(stretch: Stretch, scene: Scene, lesson: Lesson, labels: tuple[Label, ...]) -> list[Label]:
    """Labels of those spoken of in a stretch, and, in the first, of those for whom nobody is named."""
    ids = [part.id for part in lesson.narration.parts()]
    named = {ids[part] for one in scene.laid for part in one.parts}
    mine = {ids[part] for part in stretch.parts}
    first = stretch is scene.laid[0]
    return [
        one for one in labels if not one.optional and (one.part in mine or (first and one.part not in named))
    ]


@cache
def lessons() -> tuple[Lesson, ...]:
    """All narrations for tuning, as said and misheard."""
    return (
        *(lesson_of(one, rate, seed) for one in narrations("dev") for rate, seed in HEARINGS),
        *(lesson_of(one, rate, seed) for one in sayings() for rate, seed in SAYINGS_HEARD),
        *(lesson_of(one, rate, seed) for one in primer() for rate, seed in PRIMER_HEARD),
    )
