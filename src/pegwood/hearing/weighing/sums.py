"""Claims of a cue added up: signs that many of them share are added up once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from pegwood.hearing.reading import Reading
from pegwood.hearing.weighing.claims import Claim, Cue
from pegwood.hearing.weighing.scenes import Scene
from pegwood.hearing.weighing.signs import (
    Place,
    carried_signs,
    common_signs,
    cue_signs,
    name_signs,
    place_of,
    place_signs,
    rule_signs,
)
from pegwood.hearing.weighing.weights import Scale
from pegwood.hearing.weighing.wordless import words_said


class Sums:
    """
    What claims weigh on a scale; see `signs.claim_signs` for all that is added up.

    Parameters
    ----------
    scale : Scale
    reading : Reading
    """

    def __init__(self, scale: Scale, reading: Reading) -> None:
        self._scale, self._reading = scale, reading
        self._rules: dict[tuple[str, ...], float] = {}
        self._places: dict[Place, float] = {}
        self._common: dict[tuple[int, str], float] = {}

    def level(self, scene: Scene, kind: Iterable[str]) -> float:
        """What all claims of a sentence share [log odds]."""
        return self._scale.level + self._scale.sum([*scene.shared, *kind])

    def of(
        self, scene: Scene, cue: Cue, claims: Sequence[Claim], chance: Mapping[str, float], level: float
    ) -> list[float]:
        """
        What claims of one cue weigh [log odds].

        Parameters
        ----------
        scene : Scene
        cue : Cue
        claims : sequence of Claim
        chance : mapping of str to float
            How likely each condition is told by the words around [1].
        level : float
            From `level` [log odds].
        """
        if not claims:
            return []
        scale = self._scale
        by_condition, by_part = dict[tuple[str, bool], float](), dict[int, float]()
        carried = scale.sum(carried_signs(scene, cue))
        sums: list[float] = []
        for claim in claims:
            told = claim.condition, claim.another
            if told not in by_condition:
                signs = [*cue_signs(scene, cue, *told), *words_said(chance, claim.condition)]
                by_condition[told] = scale.sum(signs)
            if claim.part not in by_part:
                added = carried if claim.mention is None else scale.sum(name_signs(scene, claim))
                by_part[claim.part] = added + self._place(place_of(scene, claim))
            common = self._commonly(claim.part, claim.condition) + self._ruled(rule_signs(scene, claim))
            sums.append(level + by_condition[told] + by_part[claim.part] + common)
        return sums

    def _ruled(self, signs: tuple[str, ...]) -> float:
        known = self._rules.get(signs)
        if known is None:
            known = self._rules[signs] = self._scale.sum(signs)
        return known

    def _place(self, place: Place) -> float:
        known = self._places.get(place)
        if known is None:
            known = self._places[place] = self._scale.sum(place_signs(place))
        return known

    def _commonly(self, part: int, condition: str) -> float:
        known = self._common.get((part, condition))
        if known is None:
            known = self._scale.sum(common_signs(self._reading, part, condition))
            self._common[part, condition] = known
        return known
