"""The way in to 6 parts of 150 with alternatives, drawn and of a family, and what else is in reach then."""

from __future__ import annotations

import random
from statistics import median
from time import perf_counter
from typing import Any

CAMERAS = 15


def drawn(rng: random.Random, parts: int = 150, several: int = 20) -> Any:
    """A strip-down as large as a camera's: window 18, up to two parts before, some with two or three ways."""
    from pegwood.anatomy.planning import Removal, StripDown

    with_several = set(rng.sample(range(10, parts), several))
    ways = {}
    for n in range(parts):
        near = [f"p{m}" for m in range(max(0, n - 18), n)]
        common = rng.sample(near, min(len(near), rng.choice((0, 1, 2))))
        others = [rng.sample(near, min(len(near), rng.choice((1, 2)))) for _ in range(rng.choice((2, 3)))]
        ways[f"p{n}"] = tuple(
            Removal(
                after=frozenset([*common, *more]),
                cost=float(rng.randint(1, 12)),
                tool=rng.choice(("screwdriver", "spanner", "tweezers", "fingers")),
                side=rng.choice(("front", "top", "base")),
            )
            for more in (others if n in with_several else [[]])
        )
    return StripDown(ways)


def measure() -> list[dict[str, Any]]:
    """Median over some cameras, choice and order; every choice proved the cheapest."""
    from pegwood.anatomy.planning import StripDown, choose, in_order

    rng = random.Random(5)
    choose(drawn(random.Random(1)), ["p140"])  # once, to have SciPy imported
    chosen, ordered, closed = [], [], []
    for _ in range(CAMERAS):
        camera = drawn(rng)
        targets = rng.sample(sorted(camera.ways), 6)
        began = perf_counter()
        found = choose(camera, targets)
        then = perf_counter()
        in_order(found.ways)
        chosen.append(then - began)
        ordered.append(perf_counter() - then)
        assert found.is_optimal
        plain = StripDown({part: ways[:1] for part, ways in camera.ways.items()})
        began = perf_counter()
        choose(plain, targets)
        closed.append(perf_counter() - began)
    planned, reached = _of_a_family(random.Random(6))
    baseline = median(closed)
    return [
        {
            "name": name,
            "value": max(times),
            "baseline": baseline,
            "against": "the closure without alternatives",
            "ratio": max(times) / baseline,
            "budget": budget,
            "budget_is": "value",
        }
        for name, times, budget in (
            ("way in to 6 of 150 parts, the slowest choice", chosen, 0.2),
            ("its order, the slowest", ordered, None),
            ("a family's whole plan to 6 parts, with its alternatives, the slowest", planned, None),
            ("while you are in there, the slowest", reached, 0.02),
        )
    ]


def _of_a_family(rng: random.Random) -> tuple[list[float], list[float]]:
    """Times of plans of the family with the most parts, and of finding what else is in reach, [s]."""
    from pegwood.anatomy.construction import constructions
    from pegwood.anatomy.planning.in_reach import in_reach
    from pegwood.anatomy.planning.plan import plan

    family = max(constructions().values(), key=lambda one: len(one.parts))
    can = sorted(family.strip_down().removable)
    in_reach(family, plan(family, can[:1]))  # once, to have the trade's tables read
    planned, reached = [], []
    for _ in range(CAMERAS):
        targets = rng.sample(can, 6)
        began = perf_counter()
        found = plan(family, targets)
        then = perf_counter()
        in_reach(family, found)
        planned.append(then - began)
        reached.append(perf_counter() - then)
    return planned, reached
