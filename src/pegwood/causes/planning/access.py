"""
What it costs to lay parts open, for all parts at once: one way settled for each, and what comes off with it.

The cheapest choice of ways for a set of parts takes milliseconds (`pegwood.anatomy.planning.choose`), and
weighing what to open asks for thousands of sets. So each part gets one way, the one by which it is reached
the cheapest on its own, everything on the way there counted once; then a set costs what its parts bring
along, each once. That is never less than the cheapest choice, and mostly the same.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.anatomy.planning import StripDown

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True)
class Access:
    """
    Parts that can still be taken off, and what comes off for each.

    Attributes
    ----------
    parts : tuple of str
    at : mapping of str to int
        The place of each in `parts`.
    costs : array, shape (n_parts,)
        Of each part's own step: minutes, and what its risks cost on average, [min].
    brings : array of bool, shape (n_parts, n_parts)
        `brings[i, j]`: j comes off when i is to; each part brings itself.
    ways : tuple of str
        By which way each part comes off, by its name.
    """

    parts: tuple[str, ...]
    at: dict[str, int]
    costs: Floats
    brings: Bools
    ways: tuple[str, ...]

    def alone(self) -> Floats:
        """What each part costs by itself, [min]; shape (n_parts,)."""
        return np.asarray(self.brings @ self.costs, dtype=np.float64)

    def with_all(self, parts: Iterable[str]) -> Bools:
        """All that comes off for some parts; those that are off already, or never come off, bring nothing."""
        rows = [self.at[part] for part in parts if part in self.at]
        return np.any(self.brings[rows], axis=0) if rows else np.zeros(len(self.parts), dtype=bool)


def access(strip_down: StripDown, off: Iterable[str] = ()) -> Access:
    """
    What it costs to lay parts open once some are off.

    Parts are settled in the order of their cost (as shortest paths are, Dijkstra 1959; for ways that need
    several parts at once, Knuth 1977; memory): so no two can wait for each other.
    """
    off = frozenset(off)
    ways = [
        (part, way.cost, tuple(one for one in way.after if one not in off), way.name)
        for part, those in strip_down.ways.items()
        if part not in off
        for way in those
    ]
    waiting: dict[str, list[int]] = {}
    missing = [len(after) for _, _, after, _ in ways]
    for n, (_, _, after, _) in enumerate(ways):
        for one in after:
            waiting.setdefault(one, []).append(n)
    own: dict[str, float] = {}
    by: dict[str, str] = {}
    bit: dict[str, int] = {}
    with_it: dict[str, int] = {}
    cost_of: list[float] = []
    ahead: list[tuple[float, str, int]] = []

    def total(mask: int) -> float:
        found = 0.0
        while mask:
            found += cost_of[(mask & -mask).bit_length() - 1]
            mask &= mask - 1
        return found

    def reached(n: int) -> None:
        part, cost, after, _ = ways[n]
        if part not in own:
            mask = 0
            for one in after:
                mask |= with_it[one]
            heapq.heappush(ahead, (cost + total(mask), part, n))

    for n, count in enumerate(missing):
        if not count:
            reached(n)
    while ahead:
        _, part, n = heapq.heappop(ahead)
        if part in own:
            continue
        _, cost, after, named = ways[n]
        bit[part], own[part], by[part] = 1 << len(bit), cost, named
        cost_of.append(cost)
        mask = bit[part]
        for one in after:
            mask |= with_it[one]
        with_it[part] = mask
        for other in waiting.get(part, ()):
            missing[other] -= 1
            if not missing[other]:
                reached(other)
    parts = tuple(own)
    width = (len(parts) + 7) // 8
    packed = b"".join(with_it[part].to_bytes(width, "little") for part in parts)
    bits = np.unpackbits(
        np.frombuffer(packed, dtype=np.uint8).reshape(len(parts), width), axis=1, bitorder="little"
    )
    brings = bits[:, : len(parts)].astype(bool)
    return Access(
        parts=parts,
        at={part: n for n, part in enumerate(parts)},
        costs=np.array(cost_of, dtype=np.float64),
        brings=brings,
        ways=tuple(by.values()),
    )
