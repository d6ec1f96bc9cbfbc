"""What is told by a claim that holds: whether it is denied, how sure it is, its grade and place."""

from __future__ import annotations

from collections.abc import Sequence

from pegwood.hearing.drafts import Draft
from pegwood.hearing.qualities import Qualities
from pegwood.hearing.reading import Reading
from pegwood.hearing.weighing.claims import Claim
from pegwood.hearing.weighing.manner import manner_signs
from pegwood.hearing.weighing.scenes import Scene
from pegwood.hearing.weighing.weights import Weights

#: From here on [1] what the rules tell as there is denied after all.
AGAINST_THE_RULES = 0.75
#: How little of what is asked of a guess [1] is asked of one that the rules take for a guess as well.
WITH_THE_RULES = 0.3
#: How much more is asked where the rules take it for plain.
PLAIN_BY_THE_RULES = 2.0


class Drafting:
    """
    Makes drafts of claims.

    Parameters
    ----------
    weights : Weights
    reading : Reading
    """

    def __init__(self, weights: Weights, reading: Reading) -> None:
        self._weights, self._reading = weights, reading
        self._qualities = Qualities(reading)

    def draft(self, scene: Scene, claim: Claim, kind: Sequence[str]) -> Draft:
        """What a claim that holds tells; `kind` is what is said of its sentence's kind."""
        signs = [*manner_signs(scene, claim), *kind]
        weights, cue = self._weights, claim.cue
        is_denied, is_unsure = weights.manners.probabilities(signs)
        told = claim.draft is not None and not claim.draft.denied
        least = AGAINST_THE_RULES if told else weights.denied_from
        denied = is_denied >= least
        least = weights.unsure_from
        if claim.draft is not None:
            least *= PLAIN_BY_THE_RULES if claim.draft.certainty == "plain" else WITH_THE_RULES
        unsure = is_unsure >= least
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
        draft.earlier_repair = earlier or claim.condition in self._reading.lexicon.repaired
        if claim.mention is not None:
            draft.rests_on(claim.mention.first, claim.mention.end)
        draft.denied = denied and claim.condition != "fine"
        probable = like is not None and like.certainty == "probable"
        draft.certainty = ("probable" if probable else "possible") if unsure else "plain"
        return draft
