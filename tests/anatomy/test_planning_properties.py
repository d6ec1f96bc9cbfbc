"""What must hold of any way in, whatever is to be reached and whatever is off already."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from anatomy.graphs import comes_apart, drawn
from pegwood.anatomy.construction import constructions
from pegwood.anatomy.planning import StripDown, Unreachable, choose, in_order, loop_among
from pegwood.anatomy.planning.orders import orders
from pegwood.anatomy.planning.plan import plan

FAMILIES = sorted(constructions())
quickly = settings(max_examples=25, deadline=None, derandomize=True)


@st.composite
def a_job(draw):
    """A family, what is to be reached, what is off already, and options."""
    family = constructions()[draw(st.sampled_from(FAMILIES))]
    can = sorted(family.strip_down().removable)
    targets = draw(st.lists(st.sampled_from(can), min_size=1, max_size=4, unique=True))
    off = draw(st.lists(st.sampled_from(can), max_size=5, unique=True))
    spare = draw(st.lists(st.sampled_from(can), max_size=2, unique=True))
    options = {
        "spare": [one for one in spare if one not in targets],
        "avoid": draw(st.sampled_from([[], ["glue"], ["solder", "rivet"]])),
        "only_from": draw(st.sampled_from([[], ["front", "inside"], ["base", "top", "back"]])),
    }
    return family, targets, off, options


@given(a_job())
@settings(quickly, max_examples=60)
def test_nothing_comes_off_before_what_covers_it_or_what_its_way_needs(job):
    family, targets, off, options = job
    try:
        found = plan(family, targets, off, **options)
    except Unreachable:
        return  # that a refusal is true is held in test_way_in_limits
    done = set(off)
    for step in found.steps:
        assert step.part.id not in done
        assert set(step.way.after) <= done
        # what hides a join is off, or the way goes round it: then it stays where it is
        later = {one.part.id for one in found.steps} - done
        assert not {join.under for join in step.part.joins} & later
        done.add(step.part.id)
    assert set(targets) <= done


@given(a_job(), st.integers(min_value=0, max_value=100))
@quickly
def test_planning_anew_halfway_never_costs_more_than_the_rest_of_the_old_plan(job, percent):
    family, targets, off, options = job
    try:
        found = plan(family, targets, off, **options)
    except Unreachable:
        return
    done = len(found.steps) * percent // 100
    now = {*off, *(step.part.id for step in found.steps[:done])}
    again = plan(family, targets, now, **options)
    rest = sum(step.way.cost_minutes for step in found.steps[done:])
    assert again.cost <= rest + 1e-6
    # and what else came off meanwhile, by mistake or for another reason, makes it no dearer
    more = now | {step.part.id for step in plan(family, [sorted(family.strip_down().removable)[0]]).steps}
    assert plan(family, targets, more, **options).cost <= again.cost + 1e-6


@given(st.integers(min_value=0, max_value=10_000), st.integers(min_value=1, max_value=3))
@settings(quickly, max_examples=50)
def test_in_any_drawn_graph_planning_anew_never_costs_more_from_anywhere_along_the_plan(seed, many):
    strip_down = drawn(seed, parts=12, backwards=seed % 2 == 1)
    targets = sorted(strip_down.removable)[-many:]
    if not targets:
        return
    found = choose(strip_down, targets)
    order = in_order(found.ways).parts
    assert comes_apart(dict(found.ways), frozenset())
    for done in range(len(order) + 1):
        again = choose(strip_down, targets, order[:done])
        assert again.cost <= sum(found.ways[one].cost for one in order[done:]) + 1e-9
        assert comes_apart(dict(again.ways), frozenset(order[:done]))


@given(st.integers(min_value=0, max_value=10_000))
@settings(quickly, max_examples=60)
def test_a_plans_order_is_one_of_those_that_are_counted(seed):
    strip_down = drawn(seed, parts=10)
    ways = choose(strip_down, sorted(strip_down.removable)[-3:]).ways
    count = orders(ways)
    assert count is not None
    assert count >= 1
    free = sum(not way.after for way in ways.values())
    assert (count > 1) or free <= 1  # two that wait for nothing can change places


@given(st.integers(min_value=0, max_value=10_000))
@settings(quickly, max_examples=100)
def test_a_loop_is_named_exactly_where_parts_with_ways_never_come_off(seed):
    strip_down = drawn(seed, parts=8, backwards=True)
    stuck = strip_down.ways.keys() - strip_down.removable
    ring = loop_among(strip_down)
    assert bool(ring) == bool(stuck)
    if ring:
        assert ring[0] == ring[-1]
        for part, then in itertools.pairwise(ring):
            assert part in stuck
            assert any(then in way.after for way in strip_down.ways[part])


def test_a_part_without_a_way_is_in_no_loop():
    assert loop_among(StripDown({"body": (), "cover": ()})) == ()
    with pytest.raises(Unreachable, match="never comes off"):
        choose(StripDown({"body": ()}), ["body"])
