"""
Assemblies and what they come apart into: all of them, how many ways there are, and which is worth the work.

The AND/OR graph of subassemblies (Homem de Mello and Sanderson): a node for every set of parts that hangs
together by its contacts, an arc for every separation of one into two such sets. What is worth doing with a
donor is Lambert's linear programme over such a graph: how often each separation is done, none more often than
what it takes apart is there; revenues of what remains less the cost of the separations, stopping anywhere.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from math import comb

Assembly = frozenset[str]
#: Parts whose subsets are gone through, and separations that are listed or solved for: a second or two.
MOST_PARTS = 12
MOST_SEPARATIONS = 30_000


class TooLarge(ValueError):
    """More separations than are listed or solved for."""


@dataclass(frozen=True)
class Separation:
    """
    An assembly taken apart into two.

    Attributes
    ----------
    into : tuple of two frozenset of str
        The two, which have no part in common.
    cost : float
        Minutes, or money: the same as the worth, and so for all.

    Raises
    ------
    ValueError
        If one is empty, they share a part, or the cost is no number from 0 on.
    """

    into: tuple[Assembly, Assembly]
    cost: float = 0.0

    def __post_init__(self) -> None:
        one, other = self.into
        if not one or not other or one & other:
            raise ValueError("an assembly comes apart into two that hold something and share nothing.")
        if not (math.isfinite(self.cost) and self.cost >= 0):
            raise ValueError(f"a cost of {self.cost:g} cannot be. Expected 0 or more.")

    @property
    def whole(self) -> Assembly:
        """What is taken apart."""
        return self.into[0] | self.into[1]


@dataclass(frozen=True)
class AssemblyGraph:
    """
    All subassemblies that hang together, and all separations.

    Attributes
    ----------
    nodes : tuple of frozenset of str
        The smallest first.
    arcs : tuple of Separation
        Of the smallest first.
    """

    nodes: tuple[Assembly, ...]
    arcs: tuple[Separation, ...]

    def plan_trees(self) -> int:
        """In how many ways the whole comes apart to its parts; in which order is not asked."""
        return self._counted(lambda *_: 1)

    def sequences(self) -> int:
        """In how many sequences, where it counts too which of two lies on the bench is gone on with."""
        return self._counted(lambda one, other: comb(len(one) + len(other) - 2, len(one) - 1))

    def _counted(self, shuffled: Callable[[Assembly, Assembly], int]) -> int:
        ways = {node: int(len(node) == 1) for node in self.nodes}
        for arc in self.arcs:
            one, other = arc.into
            ways[arc.whole] += ways[one] * ways[other] * shuffled(one, other)
        return ways[self.nodes[-1]]


def assembly_graph(contacts: Mapping[str, Iterable[str]]) -> AssemblyGraph:
    """
    The graph of an assembly from which part touches which.

    Parameters
    ----------
    contacts : mapping of str to iterable of str
        For each part those that it touches; one direction is enough.

    Raises
    ------
    ValueError
        If there is no part, or not all hang together.
    TooLarge
        If there are more than `MOST_PARTS` parts or `MOST_SEPARATIONS` separations.
    """
    names = sorted({*contacts, *(one for touched in contacts.values() for one in touched)})
    if len(names) > MOST_PARTS:
        raise TooLarge(
            f"{len(names)} parts are too many to list all they come apart into; {MOST_PARTS} can be."
        )
    place = {name: n for n, name in enumerate(names)}
    touches = [0] * len(names)
    for name, touched in contacts.items():
        for one in touched:
            touches[place[name]] |= 1 << place[one]
            touches[place[one]] |= 1 << place[name]
    whole = (1 << len(names)) - 1
    if not names or not _hangs_together(whole, touches):
        raise ValueError("these parts do not hang together. Give the contacts of one assembly.")
    found, ahead = {whole}, [whole]
    arcs: list[tuple[int, int]] = []
    while ahead:
        node = ahead.pop()
        some = rest = node & (node - 1)
        while some:  # every set of the rest: the first part stays on the other side
            other = node & ~some
            if _hangs_together(some, touches) and _hangs_together(other, touches):
                arcs.append((other, some))
                ahead += {some, other} - found
                found |= {some, other}
                if len(arcs) > MOST_SEPARATIONS:
                    raise TooLarge(f"{len(names)} parts come apart in more than {MOST_SEPARATIONS:,} ways.")
            some = (some - 1) & rest

    def named(mask: int) -> Assembly:
        return frozenset(name for n, name in enumerate(names) if mask >> n & 1)

    arcs.sort(key=lambda arc: ((arc[0] | arc[1]).bit_count(), arc))
    return AssemblyGraph(
        nodes=tuple(named(node) for node in sorted(found, key=lambda one: (one.bit_count(), one))),
        arcs=tuple(Separation((named(one), named(other))) for one, other in arcs),
    )


def _hangs_together(mask: int, touches: list[int]) -> bool:
    found = ahead = mask & -mask
    while ahead:
        new = touches[(ahead & -ahead).bit_length() - 1] & mask & ~found
        ahead = ahead & (ahead - 1) | new
        found |= new
    return found == mask


@dataclass(frozen=True, kw_only=True)
class Best:
    """
    What is worth doing with an assembly.

    Attributes
    ----------
    worth : float
        Of all that is left, less the separations.
    separations : tuple of Separation
        What is done, in an order in which it can be; empty where the whole is best left alone.
    left : tuple of frozenset of str
        What lies on the bench then.
    """

    worth: float
    separations: tuple[Separation, ...]
    left: tuple[Assembly, ...]


def best_worth(whole: Assembly, separations: Iterable[Separation], worth: Mapping[Assembly, float]) -> Best:
    """
    How far an assembly is worth taking apart.

    Parameters
    ----------
    whole : frozenset of str
        What there is.
    separations : iterable of Separation
        All that can be done.
    worth : mapping of frozenset of str to float
        What a subassembly or part brings; nothing where it is not named.

    Raises
    ------
    ValueError
        If there is nothing, or a worth is no number.
    TooLarge
        If there are more than `MOST_SEPARATIONS` separations.

    Notes
    -----
    A yes or no for each separation; an assembly comes apart at most as often as it is there (Lambert's linear
    programme, whose corners are whole numbers; solved by HiGHS).
    """
    done = tuple(separations)
    if not whole:
        raise ValueError("there is nothing to take apart.")
    if len(done) > MOST_SEPARATIONS:
        raise TooLarge(f"{len(done):,} separations are too many to weigh; {MOST_SEPARATIONS:,} can be.")
    if strange := [one for one, value in worth.items() if not math.isfinite(value)]:
        raise ValueError(f"the worth of {', '.join(sorted(strange[0]))} is no number.")
    chosen = _chosen(whole, done, worth) if done else []
    there, order = [whole], []
    while now := [one for one in chosen if one.whole in there and one not in order]:
        there.remove(now[0].whole)
        there += now[0].into
        order.append(now[0])
    total = sum(worth.get(one, 0.0) for one in there) - sum(one.cost for one in order)
    return Best(worth=total, separations=tuple(order), left=tuple(there))


def _chosen(
    whole: Assembly, done: tuple[Separation, ...], worth: Mapping[Assembly, float]
) -> list[Separation]:
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import coo_array

    nodes = {node: n for n, node in enumerate({whole, *(x for one in done for x in (one.whole, *one.into))})}
    at = [(nodes[one.whole], column, 1.0) for column, one in enumerate(done)]
    at += [(nodes[half], column, -1.0) for column, one in enumerate(done) for half in one.into]
    rows, columns, values = (np.array(x) for x in zip(*at, strict=True))
    there = np.zeros(len(nodes))
    there[nodes[whole]] = 1.0
    gain = [sum(worth.get(x, 0.0) for x in one.into) - worth.get(one.whole, 0.0) - one.cost for one in done]
    found = milp(
        c=-np.array(gain),
        constraints=LinearConstraint(
            coo_array((values, (rows, columns)), shape=(len(nodes), len(done))).tocsr(), ub=there
        ),
        integrality=np.ones(len(done)),
        bounds=Bounds(0.0, 1.0),
        options={"mip_rel_gap": 0.0},
    )
    return [one for column, one in enumerate(done) if found.x[column] > 0.5]
