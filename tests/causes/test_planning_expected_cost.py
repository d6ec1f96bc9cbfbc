"""The planner's expected costs, against going through every set of parts and every course of a small job."""

from __future__ import annotations

import itertools
import random

import numpy as np
import pytest

from causes.small_cameras import EveryWay, causes, construction, fault, part, sign
from pegwood.anatomy.construction import constructions
from pegwood.anatomy.planning import choose
from pegwood.causes.planning.access import access
from pegwood.causes.planning.best_opening import best_opening, best_openings
from pegwood.causes.planning.expected_cost import FOR_ESTIMATE, OVERSIGHTS, Bench, ExpectedCost, Prices
from pegwood.causes.planning.pairs import LEAST_WORTH


def closed(rng, size):
    """What a part brings along, at random, closed under it."""
    brings = np.eye(size, dtype=bool)
    for i in range(1, size):
        for j in rng.sample(range(i), min(i, rng.randint(0, 2))):
            brings[i] |= brings[j]
    return brings


def best_by_trying(worth, brings):
    found = 0.0
    for chosen in itertools.product((False, True), repeat=len(worth)):
        mask = np.array(chosen)
        if np.array_equal(mask, brings[mask].any(axis=0) if mask.any() else mask):
            found = max(found, float(worth[mask].sum()))
    return found


def test_the_best_set_to_open_is_the_best_of_all_sets():
    rng = random.Random(1)
    for _ in range(25):
        brings = closed(rng, 9)
        worth = np.array([rng.uniform(-20, 15) for _ in range(9)])
        gain, opened = best_opening(worth, brings)
        assert gain == pytest.approx(
            best_by_trying(worth, brings), abs=0.01
        )  # cut in thousandths of a minute
        assert gain == pytest.approx(worth[opened].sum())
        assert np.array_equal(opened, brings[opened].any(axis=0))


def test_what_answers_change_it_to_stays_near_the_least_cut():
    rng, short, total = random.Random(2), 0.0, 0.0
    for _ in range(10):
        brings = closed(rng, 40)
        worth = np.array([rng.uniform(-12, 8) for _ in range(40)])
        _, start = best_opening(worth, brings)
        cases = np.tile(worth, (30, 1))
        for case in cases:
            for n in rng.sample(range(40), 5):
                case[n] += rng.uniform(-25, 25)
        found = best_openings(cases, brings, start, cases > worth)
        exact = np.array([best_opening(case, brings)[0] for case in cases])
        assert np.all(found <= exact + 0.05)
        short, total = short + float((exact - found).sum()), total + float(exact.sum())
    assert short < 0.01 * total


@pytest.mark.parametrize("family", ["reflex-35-cloth", "compact-35-programmed-leaf", "twin-lens-reflex"])
def test_one_settled_way_for_each_part_costs_little_more_than_the_cheapest_choice(family):
    strip_down = constructions()[family].strip_down()
    ways, rng, excess = access(strip_down), random.Random(3), []
    for size in (1, 3, 8) * 4:
        parts = rng.sample(ways.parts, size)
        least = choose(strip_down, parts).cost
        excess.append(float(ways.with_all(parts) @ ways.costs) / least - 1)
    assert min(excess) > -1e-9
    assert float(np.mean(excess)) < 0.08


def drawn(rng):
    """A camera with a cover over two of three parts; three faults, three looks, one below the cover."""
    built = construction(
        part("cover", rng.uniform(2, 15)),
        part("train", rng.uniform(2, 15), "cover"),
        part("latch", rng.uniform(2, 15), "cover"),
        part("base", rng.uniform(2, 25)),
    )
    faults = [
        fault(name, where, rng.uniform(0.03, 0.5))
        for name, where in (("gum", "train"), ("wear", "latch"), ("bent", "base"))
    ]

    def strengths(count):
        return {one: rng.uniform(0.3, 0.97) for one in rng.sample(["gum", "wear", "bent"], count)}

    signs = [
        sign("hear", rng.uniform(0.3, 4), 0.05, strengths(2)),
        sign("feel", rng.uniform(0.3, 4), 0.05, strengths(1)),
        sign("seen", rng.uniform(0.3, 2), 0.02, strengths(2), off=("cover",)),
    ]
    return causes(faults, signs), built


