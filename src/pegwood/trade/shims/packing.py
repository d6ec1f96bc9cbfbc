"""The pack of fewest leaves that adds to a thickness, exactly, by a dynamic programme on whole numbers."""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass

from pegwood.trade.shims.stock import UNITS_PER_MM, Leaf

#: A pack is right if it is nearer than this to what was asked: half of 0.01 mm.
RIGHT = UNITS_PER_MM // 200
_INF = 1 << 40


@dataclass(frozen=True)
class Pack:
    """
    Leaves that lie together.

    Attributes
    ----------
    leaves : tuple of Leaf
        Each thickness with how many of it, thinnest first.
    """

    leaves: tuple[Leaf, ...]

    @property
    def units(self) -> int:
        """Thickness in tenths of a micrometre."""
        return sum(one.units * (one.count or 0) for one in self.leaves)

    @property
    def number(self) -> int:
        """How many leaves."""
        return sum(one.count or 0 for one in self.leaves)


@dataclass(frozen=True)
class Packing:
    """
    What the stock gives for a thickness.

    Attributes
    ----------
    wanted : int
        Tenths of a micrometre.
    best : Pack, optional
        Right to 0.01 mm; None if there is none.
    below, above : Pack, optional
        Where there is none: the next thinner and the next thicker pack.
    """

    wanted: int
    best: Pack | None
    below: Pack | None = None
    above: Pack | None = None


def packed(wanted: int, stock: Sequence[Leaf]) -> Packing:
    """
    The pack for a thickness: fewest leaves, then fewest different thicknesses.

    Parameters
    ----------
    wanted : int
        Tenths of a micrometre.
    stock : sequence of Leaf
        What is at hand, each thickness once (mm and inch apart).

    Returns
    -------
    Packing
        A pack that meets the thickness to the tenth of a micrometre goes before one that meets it within
        0.005 mm, which only foils by the inch or of half hundredths make needful.

    Notes
    -----
    Bounded knapsack: for each thickness in turn, the best way to every sum so far, reckoned in the greatest
    common measure of all thicknesses. Every sum up to one leaf past the wanted one is looked at, so the
    answer is proved, not searched for.
    """
    measure = math.gcd(*(leaf.units for leaf in stock))
    reach = (wanted + max(max(leaf.units for leaf in stock), RIGHT)) // measure
    ways = _ways(reach, measure, stock)
    sums = [size for size in range(1, reach + 1) if ways[-1][size] < _INF]
    off = {size: size * measure - wanted for size in sums}
    right = [size for size in sums if off[size] == 0] or [size for size in sums if abs(off[size]) < RIGHT]
    if right:
        best = min(right, key=lambda size: (ways[-1][size], abs(off[size])))
        return Packing(wanted, _walked_back(best, measure, stock, ways))
    below = max((size for size in sums if off[size] < 0), default=None)
    above = min((size for size in sums if off[size] > 0), default=None)
    return Packing(
        wanted,
        None,
        None if below is None else _walked_back(below, measure, stock, ways),
        None if above is None else _walked_back(above, measure, stock, ways),
    )


#: Leaves and thicknesses of a way in one number, so that comparing it compares leaves first.
_PER_LEAF = 1 << 10


def _ways(reach: int, measure: int, stock: Sequence[Leaf]) -> list[list[int]]:
    """After each thickness: the cost of the best way to every sum, leaves times 1024 plus thicknesses."""
    table = [[0] + [_INF] * reach]
    for leaf in stock:
        count = reach if leaf.count is None else leaf.count
        table.append(_with(table[-1], leaf.units // measure, count))
    return table


def _with(before: list[int], size: int, count: int) -> list[int]:
    """The best ways once up to so many leaves of one more thickness may be laid too."""
    after = before[:]
    for rest in range(min(size, len(before))):
        # ways to sums that are a whole number of leaves apart, cheapest first, none out of reach
        window: deque[tuple[int, int]] = deque()
        for copies, total in enumerate(range(rest, len(before), size)):
            while window and window[0][0] < copies - count:
                window.popleft()
            if window:
                after[total] = min(after[total], window[0][1] + copies * _PER_LEAF + 1)
            if before[total] < _INF:
                here = before[total] - copies * _PER_LEAF
                while window and window[-1][1] >= here:
                    window.pop()
                window.append((copies, here))
    return after


def _walked_back(total: int, measure: int, stock: Sequence[Leaf], ways: list[list[int]]) -> Pack:
    leaves = []
    for place in range(len(stock), 0, -1):
        leaf, cost = stock[place - 1], ways[place][total]
        size = leaf.units // measure
        most = total // size if leaf.count is None else min(leaf.count, total // size)
        copies = next(
            n
            for n in range(most + 1)
            if ways[place - 1][total - n * size] + (n * _PER_LEAF + 1 if n else 0) == cost
        )
        if copies:
            leaves.append(Leaf(leaf.units, copies, leaf.inch))
        total -= copies * size
    return Pack(tuple(reversed(leaves)))
