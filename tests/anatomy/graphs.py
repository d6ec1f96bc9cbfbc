"""A published strip-down, drawn ones, and their cheapest removals by trying everything."""

from __future__ import annotations

import itertools
import random

from pegwood.anatomy.planning import Removal, StripDown

#: Jackson's eleven tasks, a published precedence graph (facts, decisions, section 5, seen).
TIMES = dict(zip("abcdefghijk", (6, 2, 5, 7, 1, 2, 3, 6, 5, 5, 4), strict=True))
BEFORE = {
    **dict.fromkeys("bcde", "a"),
    **{"f": "b", "g": "cde", "h": "f", "i": "g", "j": "h", "k": "ij"},
}
JACKSON = StripDown(
    {one: (Removal(after=frozenset(BEFORE.get(one, "")), cost=float(cost)),) for one, cost in TIMES.items()}
)


def drawn(seed: int, parts: int = 9, backwards: bool = False) -> StripDown:
    """A strip-down with alternatives; with `backwards` ways may wait for each other in rings."""
    rng = random.Random(seed)
    names = [chr(ord("a") + n) for n in range(parts)]
    ways = {}
    for n, name in enumerate(names):
        among = [one for one in (names if backwards else names[:n]) if one != name]
        several = rng.choice((1, 1, 2, 3)) if among else 1
        ways[name] = tuple(
            Removal(
                after=frozenset(rng.sample(among, min(len(among), rng.choice((0, 1, 1, 2))))),
                cost=float(rng.randint(1, 9)),
                tool=rng.choice("pqr"),
                side=rng.choice(("front", "base")),
            )
            for _ in range(several)
        )
    return StripDown(ways)


def cheapest(strip_down: StripDown, targets: set[str], off: frozenset[str]) -> float:
    """By trying every way of every part in every subset that can be taken apart step by step."""
    best = float("inf")
    names = sorted(strip_down.ways.keys() - off)
    for size in range(len(names) + 1):
        for some in itertools.combinations(names, size):
            if targets - off <= set(some):
                for ways in itertools.product(*(strip_down.ways[one] for one in some)):
                    cost = sum(way.cost for way in ways)
                    if cost < best and comes_apart(dict(zip(some, ways, strict=True)), off):
                        best = cost
    return best


def comes_apart(ways: dict[str, Removal], off: frozenset[str]) -> bool:
    done = set(off)
    while now := [part for part, way in ways.items() if part not in done and way.after <= done]:
        done.update(now)
    return done >= ways.keys()