def planned(costs, every, bench, weights, looked_at, off):
    """The expected cost of doing what the planner says next, until it stops."""
    mass = sum(weights.values())
    for oversight in OVERSIGHTS:
        now = costs.on(bench, oversight)
        looks = [one for one in now.looks() if one.worth > LEAST_WORTH]
        options = sorted([*looks, *now.openings(1)], key=lambda one: one.rate)
        if options:
            break
    else:
        return every.left_closed(weights, looked_at)
    first = options[-1]
    total, names = 0.0, [one.id for one in every.faults]
    if first in looks:
        cost, then, split = every.outcomes(("look", first.sign), weights, off)
        for answer, held in split.items():
            seen = (0.0, 1.0) if answer else (1.0, 0.0)
            after = Bench(seen={**bench.seen, first.sign: seen}, known=bench.known, off=frozenset(then))
            total += planned(costs, every, after, held, looked_at, then)
        return mass * cost + total
    (target, *_), then, known = first.targets, off, bench.known
    cost, then, split = every.outcomes(("open", target), weights, off)
    here = [name for name, of in zip(names, every.faults, strict=True) if of.part == target]
    for seen_there, held in split.items():
        found = {**known, **dict(zip(here, seen_there, strict=True))}
        after = Bench(seen=bench.seen, known=found, off=frozenset(then))
        total += planned(costs, every, after, held, looked_at | {target}, then)
    return mass * cost + total


@pytest.mark.parametrize("comeback", [30.0, 60.0])
def test_the_planner_is_hardly_dearer_than_the_best_course_of_all(comeback):
    rng, excess, unasked = random.Random(5), [], []
    for _ in range(8):
        of, built = drawn(rng)
        prices = Prices(look_at_part=1.5, comeback=comeback)
        every = EveryWay(of, built, 1.5, comeback)
        costs = ExpectedCost(of, built, prices=prices)
        mine = planned(costs, every, Bench(), every.prior(), set(), frozenset())
        least = every.least()
        now = costs.on(Bench())
        assert mine >= least - 1e-6
        excess.append(mine / least - 1)
        unasked.append((float(now.if_closed(now.chances[np.newaxis])[0]) - now.gain) / least - 1)
    # asking nothing and opening the best set at once is what the looks are held against
    # 2026-11-27, the first 25 of this seed: mean 0.8 and 1.2 %, worst 4.2 and 4.7 %;
    # without looks 20 and 23 %
    assert np.mean(excess) < 0.015
    assert max(excess) < 0.08
    assert np.mean(unasked) > 3 * np.mean(excess)


def test_a_look_below_a_cover_that_comes_off_anyway_pays_no_way():
    built = construction(part("cover", 12), part("latch", 4, "cover"), part("train", 25, "cover"))
    faults = [fault("worn", "latch", 0.9), fault("gum", "train", 0.4)]
    worths = []
    for off in ((), ("cover",)):
        of = causes(faults, [sign("runs", 1.0, 0.02, {"gum": 0.95}, off=off)])
        (look,) = ExpectedCost(of, built, prices=Prices(comeback=40.0)).on(Bench()).looks()
        worths.append(look.worth)
        assert look.access_minutes == (12.0 if off else 0.0)
    assert worths[0] > 1
    assert worths[1] == pytest.approx(worths[0])


def test_of_parts_that_only_pay_together_one_is_opened_and_then_it_is_weighed_anew():
    built = construction(part("cover", 30), part("latch", 4, "cover"), part("train", 5, "cover"))
    faults = [fault("worn", "latch", 0.3), fault("gum", "train", 0.3)]
    of = causes(faults, [sign("runs", 1.0, 0.02, {"gum": 0.95, "worn": 0.5})])
    now = ExpectedCost(of, built, prices=Prices(comeback=60.0)).on(Bench())
    assert now.opened.sum() == 3  # neither 0.3 x 95 would pay the cover alone
    (first,) = now.openings(1)
    assert (first.targets, first.access_minutes) == (("latch",), 34.0)


def test_for_an_estimate_what_is_as_good_as_sure_needs_no_opening():
    built = construction(part("train", 10))
    of = causes([fault("gum", "train", 0.97)], [sign("runs", 1.0, 0.02, {"gum": 0.95})])
    assert [one.targets for one in ExpectedCost(of, built).on(Bench()).openings()] == [("train",)]
    estimate = ExpectedCost(of, built, prices=FOR_ESTIMATE).on(Bench())
    assert estimate.openings() == []
    assert all(one.worth <= 0 for one in estimate.looks())
