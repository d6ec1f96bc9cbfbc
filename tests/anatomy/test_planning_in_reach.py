"""While you are in there: what comes off for little more, held to trying everything and to solving."""

from __future__ import annotations

import math
import random
from dataclasses import replace

import pytest

from anatomy.graphs import cheapest, drawn
from pegwood.anatomy.construction import constructions
from pegwood.anatomy.parts import Part
from pegwood.anatomy.planning import Removal, StripDown, choose
from pegwood.anatomy.planning.bounds import Bounds
from pegwood.anatomy.planning.in_reach import in_reach, worth_of
from pegwood.anatomy.planning.limits import within
from pegwood.anatomy.planning.plan import plan
from pegwood.trade.reference import Reference

REFERENCE = Reference()
FOLDING = "folding-35-leaf-rangefinder"


def test_behind_the_speed_cam_the_slow_train_is_told_with_its_extra_and_why():
    folding = constructions()[FOLDING]
    found = plan(folding, ["shutter.speed-cam"])
    told = {one.part.id: one for one in in_reach(folding, found, most=20)}
    train = told["shutter.slow-train"]
    assert [step.part.id for step in train.steps] == ["shutter.slow-train"]
    assert train.extra == train.steps[0].way.cost_minutes  # nothing more has to come off
    assert train.alone == pytest.approx(plan(folding, ["shutter.slow-train"]).cost)
    assert train.alone > found.cost
    assert (train.worth.kind, train.worth.pressing) == ("lubricate", True)
    assert train.worth.says.startswith("gear-train pivots: ")
    assert train.worth.mark == "practice"


def test_with_the_back_off_its_seals_are_told():
    folding = constructions()[FOLDING]
    told = in_reach(folding, plan(folding, ["back.back-door"]))
    seal = next(one for one in told if one.part.id == "back.hinge-seal")
    assert seal.worth.kind == "perishes"
    assert seal.worth.says == "light-seal foam perishes with the years"
    assert seal.steps[0].way.name == "door off"


@pytest.mark.parametrize("slug", sorted(constructions()))
def test_every_extra_is_what_solving_for_the_part_gives_and_none_is_left_out(slug):
    family = constructions()[slug]
    rng = random.Random(slug)
    options = [{}, {"avoid": ["glue"]}]
    for options_of in options:
        target = rng.choice(sorted(within(family, plan(family, [], **options_of).limits).removable))
        found = plan(family, [target], **options_of)
        strip_down = within(family, found.limits)
        done = found.off | {step.part.id for step in found.steps}
        expected = {}
        for part in family.parts.values():
            worth = worth_of(part, REFERENCE)
            if worth is None or part.id in done or part.id not in strip_down.removable:
                continue
            extra, alone = choose(strip_down, [part.id], done).cost, choose(strip_down, [part.id]).cost
            opened = alone > extra + 1e-9
            if extra <= 15 and (worth.pressing or opened):
                rank = (0 if opened else 1) if worth.pressing else 2
                expected[part.id] = (rank, extra, alone)
        told = in_reach(family, found, most=1000)
        assert {one.part.id for one in told} == expected.keys()
        for one in told:
            assert (one.extra, one.alone) == pytest.approx(expected[one.part.id][1:])
            assert one.steps[-1].part is one.part
            assert not done & {step.part.id for step in one.steps}
        assert [one.extra for one in told] == sorted(one.extra for one in told)
        few = in_reach(family, found, most=3)
        firsts = sorted((round(extra, 6), rank) for rank, extra, _ in expected.values())
        ranked = sorted((rank, round(extra, 6)) for extra, rank in firsts)[:3]
        assert sorted((expected[one.part.id][0], round(one.extra, 6)) for one in few) == ranked


@pytest.mark.parametrize("seed", range(24))
def test_bounds_hold_and_the_cheapest_is_the_cheapest_of_all(seed):
    strip_down = drawn(seed, parts=6, backwards=seed % 2 == 1)
    off = frozenset(sorted(strip_down.removable)[: seed % 3])
    bounds = Bounds(strip_down, off)
    assert bounds.least.keys() == strip_down.removable - off
    for part, least in bounds.least.items():
        best = cheapest(strip_down, {part}, off)
        ways, cost = bounds.cheapest(part)
        assert cost == pytest.approx(best)
        assert least <= bounds.at_least(part) + 1e-9
        assert bounds.at_least(part) <= best + 1e-9
        assert math.isclose(sum(way.cost for way in ways.values()), cost)
        assert ways.keys() <= bounds.may_need(part)


def test_of_a_part_whose_material_nobody_has_looked_at_nothing_is_said():
    open_yet = Part(id="x.plate", name="plate", materials=("not-looked-at",))
    assert worth_of(open_yet, REFERENCE) is None
    seal = replace(open_yet, materials=("not-looked-at", "light-seal-foam"))
    assert worth_of(seal, REFERENCE).kind == "perishes"


def test_what_two_parts_share_is_counted_once():
    # p and q each behind x or y; both behind the same one is 1 + 1 + 1 + 10
    either = (Removal(after=frozenset("x"), cost=1), Removal(after=frozenset("y"), cost=1))
    alone = (Removal(after=frozenset(), cost=10),)
    target = (Removal(after=frozenset("pq"), cost=1),)
    bounds = Bounds(StripDown({"t": target, "p": either, "q": either, "x": alone, "y": alone}), frozenset())
    assert (bounds.least["t"], bounds.at_least("t"), bounds.cheapest("t")[1]) == (3, 13, 13)
