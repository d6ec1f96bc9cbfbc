"""
Cameras of worlds that are not quite what the knowledge says. Shares no code with what plans or weighs.

In a world every prior's odds, and the odds that a link or a leak shows anything at all, are multiplied by a
factor of its own between a half and two (even on the logarithm). A camera has each fault by itself; each sign
is the highest level that one of its faults, or the leak, shows.
"""

from __future__ import annotations

import random
from dataclasses import dataclass

from pegwood.anatomy.construction import Construction
from pegwood.anatomy.planning import choose
from pegwood.causes.family_net import FamilyCauses

FACTOR = 2.0


@dataclass(frozen=True)
class Camera:
    """What is wrong with it, and what each sign would answer, as a level."""

    faults: frozenset[str]
    says: dict[str, int]


class World:
    """A family's knowledge, every number of it somewhat wrong."""

    def __init__(self, causes: FamilyCauses, rng: random.Random, factor: float = FACTOR) -> None:
        self._rng, self._factor = rng, factor
        self.priors = {one.id: self._moved(one.prior) for one in causes.faults.values()}
        self.leaks = {one.id: self._shifted(one.leak) for one in causes.signs.values()}
        self.links = {
            (shown.fault, sign.id): self._shifted(shown.shows)
            for sign in causes.signs.values()
            for shown in sign.shown_by
        }
        self.of_sign = {sign.id: [shown.fault for shown in sign.shown_by] for sign in causes.signs.values()}

    def _moved(self, chance: float) -> float:
        if not 0 < chance < 1:
            return chance
        odds = chance / (1 - chance) * self._factor ** self._rng.uniform(-1, 1)
        return odds / (1 + odds)

    def _shifted(self, chances: tuple[float, ...]) -> tuple[float, ...]:
        shows = 1 - chances[0]
        if not 0 < shows < 1:
            return chances
        then = self._moved(shows)
        return (1 - then, *(one * then / shows for one in chances[1:]))

    def camera(self) -> Camera:
        """One more camera."""
        rng = self._rng
        faults = frozenset(fault for fault, chance in self.priors.items() if rng.random() < chance)
        says = {}
        for sign, leak in self.leaks.items():
            shown = [leak, *(self.links[fault, sign] for fault in self.of_sign[sign] if fault in faults)]
            says[sign] = max(rng.choices(range(len(leak)), one)[0] for one in shown)
        return Camera(faults, says)


class Body:
    """What comes off for each part, by the cheapest way to it alone, and what each step takes, [min]."""

    def __init__(self, construction: Construction) -> None:
        strip_down = construction.strip_down()
        self.way_to: dict[str, dict[str, float]] = {}
        for part in construction.parts:
            if part in strip_down.removable:
                ways = choose(strip_down, [part]).ways
                self.way_to[part] = {one: way.cost for one, way in ways.items()}

    def opening(self, parts: tuple[str, ...], off: frozenset[str]) -> tuple[float, frozenset[str]]:
        """Minutes to take some parts off, and what is off then."""
        minutes, then = 0.0, set(off)
        for part in parts:
            for one, cost in self.way_to.get(part, {}).items():
                if one not in then:
                    minutes += cost
                    then.add(one)
        return minutes, frozenset(then)
