"""
Which parts come off, and by which way, at the least cost: an AND/OR graph, solved exactly.

A yes or no for every way; a way taken needs every part before it off; every part to be reached is off. Where
ways could wait for each other in a ring, a place in the order for each part of the ring keeps them apart.
Solved by HiGHS as SciPy carries it. (With alternatives the fewest removals are hard to come near in general:
Goldwasser and Motwani 1997, abstract; graphs of a camera's size are not.)
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from pegwood.anatomy.planning.problem import Removal, StripDown, Unreachable

#: How long the solver may look, [s]; a camera takes it some milliseconds.
LONGEST_S = 5.0


@dataclass(frozen=True, kw_only=True)
class Choice:
    """
    What comes off.

    Attributes
    ----------
    ways : mapping of str to Removal
        By part.
    cost : float
        Of all together, [min].
    gap : float
        How much cheaper another choice might at most be, as a share of the cost; 0 where this is proved the
        cheapest.
    """

    ways: Mapping[str, Removal]
    cost: float
    gap: float

    @property
    def is_optimal(self) -> bool:
        """Whether nothing cheaper exists."""
        return self.gap <= 1e-9


def choose(strip_down: StripDown, targets: Iterable[str], off: Iterable[str] = ()) -> Choice:
    """
    The cheapest set of removals that takes the targets off.

    Parameters
    ----------
    strip_down : StripDown
        The camera.
    targets : iterable of str
        Parts to take off.
    off : iterable of str
        Parts that are off already.

    Raises
    ------
    ValueError
        If a target is no part.
    Unreachable
        If it never comes off.
    """
    off = frozenset(off)
    wanted = [part for part in dict.fromkeys(targets) if part not in off]
    for part in wanted:
        if part not in strip_down.ways:
            raise ValueError(f"{part!r} is no part here.")
    can = strip_down.removable_with(off)
    if stuck := tuple(part for part in wanted if part not in can):
        raise Unreachable(stuck, f"{', '.join(stuck)}: never comes off.")
    needed = _needed(strip_down, wanted, off, can)
    if all(len(ways) == 1 for ways in needed.values()):
        taken = {part: ways[0] for part, ways in needed.items()}
        return Choice(ways=taken, cost=sum(way.cost for way in taken.values()), gap=0.0)
    return _solved(needed, wanted, off)


def _needed(
    strip_down: StripDown, wanted: Iterable[str], off: frozenset[str], can: frozenset[str]
) -> dict[str, tuple[Removal, ...]]:
    """Every part that some way to the targets may take off, with its possible ways."""
    found: dict[str, tuple[Removal, ...]] = {}
    ahead = list(wanted)
    while ahead:
        part = ahead.pop()
        if part in found or part in off:
            continue
        found[part] = tuple(way for way in strip_down.ways[part] if way.after <= can)
        ahead += [one for way in found[part] for one in way.after]
    return found


def _solved(needed: Mapping[str, tuple[Removal, ...]], wanted: Iterable[str], off: frozenset[str]) -> Choice:
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import coo_array

    taken = [(part, way) for part, ways in needed.items() for way in ways]
    of_part: dict[str, list[int]] = {}
    for column, (part, _) in enumerate(taken):
        of_part.setdefault(part, []).append(column)
    ring = _in_rings(needed, off)
    place_of = {part: len(taken) + n for n, part in enumerate(sorted(ring))}
    size, latest = len(taken) + len(place_of), float(len(ring))
    rows: list[dict[int, float]] = []
    least: list[float] = []
    for part in wanted:
        rows.append(dict.fromkeys(of_part[part], 1.0))
        least.append(1.0)
    for columns in of_part.values():
        rows.append(dict.fromkeys(columns, -1.0))
        least.append(-1.0)  # a part comes off once
    for column, (part, way) in enumerate(taken):
        for before in way.after - off:
            rows.append({**dict.fromkeys(of_part[before], 1.0), column: -1.0})
            least.append(0.0)
            if part in ring and before in ring:  # it stands later in the order, if this way is taken
                rows.append({place_of[part]: 1.0, place_of[before]: -1.0, column: -(latest + 1)})
                least.append(-latest)
    at = [(row, column, value) for row, held in enumerate(rows) for column, value in held.items()]
    matrix = coo_array(
        ([v for _, _, v in at], ([r for r, _, _ in at], [c for _, c, _ in at])), shape=(len(rows), size)
    )
    whole = np.concatenate([np.ones(len(taken)), np.zeros(len(place_of))])
    found = milp(
        c=np.array([way.cost for _, way in taken] + [0.0] * len(place_of)),
        constraints=LinearConstraint(matrix.tocsr(), lb=np.array(least)),
        integrality=whole,
        bounds=Bounds(0.0, np.where(whole > 0, 1.0, latest)),
        options={"time_limit": LONGEST_S, "mip_rel_gap": 0.0},
    )
    if found.x is None:
        raise Unreachable(tuple(wanted), f"{', '.join(wanted)}: no way in was found in {LONGEST_S:g} s.")
    ways = {part: way for column, (part, way) in enumerate(taken) if found.x[column] > 0.5}
    ways = _pruned(ways, wanted, off)
    cost = sum(way.cost for way in ways.values())
    least_cost = found.mip_dual_bound if found.mip_dual_bound is not None else cost
    gap = max(0.0, (cost - least_cost) / cost) if cost and found.status != 0 else 0.0
    return Choice(ways=ways, cost=cost, gap=gap)


def _pruned(ways: Mapping[str, Removal], wanted: Iterable[str], off: frozenset[str]) -> dict[str, Removal]:
    """Without parts that cost nothing and that nothing taken needs."""
    kept: dict[str, Removal] = {}
    ahead = list(wanted)
    while ahead:
        part = ahead.pop()
        if part not in kept and part not in off:
            kept[part] = ways[part]
            ahead += ways[part].after
    return kept


def _in_rings(needed: Mapping[str, tuple[Removal, ...]], off: frozenset[str]) -> set[str]:
    """Parts whose ways, all taken together, could wait for each other in a ring."""
    left = {
        part: {one for way in ways for one in way.after if one not in off} for part, ways in needed.items()
    }
    while True:
        ends = {part for part, after in left.items() if not after & left.keys()}
        heads = left.keys() - {one for after in left.values() for one in after}
        if not ends and not heads:
            return set(left)
        left = {part: after for part, after in left.items() if part not in ends and part not in heads}
