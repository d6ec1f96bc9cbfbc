"""
Published rules of troubleshooting, on the worked numbers of the facts: decisions, 1.4 (T1 to T12) and 1.2.

Expected figures are those of the papers named there, or of an enumeration made for the note; the brute force
here goes through every order by itself and shares no code with what it checks. The planner is then held
against the methods that were checked so.
"""

from __future__ import annotations

import itertools
import random

import pytest

from causes.published_methods import (
    Cluster,
    Repair,
    best_prefix,
    best_subset,
    by_odds_ratio,
    by_ratio,
    cost_of,
    expected_cost,
    expected_cost_independent,
    merged,
    worth_of_test,
)
from causes.small_cameras import causes, construction, fault, part
from causes.small_problem import Chance, Choice, rolled_back
from pegwood.causes.planning.expected_cost import Bench, ExpectedCost, Prices

EXACT = {"abs": 1e-9}


def repairs(chances, looks, mends=None):
    mends = mends or [0.0] * len(chances)
    return [
        Repair(id=str(n), chance=p, look=look, mend=mend)
        for n, (p, look, mend) in enumerate(zip(chances, looks, mends, strict=True), 1)
    ]


def ids(order):
    return [int(one.id) for one in order]


def walked(order, p, look, mend, test=0.0, service=0.0):
    """The expected cost of an order (places from 0), by what happens with each part at fault."""
    total = 0.0
    for guilty, chance in enumerate(p):
        paid = 0.0
        for place in order:
            paid += look[place]
            if place == guilty:
                paid += mend[place] + test
                break
        else:
            paid += service
        total += chance * paid
    return total


def test_five_faults_in_the_order_of_chance_over_cost():
    five = repairs([0.40, 0.25, 0.15, 0.12, 0.08], [30, 10, 4, 15, 2])
    assert ids(by_ratio(five)) == [5, 3, 2, 1, 4]
    assert expected_cost(by_ratio(five)) == pytest.approx(30.78, **EXACT)
    assert expected_cost(five) == pytest.approx(40.56, **EXACT)
    assert expected_cost(sorted(five, key=lambda one: one.look)) == pytest.approx(33.18, **EXACT)
    p, look = [one.chance for one in five], [one.look for one in five]
    every = [walked(order, p, look, [0] * 5) for order in itertools.permutations(range(5))]
    assert (min(every), max(every)) == pytest.approx((30.78, 47.28), **EXACT)


THREE = repairs([0.5, 0.3, 0.2], [10, 4, 6], [20, 30, 15])


def test_look_then_repair():
    assert ids(by_ratio(THREE)) == [2, 1, 3]
    costs = sorted(expected_cost(order, test=2) for order in itertools.permutations(THREE))
    assert expected_cost(by_ratio(THREE), test=2) == pytest.approx(36.2, **EXACT)
    assert costs == pytest.approx([36.2, 37.2, 37.2, 38.2, 38.2, 39.2], **EXACT)


@pytest.mark.parametrize(
    ("service", "prefixes", "tried", "cost"),
    [(25, [25, 31.1, 36.6, 36.2], [], 25.0), (40, [40, 41.6, 39.6, 36.2], [2, 1, 3], 36.2)],
)
def test_when_to_send_it_out(service, prefixes, tried, cost):
    order = by_ratio(THREE)
    found = [expected_cost(order[:k], test=2, service=service) for k in range(4)]
    assert found == pytest.approx(prefixes, **EXACT)
    first, least = best_prefix(THREE, service=service, test=2)
    assert (ids(first), least) == (tried, pytest.approx(cost, **EXACT))


def test_the_best_prefix_before_service_is_not_always_the_best():
    p, look, mend = (0.10, 0.60, 0.30), (3, 17, 2), (20, 90, 0)
    these = repairs(p, look, mend)
    first, cost = best_prefix(these, service=100)
    assert (ids(first), cost) == ([3, 2, 1], pytest.approx(70.2, **EXACT))
    tried, least = best_subset(these, service=100)
    assert (ids(tried), least) == ([3, 1], pytest.approx(66.1, **EXACT))
    every = (
        walked(order, p, look, mend, service=100)
        for k in range(4)
        for order in itertools.permutations(range(3), k)
    )
    assert min(every) == pytest.approx(66.1, **EXACT)


def independent(order, p, cost):
    """The expected cost of putting independent faults right until none is left, by every set of faults."""
    total = weight = 0.0
    for there in itertools.product((False, True), repeat=len(p)):
        if not any(there):
            continue
        chance = 1.0
        for is_there, one in zip(there, p, strict=True):
            chance *= one if is_there else 1 - one
        last = max(place for place, part in enumerate(order) if there[part])
        total += chance * sum(cost[part] for part in order[: last + 1])
        weight += chance
    return total / weight


def test_several_faults_at_a_time():
    p, cost = (0.3, 0.1, 0.5, 0.2), (10, 2, 30, 4)
    these = repairs(p, cost)
    assert ids(by_odds_ratio(these)) == [4, 2, 1, 3]
    assert expected_cost_independent(by_odds_ratio(these)) == pytest.approx(34.574866, abs=1e-6)
    assert ids(by_ratio(these)) == [2, 4, 1, 3]
    assert expected_cost_independent(by_ratio(these)) == pytest.approx(34.593583, abs=1e-6)
    every = [independent(order, p, cost) for order in itertools.permutations(range(4))]
    assert min(every) == pytest.approx(34.574866, abs=1e-6)


