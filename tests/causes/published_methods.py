"""
Published methods of troubleshooting, for few actions: orders by ratio, a service call, clusters, one test.

One fault is present unless it says otherwise, its chances come to 1, and costs do not depend on what was done
before. Sources: Heckerman, Breese and Rommelse 1995 (HBR95); Srinivas 1995 as Vomlelova 2003 quotes it;
Ottosen and Jensen 2010 for clusters (their abstract). The whole job of a camera, where many faults are the
rule, is `pegwood.causes.planning.next_actions`.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

#: So many actions are tried in every set.
MOST_TRIED = 12


@dataclass(frozen=True, kw_only=True)
class Repair:
    """
    A part that may be at fault.

    Attributes
    ----------
    id : str
    chance : float
        That it is, [1].
    look : float
        What it costs to look whether it is; of one that cannot be looked at, its repair.
    mend : float
        What it costs to repair it then.
    """

    id: str
    chance: float
    look: float
    mend: float = 0.0

    def __post_init__(self) -> None:
        if not 0 <= self.chance <= 1:
            raise ValueError(f"the chance of {self.id!r} is {self.chance:g}. Expected 0 to 1.")
        if not (self.look > 0 and self.mend >= 0):
            raise ValueError(f"{self.id!r}: a look costs something, and a mend not less than nothing.")


def by_ratio(repairs: Iterable[Repair]) -> list[Repair]:
    """The order of p/C, the greatest first: the best there is for one fault (HBR95)."""
    return sorted(repairs, key=lambda one: (-one.chance / one.look, one.id))


def by_odds_ratio(repairs: Iterable[Repair]) -> list[Repair]:
    """The order of p/(C(1-p)): the best for faults that come independently (Srinivas 1995)."""

    def rate(one: Repair) -> float:
        return one.chance / (one.look * (1 - one.chance)) if one.chance < 1 else float("inf")

    return sorted(repairs, key=lambda one: (-rate(one), one.id))


def expected_cost(order: Sequence[Repair], *, test: float = 0.0, service: float = 0.0) -> float:
    """
    What it costs until the device works, one fault being present (HBR95, equations 1 and 2).

    Parameters
    ----------
    order : sequence of Repair
    test : float
        What it costs to see after a repair whether the device works.
    service : float
        What it costs where the fault is none of these: to send it out, a donor, to give up.
    """
    left, cost = 1.0, 0.0
    for one in order:
        cost += left * one.look + one.chance * (one.mend + test)
        left -= one.chance
    return cost + max(left, 0.0) * service


def expected_cost_independent(order: Sequence[Repair]) -> float:
    """
    The same where faults come independently and at least one is present: each is put right when reached, and
    it ends when none is left.
    """
    none = 1.0
    for one in order:
        none *= 1 - one.chance
    if none >= 1:
        raise ValueError("none of these can be at fault.")
    cost, none_ahead = 0.0, none
    for one in order:
        cost += one.look * (1 - none_ahead)  # reached as long as something from here on is present
        none_ahead = none_ahead / (1 - one.chance) if one.chance < 1 else _none(order, one)
    return cost / (1 - none)


def _none(order: Sequence[Repair], after: Repair) -> float:
    none = 1.0
    for one in order[order.index(after) + 1 :]:
        none *= 1 - one.chance
    return none


def best_prefix(
    repairs: Iterable[Repair], *, service: float, test: float = 0.0
) -> tuple[list[Repair], float]:
    """How far to go in the order of p/C before calling service (HBR95); not always the best there is."""
    order = by_ratio(repairs)
    prefixes = [order[:k] for k in range(len(order) + 1)]
    found = [(expected_cost(one, test=test, service=service), len(one)) for one in prefixes]
    cost, k = min(found)
    return prefixes[k], cost


def best_subset(
    repairs: Sequence[Repair], *, service: float, test: float = 0.0
) -> tuple[list[Repair], float]:
    """
    Which to try before calling service: of all sets the best, each in the order of p/C.

    Raises
    ------
    ValueError
        If there are more than `MOST_TRIED`.
    """
    if len(repairs) > MOST_TRIED:
        raise ValueError(f"{len(repairs)} repairs are too many for every set. Expected up to {MOST_TRIED}.")
    order = by_ratio(repairs)
    sets = (list(one) for k in range(len(order) + 1) for one in itertools.combinations(order, k))
    found = [(expected_cost(one, test=test, service=service), one) for one in sets]
    cost, best = min(found, key=lambda one: (one[0], len(one[1])))
    return best, cost


@dataclass(frozen=True, kw_only=True)
class Cluster:
    """Repairs, and clusters within, that are reached by opening once; it stays open."""

    open: float
    inside: tuple[Repair | Cluster, ...]


def merged(whole: Cluster) -> list[tuple[Repair, float]]:
    """
    The best order where clusters lie within each other like a tree and need not be closed to test: from the
    innermost up, each cluster begins with the prefix of the highest rate (Ottosen and Jensen 2010).

    Returns
    -------
    list of (Repair, float)
        Each with what it costs at its place, the opening of what it opens with it.
    """
    return [step for block in _blocks(whole) for step in block]


def _blocks(cluster: Cluster) -> list[list[tuple[Repair, float]]]:
    """What is done without a break, the highest rate first."""
    blocks: list[list[tuple[Repair, float]]] = []
    for one in cluster.inside:
        blocks += [[(one, one.look)]] if isinstance(one, Repair) else _blocks(one)
    blocks.sort(key=_rate, reverse=True)
    if cluster.open <= 0 or not blocks:
        return blocks
    (first, cost), *rest = blocks[0]
    opened = [(first, cost + cluster.open), *rest]
    taken = 1
    while taken < len(blocks) and _rate(blocks[taken]) > _rate(opened):
        opened += blocks[taken]
        taken += 1
    return [opened, *blocks[taken:]]


def _rate(block: Sequence[tuple[Repair, float]]) -> float:
    return sum(one.chance for one, _ in block) / sum(cost for _, cost in block)


def cost_of(steps: Sequence[tuple[Repair, float]]) -> float:
    """What such an order costs until the fault is found, one being present."""
    left, cost = 1.0, 0.0
    for one, paid in steps:
        cost += left * paid + one.chance * one.mend
        left -= one.chance
    return cost


@dataclass(frozen=True, kw_only=True)
class WorthOfTest:
    """Cost without and with a test, what it saves before its own cost, and what knowing all would save."""

    without: float
    with_it: float
    saves: float
    knowing_all: float


def worth_of_test(
    chances: Mapping[str, float],
    costs: Mapping[str, Mapping[str, float]],
    says: Mapping[str, Mapping[str, float]],
    test: float,
) -> WorthOfTest:
    """
    The value of one test (EVOI) and of knowing which fault it is (EVPI).

    Parameters
    ----------
    chances : mapping
        Of each fault, [1].
    costs : mapping of mapping
        By what is done, by fault: what it then costs in all.
    says : mapping of mapping
        By answer, by fault: how often, [1].
    test : float
        What the test costs.
    """

    def least(weights: Mapping[str, float]) -> float:
        return min(sum(weights[fault] * of[fault] for fault in weights) for of in costs.values())

    without = least(chances)
    after = sum(least({one: chances[one] * of[one] for one in chances}) for of in says.values())
    knowing = sum(chance * min(of[fault] for of in costs.values()) for fault, chance in chances.items())
    return WorthOfTest(
        without=without, with_it=after + test, saves=without - after, knowing_all=without - knowing
    )
