"""What every part costs at least and at most once some are off, for all parts of a camera at once."""

from __future__ import annotations

from collections.abc import Mapping
from functools import reduce
from operator import or_

from pegwood.anatomy.planning.choice import choose
from pegwood.anatomy.planning.problem import Removal, StripDown


class Bounds:
    """
    Bounds on the cost of each part by itself.

    At least: the parts that come off on every way to it, each by its cheapest way; they are the greatest
    solution of "itself, and what is common to all its ways". At most: one way to it, found by adding up.
    Where both are the same the cost is known; only otherwise is it solved for.

    Attributes
    ----------
    least : dict of str to float
        For every part that is not off and can come off, [min].
    """

    def __init__(self, strip_down: StripDown, off: frozenset[str]) -> None:
        self._strip_down, self._off = strip_down, off
        can = strip_down.removable_with(off)
        self._ways = {
            part: tuple((way, way.after - off) for way in strip_down.ways[part] if way.after <= can)
            for part in _outside_first(strip_down, off)
        }
        self._cost = [min(way.cost for way, _ in ways) for ways in self._ways.values()]
        self._always = self._on_every_way()
        self.least = {part: self._sum(mask) for part, mask in self._always.items()}
        self._by = self._added_up()

    def _sum(self, mask: int) -> float:
        """What the parts of a set cost, each by its cheapest way."""
        total = 0.0
        while mask:
            total += self._cost[(mask & -mask).bit_length() - 1]
            mask &= mask - 1
        return total

    def _on_every_way(self) -> dict[str, int]:
        """For each part those that come off on every way to it, as bits."""
        names = list(self._ways)
        bit = {part: 1 << n for n, part in enumerate(names)}
        everything = (1 << len(names)) - 1
        always = dict.fromkeys(names, everything)
        changed = True
        while changed:
            changed = False
            for part, ways in self._ways.items():
                common = everything
                for _, after in ways:
                    needed = 0
                    for one in after:
                        needed |= always[one]
                    common &= needed
                if (now := common | bit[part]) != always[part]:
                    always[part], changed = now, True
        return always

    def at_least(self, part: str) -> float:
        """
        The least once more: a part that always comes off does so by one of its ways, and each of them brings
        its own others along. Counted where these are not counted yet.
        """
        sure = counted = self._always[part]
        least = self._sum(sure)
        for n, ways in enumerate(self._ways.values()):
            if len(ways) < 2 or not sure >> n & 1:
                continue
            brought = [reduce(or_, (self._always[other] for other in after), 0) & ~sure for _, after in ways]
            if not (every := reduce(or_, brought)) & counted:
                counted |= every
                least += min(
                    way.cost + self._sum(others) for (way, _), others in zip(ways, brought, strict=True)
                )
                least -= self._cost[n]
        return least

    def _added_up(self) -> dict[str, Removal]:
        """A way for each part, such that following them back always ends."""
        total = dict.fromkeys(self._ways, float("inf"))
        by: dict[str, Removal] = {}
        changed = True
        while changed:
            changed = False
            for part, ways in self._ways.items():
                for way, after in ways:
                    now = way.cost + sum(total[one] for one in after)
                    if now < total[part]:
                        total[part], by[part], changed = now, way, True
        return by

    def may_need(self, part: str) -> frozenset[str]:
        """The part, and all that any way to it may take off."""
        found: set[str] = set()
        ahead = [part]
        while ahead:
            if (one := ahead.pop()) not in found:
                found.add(one)
                ahead += [other for _, after in self._ways[one] for other in after]
        return frozenset(found)

    def cheapest(self, part: str) -> tuple[Mapping[str, Removal], float]:
        """The cheapest way to a part, and its cost, [min]."""
        ways: dict[str, Removal] = {}
        ahead = [part]
        while ahead:
            if (one := ahead.pop()) not in ways:
                ways[one] = self._by[one]
                ahead += self._by[one].after - self._off
        cost = sum(way.cost for way in ways.values())
        if cost > self.least[part] + 1e-9 and cost > self.at_least(part) + 1e-9:
            found = choose(self._strip_down, [part], self._off)
            ways, cost = dict(found.ways), found.cost
        return ways, cost


def _outside_first(strip_down: StripDown, off: frozenset[str]) -> list[str]:
    """The parts that can come off, each behind those of one of its ways: so that few rounds are needed."""
    done, found = set(off), []
    left = {part: ways for part, ways in strip_down.ways.items() if part not in off}
    while now := [part for part, ways in left.items() if any(way.after <= done for way in ways)]:
        done.update(now)
        found += now
        for part in now:
            del left[part]
    return found
