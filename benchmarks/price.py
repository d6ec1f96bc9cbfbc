"""A price of 10,000 draws for the family with the most faults, and how often what it promises holds."""

from __future__ import annotations

import math
import random
from statistics import median
from time import process_time
from typing import Any

RUNS = 5
JOBS = 2_000
#: Draws of each of the prices that are held against a job.
DRAWS = 4_000
FAMILIES = ("folding-35-leaf-rangefinder", "reflex-35-cloth", "twin-lens-reflex", "folding-roll-front-cell")


def measure() -> list[dict[str, Any]]:
    """The time of one price, and how far from 80 % 'not more than' holds over simulated jobs."""
    return [_time(), _holds(JOBS)]


def set_up(family: str) -> tuple[Any, Any, Any, Any, Any]:
    """A family's causes and construction, terms, part prices, and the bench that repairs one by one."""
    from fractions import Fraction

    from benchmarks._simulated_repairs import Bench, Rates
    from pegwood.anatomy.construction import constructions
    from pegwood.anatomy.parts import Minutes
    from pegwood.causes.family_net import family_causes
    from pegwood.causes.known import knowledge
    from pegwood.pricing.money import Money
    from pegwood.pricing.quote import PartPrice, Terms

    built = constructions()[family]
    causes = family_causes(built, knowledge())
    rng = random.Random(family)
    named = sorted({part for one in causes.faults.values() for mend in one.mends for part in mend.parts})
    figures = {}
    for part in named:
        likely = rng.randrange(400, 4000)
        figures[part] = (likely // 2, likely, 3 * likely)
    parts = {
        part: PartPrice(
            low=Money(low, "EUR"),
            likely=Money(likely, "EUR"),
            high=Money(high, "EUR"),
            wait_days=(3, 10, 40),
        )
        for part, (low, likely, high) in figures.items()
    }
    every_job = Minutes(low=20, likely=30, high=60)
    terms = Terms(
        per_hour=Money(4800, "EUR"),
        bench_per_hour=Money(1200, "EUR"),
        consumables=Money(350, "EUR"),
        per_mend=Money(80, "EUR"),
        every_job=every_job,
        tax=Fraction(21, 100),
    )
    rates = Rates(minute=100.0, job=350.0, mend=80.0, parts=figures, every_job=every_job)
    return causes, built, terms, parts, Bench(causes, built, rates)


def _time() -> dict[str, Any]:
    """The processor's time, so that what else runs on the machine counts less."""
    from pegwood.causes.case import Case
    from pegwood.pricing.quote import quote

    causes, built, terms, parts, bench = set_up("reflex-35-cloth")
    case = Case(told=frozenset({"unserved-long"}))
    quote(causes, built, case, terms, parts=parts)  # tables that are kept from one price to the next
    ours, theirs = [], []
    rng = random.Random(1)
    for seed in range(RUNS):
        began = process_time()
        quote(causes, built, case, terms, parts=parts, seed=seed)
        ours.append(process_time() - began)
        began = process_time()
        for _ in range(100):
            bench.repair(bench.camera(rng), rng)
        theirs.append((process_time() - began) * 100)
    return {
        "name": f"price with 10,000 draws, {len(causes.faults)} faults, what drives and narrows it: CPU",
        "value": median(ours),
        "baseline": median(theirs),
        "against": "the same jobs repaired one by one in plain Python (100, times 100)",
        "ratio": median(ours) / median(theirs),
        "budget": 0.200,
        "budget_is": "value",
    }


def held(jobs: int, draws: int = DRAWS) -> dict[str, float]:
    """How often each figure held over so many jobs: drawn, looked at, priced, repaired."""
    from pegwood.causes.case import Case
    from pegwood.causes.story import COMMON, TRACED
    from pegwood.pricing.quote import quote

    benches = [set_up(family) for family in FAMILIES]
    rng = random.Random(7)
    count = dict.fromkeys(("usual", "not_more_than", "worst"), 0)
    for n in range(jobs):
        causes, built, terms, parts, bench = benches[n % len(benches)]
        camera = bench.camera(rng)
        said = [item for item in COMMON if item not in TRACED or rng.random() < 0.5]
        outside = [sign.id for sign in causes.signs.values() if not sign.off]
        answers = {
            sign: tuple(float(level == camera.says[sign]) for level in range(len(causes.signs[sign].answers)))
            for sign in rng.sample(outside, rng.randint(0, min(15, len(outside))))
        }
        case = Case(
            told=frozenset(item for item in said if item in camera.story),
            denied=frozenset(item for item in said if item not in camera.story),
            answers=answers,
        )
        price = quote(causes, built, case, terms, parts=parts, draws=draws, seed=n, most_looks=0).price
        paid = bench.repair(camera, rng) * float(1 + terms.tax)
        for name in count:
            count[name] += paid <= getattr(price, name).money.minor
    return {name: held / jobs for name, held in count.items()}


def _holds(jobs: int) -> dict[str, Any]:
    found = held(jobs)
    told = ", ".join(f"{name.replace('_', ' ')} in {100 * share:.1f} %" for name, share in found.items())
    off, one = 100 * abs(found["not_more_than"] - 0.8), 100 * math.sqrt(0.16 / jobs)
    return {
        "name": f"over {jobs:,} simulated jobs held: {told}; 'not more than' off 80 % by",
        "value": off,
        "baseline": one,
        "against": "one standard deviation of so many jobs",
        "ratio": off / one,
        "unit": "points",
        "budget": 2.0,
        "budget_is": "value",
    }
