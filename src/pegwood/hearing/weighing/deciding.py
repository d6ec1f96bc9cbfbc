"""Claims weighed: which are told, and how; what the rules alone made is mended by it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar

from pegwood.hearing.drafts import Draft, WorkDraft
from pegwood.hearing.listening import Listener
from pegwood.hearing.meaning import Meaning
from pegwood.hearing.told import Told
from pegwood.hearing.weighing.about import About, about_signs
from pegwood.hearing.weighing.choosing import Rated, chosen
from pegwood.hearing.weighing.claims import Claim, Cue, claims_of, cues_of, told_elsewhere
from pegwood.hearing.weighing.drafting import Drafting
from pegwood.hearing.weighing.kinds import kind_signs
from pegwood.hearing.weighing.scenes import Scene
from pegwood.hearing.weighing.signs import kind_said
from pegwood.hearing.weighing.sums import Sums
from pegwood.hearing.weighing.weights import AT_ONCE, Weights, rivals
from pegwood.hearing.weighing.wordless import likeliest, stretch_signs, told_chances
from pegwood.hearing.weighing.works import Works

Placed = TypeVar("Placed", Cue, WorkDraft)
#: How little of what is asked of a claim [1] is asked of what the rules tell without a word for it: of a
#: measure, of "isn't".
WITHOUT_WORD = 0.4
#: How likely some condition must be told by the words of a stretch, for it to be weighed [1].
WORTH_WEIGHING = 0.12


@dataclass
class Weigher:
    """
    Weighs a whole narration that was listened to.

    Parameters
    ----------
    ear : Listener
    weights : Weights
    """

    ear: Listener
    weights: Weights

    def __post_init__(self) -> None:
        self.reading = self.ear.reading
        self._meaning = Meaning(self.ear)
        self._about = About(self.weights.about, self.reading.finder.names.parts)
        self._sums = Sums(self.weights.meant, self.reading)
        self._drafting = Drafting(self.weights, self.reading)
        self.works = Works(self.weights, self._meaning)
        self._kinds: dict[int, tuple[float, float]] = {}

    def drafts(self) -> tuple[list[Draft], list[WorkDraft]]:
        """What is told, and the work, each in the order told."""
        found: list[Draft] = []
        works: list[WorkDraft] = []
        for first in range(0, len(self.ear.told), AT_ONCE):
            scenes = self._scenes(self.ear.told[first : first + AT_ONCE])
            found += (draft for scene in scenes for draft in self._of(scene))
            camera = [one for one in scenes if not self.is_remark(one.told)]
            works += self.works.drafts(camera, [kind_said(*self.kind(one.told)) for one in camera])
            works += (
                work for one in scenes if self.is_remark(one.told) for work in _beside_remark(one, one.works)
            )
        works.sort(key=lambda one: one.first)
        kept = {(one.first, one.work, part) for one in works for part in one.parts}
        for draft in found:
            draft.work = tuple(one for one in draft.work if (one.first, one.work, draft.parts[0]) in kept)
        return found, works

    def remarks(self) -> list[tuple[int, int]]:
        """Stretches of tokens about such cameras in general."""
        found: list[tuple[int, int]] = []
        for told in self.ear.told:
            whole = ((told.sentence.first, told.sentence.end),)
            if self.is_remark(told):
                found += told.stands.remarks or whole
            elif told.stands.remarks != whole:  # "these always crack, but on this one ..."
                found += told.stands.remarks
        return found

    def is_remark(self, told: Told) -> bool:
        """Whether a sentence is about such cameras in general, some of it or all."""
        return self.kind(told)[0] >= self.weights.remark_from

    def kind(self, told: Told) -> tuple[float, float]:
        """How likely a sentence is a remark, and tells nothing of any camera [1]."""
        known = self._kinds.get(told.sentence.first)
        if known is None:
            known = self.weights.kinds.probabilities(kind_signs(told, self.reading))
            self._kinds[told.sentence.first] = known
        return known

    def scene(self, told: Told) -> Scene:
        """A sentence laid out."""
        drafts = self.ear.drafts[slice(*told.drafts)]
        works = self.ear.work[slice(*told.works)]
        live = {(part, one.condition) for one in drafts if not one.taken_back for part in one.parts}
        return Scene(told, self.reading, cues_of(told, drafts, works), live, works)

    def claims(self, scene: Scene, cue: Cue) -> Iterator[Claim]:
        """All that a cue may tell."""
        elsewhere = told_elsewhere(cue, scene.cues)
        conditions = [one for one in likeliest(scene.chance(cue.first)) if one not in elsewhere]
        return claims_of(cue, scene.told, self._meaning, conditions, scene.about.likeliest)

    def _scenes(self, sentences: Sequence[Told]) -> list[Scene]:
        """Sentences laid out, and what their words are about; of many at once, which takes less time."""
        scenes = [self.scene(told) for told in sentences]
        abouts = self._about.chances([list(about_signs(one.told, self.reading)) for one in scenes])
        for scene in scenes:
            scene.shown = [list(stretch_signs(scene, one)) for one in scene.laid]
        chances = iter(told_chances(self.weights.words, [one for scene in scenes for one in scene.shown]))
        for scene, about in zip(scenes, abouts, strict=True):
            scene.about, scene.chances = about, [next(chances) for _ in scene.laid]
        return scenes

    def _of(self, scene: Scene) -> Iterator[Draft]:
        """What a sentence tells: of each cue, and of each stretch in which no cue told anything."""
        told = scene.told
        remark, nothing = self.kind(told)
        if self.is_remark(told):
            yield from self._beside_remark(scene)
            return
        stretches = [] if told.corrected else scene.laid
        kind = kind_said(remark, nothing)
        level = self._sums.level(scene, kind)
        held: list[Rated] = []
        spoken: set[int | None] = set()
        for cue in scene.cues:
            found = self._told_by(scene, cue, level)
            if found or cue.settled:
                spoken.add(scene.stretch_of(cue.first))
            held += found
        for at, stretch in enumerate(stretches):
            if at not in spoken and max(scene.chances[at].values(), default=0.0) >= WORTH_WEIGHING:
                held += self._told_by(scene, Cue(stretch.first, stretch.end, wordless=True), level)
        yield from (self._drafting.draft(scene, claim, kind) for claim in _once(held, scene))

    def _beside_remark(self, scene: Scene) -> Iterator[Draft]:
        """What the rules tell of this camera in a sentence about such cameras."""
        outside = _beside_remark(scene, scene.cues)
        held = [(1.0, claim) for cue in outside for claim in self.claims(scene, cue) if claim.draft]
        yield from (self._drafting.draft(scene, claim, kind_said(0.0, 0.0)) for claim in _once(held, scene))

    def _told_by(self, scene: Scene, cue: Cue, level: float) -> list[Rated]:
        """
        The claims of a cue that hold: the likeliest, and others told together with it.

        `level` is what all claims of the sentence share [log odds].
        """
        claims = list(self.claims(scene, cue))
        if cue.settled:
            return [(1.0, claim) for claim in claims]
        sums = self._sums.of(scene, cue, claims, scene.chance(cue.first), level)
        least = self.weights.meant_from * (WITHOUT_WORD if cue.item is None and not cue.wordless else 1.0)
        return chosen(zip(rivals(sums), claims, strict=True), least)


def _beside_remark(scene: Scene, told: Sequence[Placed]) -> list[Placed]:
    """ "These crack, and this one has too": what is told outside of what is general, if one is pointed at."""
    stands = scene.told.stands
    pointed = any(item.tells("this one") for item in scene.told.sentence.items)
    return [one for one in told if pointed and stands.remarks and not stands.is_nothing(one.first)]


def _once(held: Sequence[Rated], scene: Scene) -> Iterator[Claim]:
    """
    Each thing told of a part once, and of "fine" and something wrong in one piece only the likelier.

    What the rules tell as well comes before what they do not: they know what was measured, and where.
    """
    wrong = [
        (claim.part, scene.piece(claim.cue.first), probability)
        for probability, claim in held
        if claim.condition != "fine"
    ]
    kept: dict[tuple[int, str], Claim] = {}
    for probability, claim in held:
        place = claim.part, scene.piece(claim.cue.first)
        if claim.condition == "fine" and any(
            place == (part, piece) and other >= probability for part, piece, other in wrong
        ):
            continue
        known = kept.setdefault((claim.part, claim.condition), claim)
        if known.draft is None and claim.draft is not None:
            kept[claim.part, claim.condition] = claim
    yield from kept.values()
