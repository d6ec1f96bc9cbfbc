"""The whole family as pictures, one for each mechanism, and as lists of parts: to pick from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from heapq import heapify, heappop, heappush

from pegwood.anatomy.construction import Construction
from pegwood.anatomy.parts import Part, Way
from pegwood.web.strip.steps import group_of


@dataclass(frozen=True)
class Group:
    """A mechanism of a family: what the family calls it, and its parts."""

    name: str
    parts: tuple[Part, ...]


def groups(construction: Construction) -> tuple[Group, ...]:
    """The mechanisms of a family in its own order."""
    found: dict[str, list[Part]] = {}
    for part in construction.parts.values():
        found.setdefault(group_of(part.id), []).append(part)
    return tuple(Group(name, tuple(parts)) for name, parts in found.items())


def soonest_ways(construction: Construction) -> Mapping[str, Way]:
    """
    One way for each part that comes off at all: the one that is ready soonest.

    They wait for each other in no ring, so that they can be drawn: each needs only what was ready before.
    This is for a picture; what is cheapest is the planner's.
    """
    behind: dict[str, list[tuple[str, Way]]] = {}
    waits: dict[tuple[str, str], int] = {}
    ahead: list[tuple[float, str, str, Way]] = []
    for part in construction.parts.values():
        for way in part.ways:
            waits[part.id, way.name] = len(way.after)
            for one in way.after:
                behind.setdefault(one, []).append((part.id, way))
            if not way.after:
                ahead.append((way.cost_minutes, part.id, way.name, way))
    heapify(ahead)
    found: dict[str, Way] = {}
    while ahead:
        ready, name, _, way = heappop(ahead)
        if name in found:
            continue
        found[name] = way
        for other, its_way in behind.get(name, ()):
            waits[other, its_way.name] -= 1
            if not waits[other, its_way.name]:
                heappush(ahead, (ready + its_way.cost_minutes, other, its_way.name, its_way))
    return found
