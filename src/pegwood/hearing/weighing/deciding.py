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
TOGETHER = 0.75
#: From here on [1] what the rules tell as there is denied after all.
AGAINST_THE_RULES = 0.25
#: How little of what is asked of a guess [1] is asked of one that the rules take for a guess as well.
WITH_THE_RULES = 0.3
#: How little of that [1] is asked of what the rules tell without a word for it: of a measure, of "isn't".
WITHOUT_WORD = 0.4
#: A claim, and how likely it is told [1].
Rated = tuple[float, Claim]
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
        self._kinds: dict[int, tuple[float, float]] = {}

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
        known = self._kinds.get(told.sentence.first)
        if known is None:
            signs = set(kind_signs(told, self.reading))
            remark, nothing = self.weights.remark, self.weights.nothing
            known = remark.probability(remark.sum(signs)), nothing.probability(nothing.sum(signs))
            self._kinds[told.sentence.first] = known
        return known

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
            if not told.stands.remarks:
                return
            scene.cues = [cue for cue in scene.cues if not told.stands.is_nothing(cue.first)]
            laid, remark, nothing = (
                [],
                0.0,
                0.0,
            )  # "these always crack, and this one has too": what is outside
        kind = kind_said(remark, nothing)
        chances = [self._chances(scene, stretch) for stretch in laid]
        held: list[Rated] = []
        spoken: set[int] = set()
        for cue in scene.cues:
            at = stretch_of(laid, cue.first)
            found = self._told_by(scene, cue, kind, chances[at] if at is not None else {})
            if at is not None and (found or cue.settled):
                spoken.add(at)
            held += found
        for at, stretch in enumerate(laid):
            if at not in spoken and not told.corrected:
                held += self._without_word(stretch, chances[at], nothing)
        yield from (self._draft(scene, claim, kind) for claim in _once(held, scene))

    def _chances(self, scene: Scene, stretch: Stretch) -> dict[str, float]:
        """How likely each condition is told in a stretch [1]."""
        chance = self.weights.words.probabilities(stretch_signs(scene, stretch))
        chance.pop(NOTHING_TOLD, None)
        return chance

    def _without_word(self, stretch: Stretch, chance: dict[str, float], nothing: float) -> Iterator[Rated]:
        """What a stretch tells in words that the vocabulary does not have."""
        if not chance:
            return
        condition = max(chance, key=lambda one: chance[one])
        if chance[condition] * (1 - nothing) >= self.weights.words_from:
            cue = Cue(stretch.first, stretch.end)
            for part in stretch.parts:
                yield chance[condition], Claim(cue, part, condition, "words alone", stretch.mention)

    def _told_by(self, scene: Scene, cue: Cue, kind: list[str], chance: dict[str, float]) -> list[Rated]:
        """The claims of a cue that hold: the likeliest, and others told together with it."""
        if cue.settled:
            return [(1.0, claim) for claim in self.claims(scene, cue)]
        scale, by_condition = self.weights.meant, dict[str, float]()
        rated: list[Rated] = []
        for claim in self.claims(scene, cue):
            condition = claim.condition
            if condition not in by_condition:
                signs = [*cue_signs(scene, cue, condition), *kind, *words_said(chance, condition)]
                by_condition[condition] = scale.sum(signs)
            added = by_condition[condition] + scale.sum(part_signs(scene, claim))
            rated.append((scale.probability(added), claim))
        least = self.weights.meant_from * (1.0 if cue.item is not None else WITHOUT_WORD)
        return chosen(rated, least)

    def _draft(self, scene: Scene, claim: Claim, kind: list[str]) -> Draft:
        signs = [*manner_signs(scene, claim), *kind]
        weights, cue = self.weights, claim.cue
        told = claim.draft is not None and not claim.draft.denied
        least = AGAINST_THE_RULES if told else weights.denied_from
        denied = weights.denied.probability(weights.denied.sum(signs)) >= least
        doubted = claim.draft is not None and claim.draft.certainty != "plain"
        least = weights.unsure_from * (WITH_THE_RULES if doubted else 1.0)
        unsure = weights.unsure.probability(weights.unsure.sum(signs)) >= least
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


def _once(held: Sequence[Rated], scene: Scene) -> Iterator[Claim]:
    """Each thing told of a part once, and of "fine" and something wrong in one piece only the likelier."""
    wrong = [
        (claim.part, scene.piece(claim.cue.first), probability)
        for probability, claim in held
        if claim.condition != "fine"
    ]
    seen: set[tuple[int, str]] = set()
    for probability, claim in held:
        place = claim.part, scene.piece(claim.cue.first)
        if claim.condition == "fine" and any(
            place == (part, piece) and other >= probability for part, piece, other in wrong
        ):
            continue
        if (claim.part, claim.condition) not in seen:
            seen.add((claim.part, claim.condition))
            yield claim


def chosen(rated: Iterable[Rated], least: float) -> list[Rated]:
    """Of rated claims of one cue, those that hold; none where a name may mean one part as well as another."""
    ordered = sorted(rated, key=lambda one: -one[0])
    if not ordered or ordered[0][0] < least:
        return []
    likeliest, best = ordered[0]
    held = [ordered[0]]
    for probability, claim in ordered[1:]:
        if claim.condition != best.condition:
            continue
        if claim.how == best.how and claim.how in OPEN and probability * PLAINLY > likeliest:
            return []
        together = claim.how == best.how == "together" or (
            claim.draft is not None and claim.draft is best.draft
        )
        if probability >= (least if together else TOGETHER):
            held.append((probability, claim))
    return held
