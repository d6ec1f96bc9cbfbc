"""Claims weighed: which are told, and how; what the rules alone made is mended by it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from pegwood.hearing.drafts import Draft
from pegwood.hearing.listening import Listener
from pegwood.hearing.meaning import Meaning
from pegwood.hearing.qualities import Qualities
from pegwood.hearing.told import Told
from pegwood.hearing.weighing.claims import Claim, Cue, claims_of, cues_of
from pegwood.hearing.weighing.kinds import kind_signs
from pegwood.hearing.weighing.manner import manner_signs
from pegwood.hearing.weighing.signs import Scene, cue_signs, kind_said, part_signs
from pegwood.hearing.weighing.weights import Weights
from pegwood.hearing.weighing.wordless import Stretch, stretch_of, stretch_signs, stretches, words_said

#: From here on [1] a second part is told of by the same word.
TOGETHER = 0.5
#: What stands among the conditions for a stretch that tells none.
NOTHING_TOLD = "none"
#: Ways a part came up that leave it open which is meant, and how much likelier one must be than the next [1].
OPEN = ("open", "open topic")
PLAINLY = 1.5


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
        self._qualities = Qualities(self.reading)

    def drafts(self) -> list[Draft]:
        """What is told, in the order told."""
        found: list[Draft] = []
        for told in self.ear.told:
            found += self._of(told)
        return found

    def remarks(self) -> list[tuple[int, int]]:
        """Stretches of tokens about such cameras in general."""
        found: list[tuple[int, int]] = []
        for told in self.ear.told:
            remark, _ = self.kind(told)
            if remark >= self.weights.remark_from:
                spans = told.stands.remarks or [(told.sentence.first, told.sentence.end)]
                found += spans
        return found

    def kind(self, told: Told) -> tuple[float, float]:
        """How likely a sentence is a remark, and tells nothing of any camera [1]."""
        signs = list(kind_signs(told, self.reading))
        weights = self.weights
        return (
            weights.remark.probability(weights.remark.sum(signs)),
            weights.nothing.probability(weights.nothing.sum(signs)),
        )

    def scene(self, told: Told) -> Scene:
        """A sentence laid out."""
        drafts = self.ear.drafts[slice(*told.drafts)]
        works = self.ear.work[slice(*told.works)]
        live = {(part, one.condition) for one in drafts if not one.taken_back for part in one.parts}
        return Scene(told, self.reading, cues_of(told, drafts, works), live)

    def claims(self, scene: Scene, cue: Cue) -> Iterator[Claim]:
        """All that a cue may tell."""
        return claims_of(cue, scene.told, self._meaning)

    def _of(self, told: Told) -> Iterator[Draft]:
        scene = self.scene(told)
        laid = stretches(scene)
        if not scene.cues and not laid:
            return
        remark, nothing = self.kind(told)
        if remark >= self.weights.remark_from:
            return
        kind = kind_said(remark, nothing)
        chances = [self._chances(scene, stretch) for stretch in laid]
        told_so_far: set[tuple[int, str]] = set()
        spoken: set[int] = set()
        for cue in scene.cues:
            at = stretch_of(laid, cue.first)
            for claim in self._told_by(scene, cue, kind, chances[at] if at is not None else {}):
                if at is not None:
                    spoken.add(at)
                if (claim.part, claim.condition) not in told_so_far:
                    told_so_far.add((claim.part, claim.condition))
                    yield self._draft(scene, claim, kind)
        for at, stretch in enumerate(laid):
            if at not in spoken and not told.corrected:
                for claim in self._without_word(stretch, chances[at], nothing):
                    if (claim.part, claim.condition) not in told_so_far:
                        told_so_far.add((claim.part, claim.condition))
                        yield self._draft(scene, claim, kind)

    def _chances(self, scene: Scene, stretch: Stretch) -> dict[str, float]:
        """How likely each condition is told in a stretch [1]."""
        chance = self.weights.words.probabilities(stretch_signs(scene, stretch))
        chance.pop(NOTHING_TOLD, None)
        return chance

    def _without_word(self, stretch: Stretch, chance: dict[str, float], nothing: float) -> Iterator[Claim]:
        """What a stretch tells in words that the vocabulary does not have."""
        if not chance:
            return
        condition = max(chance, key=lambda one: chance[one])
        if chance[condition] * (1 - nothing) >= self.weights.words_from:
            cue = Cue(stretch.first, stretch.end)
            for part in stretch.parts:
                yield Claim(cue, part, condition, "words alone", stretch.mention)

    def _told_by(self, scene: Scene, cue: Cue, kind: list[str], chance: dict[str, float]) -> list[Claim]:
        """The claims of a cue that hold: the likeliest, and others told together with it."""
        scale, by_condition = self.weights.meant, dict[str, float]()
        rated: list[tuple[float, Claim]] = []
        for claim in self.claims(scene, cue):
            condition = claim.condition
            if condition not in by_condition:
                signs = [*cue_signs(scene, cue, condition), *kind, *words_said(chance, condition)]
                by_condition[condition] = scale.sum(signs)
            added = by_condition[condition] + scale.sum(part_signs(scene, claim))
            rated.append((scale.probability(added), claim))
        return chosen(rated, self.weights.meant_from)

    def _draft(self, scene: Scene, claim: Claim, kind: list[str]) -> Draft:
        signs = [*manner_signs(scene, claim), *kind]
        weights, cue = self.weights, claim.cue
        denied = weights.denied.probability(weights.denied.sum(signs)) >= weights.denied_from
        unsure = weights.unsure.probability(weights.unsure.sum(signs)) >= weights.unsure_from
        like = claim.draft or (cue.live[0] if cue.live else None)
        draft = Draft(
            (claim.part,), claim.condition, cue.first, cue.end, cue.first, cue.end, scene.piece(cue.first) - 1
        )
        if like is not None:
            for what in ("grade", "place", "cause", "measured", "work"):
                setattr(draft, what, getattr(like, what))
            if claim.draft is not None:
                draft.rests_on(like.first, like.end)
        elif cue.item is not None:
            items = scene.told.sentence.items
            draft.grade = self._qualities.grade(items, items.index(cue.item))
        if claim.condition == "fine":
            draft.grade = None
        earlier = any(item.tells("earlier") for item in scene.told.sentence.items)
        draft.earlier_repair = earlier or claim.condition in self.reading.lexicon.repaired
        if claim.mention is not None:
            draft.rests_on(claim.mention.first, claim.mention.end)
        draft.denied = denied and claim.condition != "fine"
        probable = like is not None and like.certainty == "probable"
        draft.certainty = ("probable" if probable else "possible") if unsure else "plain"
        return draft


def chosen(rated: Iterable[tuple[float, Claim]], least: float) -> list[Claim]:
    """Of rated claims of one cue, those that hold; none where a name may mean one part as well as another."""
    ordered: Sequence[tuple[float, Claim]] = sorted(rated, key=lambda one: -one[0])
    if not ordered or ordered[0][0] < least:
        return []
    likeliest, best = ordered[0]
    held = [best]
    for probability, claim in ordered[1:]:
        if claim.condition != best.condition:
            continue
        if claim.how == best.how and claim.how in OPEN and probability * PLAINLY > likeliest:
            return []
        together = claim.how == best.how == "together" or (
            claim.draft is not None and claim.draft is best.draft
        )
        if probability >= (least if together else TOGETHER):
            held.append(claim)
    return held
