"""Work weighed: which is told in a stretch of words, of whom, and whether it is done."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from pegwood.hearing.drafts import Draft, WorkDraft
from pegwood.hearing.meaning import Meaning
from pegwood.hearing.weighing.choosing import chosen
from pegwood.hearing.weighing.claims import Claim, Cue, claims_of
from pegwood.hearing.weighing.scenes import Scene, Stretch
from pegwood.hearing.weighing.sums import Sums
from pegwood.hearing.weighing.weights import Weights, rivals
from pegwood.hearing.weighing.wordless import likeliest, told_chances

#: How likely some work must be told by the words of a stretch, for it to be weighed [1].
WORTH_WEIGHING = 0.12
#: The same where the rules tell some, but of nobody who is known.
OF_NOBODY = 0.05


@dataclass(frozen=True, slots=True)
class Bench:
    """A stretch, its signs, and the work that the rules tell in it."""

    stretch: Stretch
    shown: Sequence[str]
    rules: Sequence[WorkDraft]


def benches(scene: Scene) -> list[Bench]:
    """The stretches of a sentence, with what the rules tell in each."""
    return [
        Bench(stretch, shown, [work for work in scene.works if stretch.first <= work.first < stretch.end])
        for stretch, shown in zip(scene.laid, scene.shown, strict=True)
    ]


def work_signs(scene: Scene, bench: Bench) -> Iterator[str]:
    """What speaks for work: the words, and what the rules make of them."""
    yield from bench.shown
    for work in bench.rules:
        yield f"rules {work.work}"
        yield f"rules {'done' if work.done else 'to do'}"
    if not bench.rules:
        yield "rules no work"
    yield from scene.shared


def work_cues(scene: Scene) -> list[Cue]:
    """A cue for each work that the rules tell in a sentence, in the same order."""
    named = {part for item in scene.mentions for part in scene.told.meant[item.first][0]}
    items = {item.first: item for item in scene.told.sentence.items}
    return [
        Cue(
            work.first,
            work.end,
            items.get(work.first),
            tells_work=True,
            live=[
                Draft(
                    work.parts, work.work, work.first, work.end, work.first, work.end,
                    scene.piece(work.first) - 1, carried=named.isdisjoint(work.parts),
                )
            ],
        )
        for work in scene.works
    ]  # fmt: skip


class Works:
    """
    Weighs the work that is told in a narration.

    Parameters
    ----------
    weights : Weights
    meaning : Meaning
    """

    def __init__(self, weights: Weights, meaning: Meaning) -> None:
        self._weights, self._meaning = weights, meaning
        self._sums = Sums(weights.worked, meaning.ear.reading)

    def drafts(self, scenes: Sequence[Scene], kinds: Iterable[Sequence[str]]) -> Iterator[WorkDraft]:
        """
        Work told in sentences, in the order told.

        Parameters
        ----------
        scenes : sequence of Scene
        kinds : iterable of sequence of str
            What is said of the kind of each.
        """
        laid = [benches(scene) for scene in scenes]
        signs = [
            list(work_signs(scene, one)) for scene, mine in zip(scenes, laid, strict=True) for one in mine
        ]
        chances = iter(told_chances(self._weights.works, signs))
        for scene, mine, kind in zip(scenes, laid, kinds, strict=True):
            yield from self._of(scene, mine, [next(chances) for _ in mine], kind)

    def claims(self, scene: Scene, cue: Cue, chance: Mapping[str, float]) -> Iterator[Claim]:
        """
        All work that a cue may tell, of whom; `chance` is how likely each is told by the words around [1].
        """
        elsewhere = {work.work for work in scene.works if work.first != cue.first}
        works = [work for work in likeliest(chance) if work not in elsewhere]
        return claims_of(cue, scene.told, self._meaning, works, scene.about.likeliest)

    def _of(
        self,
        scene: Scene,
        laid: Sequence[Bench],
        chances: Sequence[Mapping[str, float]],
        kind: Sequence[str],
    ) -> Iterator[WorkDraft]:
        if scene.told.corrected:
            yield from scene.works
            return
        level = self._sums.level(scene, kind)
        spoken: set[int | None] = set()
        for cue, work in zip(work_cues(scene), scene.works, strict=True):
            at = scene.stretch_of(cue.first)
            chance = chances[at] if at is not None else {}
            told = self._told_by(scene, cue, chance, level)
            if told is None:
                if not work.parts and math.fsum(chance.values()) >= OF_NOBODY:
                    yield work
            else:
                done = work.done if told.work == work.work or at is None else self._is_done(scene, laid[at])
                spoken.add(at)
                yield WorkDraft(told.parts, told.work, done, cue.first, cue.end)
        for at, (bench, chance) in enumerate(zip(laid, chances, strict=True)):
            if at in spoken or max(chance.values(), default=0.0) < WORTH_WEIGHING:
                continue
            stretch = bench.stretch
            cue = Cue(stretch.first, stretch.end, wordless=True, tells_work=True)
            if told := self._told_by(scene, cue, chance, level):
                done = self._is_done(scene, bench)
                yield WorkDraft(told.parts, told.work, done, cue.first, cue.end)

    def _told_by(self, scene: Scene, cue: Cue, chance: Mapping[str, float], level: float) -> WorkDraft | None:
        claims = list(self.claims(scene, cue, chance))
        sums = self._sums.of(scene, cue, claims, chance, level)
        rated = zip(rivals(sums), claims, strict=True)
        held = [claim for _, claim in chosen(rated, self._weights.worked_from)]
        if not held:
            return None
        return WorkDraft(tuple(one.part for one in held), held[0].condition, False, cue.first, cue.end)

    def _is_done(self, scene: Scene, bench: Bench) -> bool:
        scale = self._weights.done
        return scale.probability(scale.sum(work_signs(scene, bench))) >= 0.5
