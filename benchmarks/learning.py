"""
Learning from closed jobs: how long it takes, and whether it finds what a simulated world is like.

The worlds' priors, leaks and links are drawn from the starting knowledge as the method takes it (Beta and
Dirichlet of ten jobs), so that a 90 % interval has to hold nine times in ten.
"""

from __future__ import annotations

import math
from time import process_time
from typing import Any

import numpy as np

from benchmarks._simulated_jobs import World, drawn, world_of

LESSONS, WORLDS, JOBS, FRESH = 2000, 12, 300, 40
ASKED, RULED = 0.4, 0.7
SEED = 6


def measure() -> list[dict[str, Any]]:
    """Time for the richest family; of the smallest, how often intervals fail and what is gained."""
    took, weighed = _time()
    missed, before, after = _recovered()
    return [
        {
            "name": f"learning anew from {LESSONS} jobs of the richest family, processor time",
            "value": took,
            "baseline": weighed,
            "against": "weighing one of those jobs",
            "ratio": took / weighed,
            "budget": 5.0,
            "budget_is": "value",
        },
        {
            "name": f"priors outside their 90 % interval, {WORLDS} worlds of {JOBS} jobs",
            "unit": "share",
            "value": missed,
            "baseline": 0.1,
            "against": "what is stated",
            "ratio": missed / 0.1,
            "budget": 1.4,
        },
        {
            "name": "log score per fault on fresh cameras, learned",
            "unit": "nat",
            "value": after,
            "baseline": before,
            "against": "the starting knowledge",
            "ratio": after / before,
            "budget": 1.0,
        },
    ]


def _case(world: World, one: Any, rng: np.random.Generator, ruled: float) -> Any:
    from pegwood.causes.case import Case

    return Case(
        told=frozenset(one.told),
        denied=frozenset(one.denied),
        rulings={fault: there for fault, there in one.faults.items() if rng.random() < ruled},
        answers={
            sign: tuple(float(n == at) for n in range(len(world.leak[sign])))
            for sign, at in one.answers.items()
        },
    )


def _family(largest: bool) -> Any:
    from pegwood.anatomy.construction import constructions
    from pegwood.causes.family_net import family_causes
    from pegwood.causes.known import knowledge

    every = [family_causes(one, knowledge()) for one in constructions().values()]
    return (max if largest else min)(every, key=lambda one: len(one.signs))


def _time() -> tuple[float, float]:
    from dataclasses import replace

    from pegwood.causes.learning import Moved, learn, lesson
    from pegwood.causes.story import COMMON

    rng = np.random.default_rng(SEED)
    causes = _family(largest=True)
    world = world_of(causes, COMMON)
    began = process_time()
    some = [
        lesson(causes, str(n), _case(world, drawn(world, rng, 0.2), rng, 0.4)) for n in range(LESSONS // 40)
    ]
    weighed = (process_time() - began) / len(some)

    def unlike(of: Moved) -> Moved:  # no two jobs are alike, so nothing can be put together
        return Moved(before=of.before, after=min(1 - 1e-9, of.after * (1 + 1e-3 * rng.random())))

    lessons = [
        replace(one, key=f"{n}-{one.key}", moved={fault: unlike(of) for fault, of in one.moved.items()})
        for n in range(40)
        for one in some
    ]
    began = process_time()
    learn(causes, lessons)
    return process_time() - began, weighed


def _recovered() -> tuple[float, float, float]:
    from pegwood.causes.learning import learn, lesson
    from pegwood.causes.story import COMMON
    from pegwood.causes.weighing import weigh

    causes = _family(largest=False)
    priors = missed = 0
    scores = np.zeros(2)
    for n in range(WORLDS):
        rng = np.random.default_rng((SEED, n))
        world = _drawn_world(world_of(causes, COMMON), rng)
        lessons = [
            lesson(causes, str(job), _case(world, drawn(world, rng, ASKED), rng, RULED))
            for job in range(JOBS)
        ]
        found = learn(causes, lessons)
        for one in found.changes:
            if one.what == "prior":
                low, high = one.interval[0]
                priors += 1
                missed += not low <= world.prior[one.of[0]] <= high
        for _ in range(FRESH):
            camera = drawn(world, rng, ASKED)
            case = _case(world, camera, rng, 0)
            for at, knows in enumerate((causes, found.causes)):
                told = weigh(knows, case).chances
                scores[at] -= sum(
                    math.log(max(1e-6, told[fault] if there else 1 - told[fault]))
                    for fault, there in camera.faults.items()
                )
    before, after = scores / (WORLDS * FRESH * len(causes.faults))
    return missed / priors, float(before), float(after)


def _drawn_world(world: World, rng: np.random.Generator) -> World:
    def row(chances: list[float]) -> list[float]:
        return list(map(float, rng.dirichlet(10 * np.array(chances) + 1e-12)))

    return World(
        common=world.common,
        prior={
            fault: min(0.999, max(1e-9, rng.beta(10 * p, 10 * (1 - p)))) for fault, p in world.prior.items()
        },
        raised=world.raised,
        leak={sign: row(p) for sign, p in world.leak.items()},
        shows={
            sign: {one: row(p) if one in world.prior else p for one, p in of.items()}
            for sign, of in world.shows.items()
        },
    )
