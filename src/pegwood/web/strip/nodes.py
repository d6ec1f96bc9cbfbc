"""Parts as boxes of a picture and as chips: each with its state, and where a press on it leads."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pegwood.anatomy.construction import Construction
from pegwood.anatomy.planning.in_reach import InReach
from pegwood.anatomy.planning.plan import Step
from pegwood.web.strip.asked import Asked, Links
from pegwood.web.strip.whole import groups, soonest_ways
from pegwood.web.way_picture import Node, Picture, State, draw

#: What needs more parts off besides is told in the list only, so that the picture stays the way in.
MOST_BESIDES = 2
#: Parts in a row of a mechanism's picture: as many as the page shows without going sideways.
MECHANISM_ROW = 5


@dataclass(frozen=True, kw_only=True)
class Press:
    """Something to be pressed: what it says, what is said beside it, whether it is on, where it leads."""

    says: str
    href: str
    beside: str = ""
    is_on: bool = False


@dataclass(frozen=True, kw_only=True)
class GroupShown:
    """A mechanism to pick from: how many parts, they as chips or, where the whole is drawn, its picture."""

    name: str
    key: str
    parts: int
    presses: tuple[Press, ...]
    picture: Picture | None
    wanted: int


class Nodes:
    """The parts as boxes of a picture, each with its state, and where a press on it leads."""

    def __init__(
        self,
        construction: Construction,
        asked: Asked,
        links: Links,
        steps: Sequence[Step],
        meanwhile: Sequence[InReach],
    ) -> None:
        self.construction, self.asked, self.links = construction, asked, links
        self.steps = {step.part.id: (n, step) for n, step in enumerate(steps, 1)}
        self.meanwhile = {one.part.id: one for one in meanwhile if len(one.steps) <= MOST_BESIDES}
        self.besides = {step.part.id for one in self.meanwhile.values() for step in one.steps[:-1]}

    def node(self, part: str) -> Node:
        """One part as a box."""
        state, word = self._state(part)
        then, press = self._pressed(part)
        return Node(
            id=part,
            name=self.construction.parts[part].name,
            state=state,
            word=word,
            number=self.steps[part][0] if part in self.steps else None,
            href=self.links.look(then) if then else "",
            press=press,
        )

    def chip(self, part: str) -> Press | None:
        """One part as a chip; None where it never comes off."""
        state, word = self._state(part)
        then, _ = self._pressed(part)
        if then is None:
            return None
        name = self.construction.parts[part].name
        return Press(says=name, href=self.links.to(then), beside=word, is_on=state == "reach")

    def _pressed(self, part: str) -> tuple[Asked | None, str]:
        """What a press on a part asks for, and in words."""
        if part in self.asked.off:
            return self.asked.not_off(part), "it is still on"
        if part in self.asked.reach:
            return self.asked.not_reaching(part), "no need to reach it"
        if self.construction.parts[part].ways:
            return self.asked.reaching(part), "reach it"
        return None, ""

    def _state(self, part: str) -> tuple[State, str]:
        if part in self.asked.off:
            return "off", "off already"
        if part in self.steps:
            minutes = f"{self.steps[part][1].way.minutes.likely:.3g} min"
            wanted = part in self.asked.reach
            return ("reach", f"to reach, {minutes}") if wanted else ("step", f"comes off, {minutes}")
        if part in self.asked.reach:
            return "reach", "to reach"
        if part in self.asked.spare:
            return "stays", "stays"
        if part in self.meanwhile:
            return "could", f"+{self.meanwhile[part].extra:.0f} min"
        if part in self.besides:
            return "could", "comes off too"
        return ("part", "") if self.construction.parts[part].ways else ("stays", "never comes off")

    def of_the_way(self) -> Picture:
        """What comes off, what is off already and was in its way, and what could be done meanwhile."""
        after: dict[str, set[str]] = {part: set(step.way.after) for part, (_, step) in self.steps.items()}
        for one in self.meanwhile.values():
            for step in one.steps:
                after.setdefault(step.part.id, set(step.way.after))
        gone = {one for befores in after.values() for one in befores if one not in after}
        return draw([self.node(one) for one in (*sorted(gone), *after)], after)

    def of_the_family(self) -> tuple[GroupShown, ...]:
        """Every mechanism, with its picture where that is asked for."""
        ways = soonest_ways(self.construction) if self.asked.whole else {}
        after: Mapping[str, set[str]] = {part: set(way.after) for part, way in ways.items()}
        found = []
        for group in groups(self.construction):
            ids = [part.id for part in group.parts]
            found.append(
                GroupShown(
                    name=group.name or self.construction.name,
                    key=f"of-{group.name.replace(' ', '-') or 'it'}",
                    presses=() if self.asked.whole else tuple(filter(None, map(self.chip, ids))),
                    parts=len(ids),
                    picture=self._drawn(ids, after) if self.asked.whole else None,
                    wanted=sum(one in self.asked.reach for one in ids),
                )
            )
        return tuple(found)

    def _drawn(self, ids: Sequence[str], after: Mapping[str, set[str]]) -> Picture:
        """A mechanism, below what of others must be off before."""
        mine = {part: after.get(part, set()) for part in ids}
        around = {one for befores in mine.values() for one in befores} - mine.keys()
        return draw([self.node(one) for one in (*sorted(around), *ids)], mine, MECHANISM_ROW)