def test_the_order_by_odds_is_the_best_of_all_on_random_devices():
    rng = random.Random(6)
    for _ in range(40):
        p, cost = [rng.uniform(0.02, 0.95) for _ in range(4)], [rng.uniform(1, 40) for _ in range(4)]
        mine = expected_cost_independent(by_odds_ratio(repairs(p, cost)))
        least = min(independent(order, p, cost) for order in itertools.permutations(range(4)))
        assert mine == pytest.approx(least, rel=1e-9)


def test_a_fault_that_is_sure_to_be_there_is_counted():
    sure = repairs([1.0, 0.5], [10, 4])
    assert expected_cost_independent(sure) == pytest.approx(independent((0, 1), (1.0, 0.5), (10, 4)))


def test_what_is_opened_once_is_shared():
    a, *k = repairs([0.30, 0.25, 0.25, 0.20], [14, 5, 5, 5])
    steps = merged(Cluster(open=0, inside=(a, Cluster(open=12, inside=tuple(k)))))
    assert ids(one for one, _ in steps) == [2, 3, 4, 1]
    assert cost_of(steps) == pytest.approx(27.45, **EXACT)
    # charging the opening to each puts the one outside first
    assert cost_of([(a, 14), (k[0], 17), (k[1], 5), (k[2], 5)]) == pytest.approx(29.15, **EXACT)


def test_clusters_within_clusters_are_merged_to_the_best_order():
    rng = random.Random(8)
    for _ in range(30):
        p = [rng.random() for _ in range(6)]
        total = sum(p)
        parts = repairs([one / total for one in p], [rng.uniform(1, 20) for _ in range(6)])
        inner, outer = rng.uniform(0, 25), rng.uniform(0, 25)
        tree = Cluster(
            open=0,
            inside=(
                parts[0],
                Cluster(open=outer, inside=(*parts[1:3], Cluster(open=inner, inside=tuple(parts[3:])))),
            ),
        )

        def paid(order, opens=(outer, inner), parts=tuple(parts)):
            total, left, is_open = 0.0, 1.0, [False, False]
            for place in order:
                cost = parts[place].look
                for n in range(0 if place == 0 else 1 if place < 3 else 2):
                    cost += 0 if is_open[n] else opens[n]
                    is_open[n] = True
                total += left * cost
                left -= parts[place].chance
            return total

        least = min(paid(order) for order in itertools.permutations(range(6)))
        assert cost_of(merged(tree)) == pytest.approx(least, rel=1e-9)


def test_what_a_test_is_worth():
    found = worth_of_test(
        {"f1": 0.6, "f2": 0.4},
        # the wrong repair first, then the right one
        {"first 1": {"f1": 40, "f2": 70}, "first 2": {"f1": 70, "f2": 30}},
        {"+": {"f1": 0.9, "f2": 0.1}, "-": {"f1": 0.1, "f2": 0.9}},
        test=5,
    )
    assert (found.without, found.with_it) == pytest.approx((52.0, 44.4), **EXACT)
    assert (found.saves, found.saves - 5, found.knowing_all) == pytest.approx((12.6, 7.6, 16.0), **EXACT)


def test_a_decision_tree_is_rolled_back():
    # HBR95, figure 1: looks 5, repairs 10 and 20; the second repair always does it
    def repairs_first(c1, c2):
        return Choice(
            {
                "c1": (10.0, Chance(((c1, 0.0), (1 - c1, 20.0)))),
                "c2": (20.0, Chance(((c2, 0.0), (1 - c2, 10.0)))),
            }
        )

    seen, not_seen, unlooked = repairs_first(0.9, 0.01), repairs_first(0.25, 0.7), repairs_first(0.5, 0.05)
    looked = Choice({"look": (5.0, Chance(((0.8, seen), (0.2, not_seen))))})
    whole = Choice({"look": looked.options["look"], **unlooked.options})
    assert rolled_back(whole)[0] == pytest.approx(19.2, **EXACT)
    assert rolled_back(whole)[1][0] == "look"
    assert rolled_back(seen) == (pytest.approx(12.0), ("c1",))
    assert rolled_back(not_seen) == (pytest.approx(23.0), ("c2",))


def test_the_planner_opens_parts_in_the_published_order():
    # its openings against Ottosen and Jensen's merged clusters: a search for one fault after another
    rng = random.Random(9)
    for _ in range(20):
        p, look = [rng.uniform(0.02, 0.4) for _ in range(6)], [rng.uniform(1, 20) for _ in range(6)]
        outer, inner = rng.uniform(1, 25), rng.uniform(1, 25)
        parts = repairs(p, look)
        tree = Cluster(
            open=0,
            inside=(
                parts[0],
                Cluster(open=outer, inside=(*parts[1:3], Cluster(open=inner, inside=tuple(parts[3:])))),
            ),
        )
        below = [(), ("outer",), ("outer",), ("inner",), ("inner",), ("inner",)]
        built = construction(
            part("outer", outer),
            part("inner", inner, "outer"),
            *(part(one.id, one.look, *way) for one, way in zip(parts, below, strict=True)),
        )
        camera = causes([fault(one.id, one.id, one.chance) for one in parts], [])
        dear = Prices(look_at_part=0.0, comeback=10_000.0, again=0.0)
        bench, steps = Bench(), []
        while opening := next(iter(ExpectedCost(camera, built, prices=dear).on(bench).openings(1)), None):
            first, *more = opening.targets
            assert not more
            steps.append((parts[int(first) - 1], opening.access_minutes))
            off = bench.off | {*opening.taken_off}
            bench = Bench(known={**bench.known, first: False}, off=off)
        # neither asks of the chances to come to 1: both orders are by what they add up to
        assert ids(one for one, _ in steps) == ids(one for one, _ in merged(tree))
        assert cost_of(steps) == pytest.approx(cost_of(merged(tree)), rel=1e-9)
