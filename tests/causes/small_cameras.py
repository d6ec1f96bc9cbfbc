"""Small cameras for the planner's tests, and the least expected cost of a job on one by trying everything."""

from __future__ import annotations

import itertools
from functools import cache

from pegwood.anatomy.construction import Construction
from pegwood.anatomy.parts import Minutes, Part, Way
from pegwood.causes.family_net import FamilyCauses
from pegwood.causes.known import Fault, Mend, Shown, Sign
from pegwood.trade.grounds import Ground


def part(name, minutes, *after, cautions=()):
    way = Way(
        side="top",
        tool="screwdriver",
        minutes=Minutes(low=minutes, likely=minutes, high=minutes),
        after=after,
        cautions=cautions,
    )
    return Part(id=name, name=name, ways=(way,))


def construction(*parts):
    return Construction(
        id="small", name="small", parts={one.id: one for one in parts}, ground=Ground("made up", "practice")
    )


def fault(name, where, prior, minutes=10.0, **more):
    mend = Mend(
        name=f"{name} mended", minutes=Minutes(low=minutes, likely=minutes, high=minutes), success=1.0, **more
    )
    return Fault(id=name, name=name, part=where, prior=prior, mends=(mend,))


def sign(name, minutes, leak, shown, off=()):
    return Sign(
        id=name,
        asks=f"{name}?",
        by="eye",
        minutes=minutes,
        leak=(1 - leak, leak),
        shown_by=tuple(Shown(fault=one, shows=(1 - w, w)) for one, w in shown.items()),
        off=off,
    )


def causes(faults, signs):
    return FamilyCauses(
        family="small", faults={one.id: one for one in faults}, signs={one.id: one for one in signs}
    )


class EveryWay:
    """
    A job on a small camera, by going through every set of faults that may be there.

    What is done is given by name: ``("look", sign)``, ``("open", part)``. Costs as the planner states them: a
    look's minutes, each part's step once, looking a part over, and for each fault left closed that is there
    its strip-down from the beginning and a comeback. Mends cost the same whatever is done and are left out.
    """

    def __init__(self, of, built, look_at_part, comeback):
        self.of, self.look_at_part, self.comeback = of, look_at_part, comeback
        self.faults = list(of.faults.values())
        self.step = {one.id: one.ways[0].minutes.likely for one in built.parts.values()}
        self.needs = {one.id: one.ways[0].after for one in built.parts.values()}
        self.again = [sum(self.step[one] for one in self.way(f.part)) for f in self.faults]

    def way(self, target):
        found = {target}
        for before in self.needs[target]:
            found |= self.way(before)
        return found

    def prior(self):
        weights = {}
        for there in itertools.product((False, True), repeat=len(self.faults)):
            weight = 1.0
            for one, is_there in zip(self.faults, there, strict=True):
                weight *= one.prior if is_there else 1 - one.prior
            weights[there] = weight
        return weights

    def shows(self, asked, there):
        nothing = self.of.signs[asked].leak[0]
        for one in self.of.signs[asked].shown_by:
            if there[[f.id for f in self.faults].index(one.fault)]:
                nothing *= one.shows[0]
        return 1 - nothing

    def outcomes(self, does, weights, off):
        """What an action costs, what is off then, and by outcome the weights."""
        kind, name = does
        targets = self.of.signs[name].off if kind == "look" else (name,)
        opens = set().union(*(self.way(one) for one in targets)) - off if targets else set()
        cost = sum(self.step[one] for one in opens)
        cost += self.of.signs[name].minutes if kind == "look" else self.look_at_part
        split = {}
        for there, weight in weights.items():
            if kind == "look":
                yes = self.shows(name, there)
                for answer, chance in ((True, yes), (False, 1 - yes)):
                    if weight * chance > 0:
                        split.setdefault(answer, {})[there] = weight * chance
            else:
                seen = tuple(
                    is_there for f, is_there in zip(self.faults, there, strict=True) if f.part == name
                )
                split.setdefault(seen, {})[there] = weight
        return cost, off | opens, split

    def left_closed(self, weights, looked_at):
        return sum(
            weight
            * sum(
                again + self.comeback
                for f, again, is_there in zip(self.faults, self.again, there, strict=True)
                if is_there and f.part not in looked_at
            )
            for there, weight in weights.items()
        )

    def least(self):
        """The least expected cost of all there is to do."""
        actions = [("look", one) for one in self.of.signs]
        actions += [("open", one) for one in dict.fromkeys(f.part for f in self.faults)]

        @cache
        def best(weights, done, off):
            held = dict(weights)
            mass = sum(held.values())
            least = self.left_closed(held, {name for kind, name in done if kind == "open"})
            for does in actions:
                if does not in done:
                    cost, then, split = self.outcomes(does, held, off)
                    if mass * cost < least:
                        after = sum(
                            best(tuple(sorted(one.items())), done | {does}, frozenset(then))
                            for one in split.values()
                        )
                        least = min(least, mass * cost + after)
            return least

        return best(tuple(sorted(self.prior().items())), frozenset(), frozenset())
