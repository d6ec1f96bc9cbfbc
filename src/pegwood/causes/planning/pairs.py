"""Two steps ahead, where no single look pays: a look and then another, and looks that share a way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from pegwood.causes.planning.best_opening import best_opening
from pegwood.causes.planning.expected_cost import LookWorth, Opening, Weighing

#: So many looks, those that save most, are followed by a second one.
MOST_FOLLOWED = 4
#: What saves less is not asked: a person reads it, does it and taps the answer, [min].
LEAST_WORTH = 0.25
#: A look that alone saves less is not tried in a pair, [min].
LEAST_SAVING = 0.05


@dataclass(frozen=True, kw_only=True)
class Pair:
    """A look that pays together with one that follows some answers, and what both are worth, [min]."""

    first: LookWorth
    second: str
    worth: float


@dataclass(frozen=True, kw_only=True)
class SharedWay:
    """A way that pays for the looks that it opens, and what all that is worth, [min]."""

    opening: Opening
    looks: tuple[str, ...]
    worth: float


def first_of_pairs(now: Weighing, looks: Sequence[LookWorth]) -> Pair | None:
    """
    The look that is worth most with a second one after it; None where none is worth anything.

    The second is chosen by the answer to the first, among signs of the same faults: others are as much worth
    without the first.
    """
    found = []
    beliefs = now.costs.beliefs
    ahead = sorted(
        (one for one in looks if one.saving > LEAST_SAVING), key=lambda one: (-one.worth, one.sign)
    )
    for look in ahead[:MOST_FOLLOWED]:
        lot = beliefs.lot_of[look.sign]
        chances = beliefs.predicted(lot, now.bench.seen, now.bench.known)[look.sign].chances
        worth, second = look.worth, ("", 0.0)
        for level, chance in enumerate(chances):
            if chance <= 0:
                continue
            seen = tuple(float(level == one) for one in range(len(chances)))
            then = now.costs.on(
                replace(
                    now.bench, seen={**now.bench.seen, look.sign: seen}, off=now.bench.off | look.then_off
                )
            )
            after = [one for one in then.looks(beliefs.nets[lot].signs) if one.worth > 0]
            if after:
                best = max(after, key=lambda one: (one.worth, one.sign))
                worth += chance * best.worth
                second = max(second, (best.sign, chance * best.worth), key=lambda one: one[1])
        if second[0] and worth > LEAST_WORTH:
            found.append(Pair(first=look, second=second[0], worth=worth))
    return max(found, key=lambda one: (one.worth, one.first.sign), default=None)


def opening_for_looks(now: Weighing, looks: Sequence[LookWorth]) -> SharedWay | None:
    """
    The way that pays for the looks it opens, when none of them pays it alone; None where there is none.

    Of each lot of faults only the best look counts, since a second one says partly the same: the worth is
    rather too small.
    """
    ways = sorted({one.then_off for one in looks if one.then_off}, key=sorted)
    if not ways:
        return None
    beliefs, costs = now.costs.beliefs, now.costs
    masks = [np.isin(np.arange(len(costs.parts)), [costs.at[part] for part in way]) for way in ways]
    worth = now.part_worth(now.chances[np.newaxis])[0]
    gains = [best_opening(worth - np.where(mask, 0.0, now.step), now.brings)[0] for mask in masks]
    opened = {way: gain - now.gain for way, gain in zip(ways, gains, strict=True)}
    found = []
    for way, mask in zip(ways, masks, strict=True):
        best: dict[int, tuple[float, str]] = {}
        for look in looks:
            if look.then_off and look.then_off <= way:
                here = look.saving - opened[look.then_off] - look.minutes
                lot = beliefs.lot_of[look.sign]
                best[lot] = max(best.get(lot, (0.0, "")), (here, look.sign))
        paying = sorted((one for one in best.values() if one[0] > 0), reverse=True)
        access = float(now.step[mask].sum())
        total = opened[way] - access + sum(one[0] for one in paying)
        if total > LEAST_WORTH and paying:
            opening = Opening(
                targets=(),
                taken_off=tuple(sorted(way)),
                access_minutes=access,
                minutes=0.0,
                saving=access + total,
            )
            found.append(SharedWay(opening=opening, looks=tuple(one[1] for one in paying), worth=total))
    return max(found, key=lambda one: one.worth, default=None)
