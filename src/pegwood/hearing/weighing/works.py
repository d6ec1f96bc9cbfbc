"""Work weighed: which is told in a stretch of words, whatever words it is told in, and whether it is done."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from pegwood.hearing.drafts import WorkDraft
from pegwood.hearing.weighing.scenes import Scene, Stretch
from pegwood.hearing.weighing.weights import Weights
from pegwood.hearing.weighing.wordless import told_chances

#: How likely any work must be told where the rules tell some, and one where they tell none [1].
WITH_THE_RULES, ALONE = 0.01, 0.3
#: How likely a sentence must be about a part that is not spoken of, for work to be that part's [1].
ITS = 0.3


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


class Works:
    """
    Weighs the work that is told.

    Parameters
    ----------
    weights : Weights
    """

    def __init__(self, weights: Weights) -> None:
        self._weights = weights

    def drafts(self, scenes: Sequence[Scene]) -> Iterator[WorkDraft]:
        """Work told in sentences, in the order told."""
        told = [(scene, one, list(work_signs(scene, one))) for scene in scenes for one in benches(scene)]
        chances = told_chances(self._weights.works, [signs for _, _, signs in told])
        for (scene, bench, signs), chance in zip(told, chances, strict=True):
            yield from self._of(scene, bench, signs, chance)

    def _of(
        self, scene: Scene, bench: Bench, signs: Sequence[str], chance: Mapping[str, float]
    ) -> Iterator[WorkDraft]:
        if scene.told.corrected:
            yield from bench.rules
            return
        if bench.rules:
            if math.fsum(chance.values()) >= WITH_THE_RULES:
                yield from bench.rules
            return
        likeliest = max(chance, key=lambda one: chance[one], default="")
        if likeliest and chance[likeliest] >= ALONE:
            scale, stretch = self._weights.done, bench.stretch
            done = scale.probability(scale.sum(signs)) >= 0.5
            yield WorkDraft(self._whose(scene, stretch), likeliest, done, stretch.first, stretch.end)

    def _whose(self, scene: Scene, stretch: Stretch) -> tuple[int, ...]:
        if stretch.parts:
            return stretch.parts
        about = scene.about
        return about.likeliest[:1] if about.most >= ITS else ()
