"""
Faults weighed over all stories that may be: against going through every story and every set of faults.

The brute force here shares no code with the package: it goes through a little world of story, faults and
signs.
"""

from __future__ import annotations

import itertools
import math
import random

import pytest

from pegwood.anatomy.construction import constructions
from pegwood.causes.family_net import FamilyCauses, family_causes
from pegwood.causes.inference import posterior
from pegwood.causes.known import Fault, Raised, Shown, Sign, TellsOf, knowledge
from pegwood.causes.story import COMMON, TRACED
from pegwood.causes.story_net import posterior_over_stories


def family(seed: int) -> FamilyCauses:
    """A small family with a few faults, signs and things in the story that bear on them."""
    rng = random.Random(seed)
    items = [*rng.sample(TRACED, 3), "unserved-long"]

    def spread(levels: int) -> tuple[float, ...]:
        parts = [rng.uniform(0.05, 1) for _ in range(levels)]
        return tuple(one / math.fsum(parts) for one in parts)

    faults = [
        Fault(
            id=f"m.f{n}",
            name=f"fault {n}",
            part="m.part",
            prior=rng.uniform(0.02, 0.4),
            raised=tuple(
                Raised(by=by, odds=rng.uniform(0.5, 20)) for by in rng.sample(items, rng.randint(0, 3))
            ),
        )
        for n in range(5)
    ]
    signs = []
    for n in range(4):
        levels = rng.choice((2, 3))
        of = rng.sample(faults, rng.randint(0 if n == 0 else 1, 3))
        tells = rng.sample(items[:3], rng.randint(1 if not of else 0, 2))
        signs.append(
            Sign(
                id=f"m.s{n}",
                asks="?",
                by="eye",
                minutes=1,
                answers=("no", "yes", "much")[:levels],
                leak=spread(levels),
                shown_by=tuple(Shown(fault=one.id, shows=spread(levels)) for one in of),
                tells_of=tuple(TellsOf(by=by, shows=spread(levels)) for by in tells),
            )
        )
    return FamilyCauses(
        family="small", faults={one.id: one for one in faults}, signs={one.id: one for one in signs}
    )


def logistic(odds: float) -> float:
    return odds / (1 + odds)


def by_hand(causes, evidence, known, told, denied, odds):
    """Chances of faults and story, and of the evidence: each story, each set of faults, one by one."""
    fixed = dict.fromkeys(told, True) | dict.fromkeys(denied, False)
    every = sorted({one.by for fault in causes.faults.values() for one in fault.raised} | set(TRACED))
    no_story = {}
    for fault in causes.faults.values():  # so that over all stories its chance is that of the file
        low, high = 1e-12, 1e12
        for _ in range(300):
            middle = math.sqrt(low * high)
            mean = 0.0
            for so in itertools.product((False, True), repeat=len(fault.raised)):
                weight, factor = 1.0, middle
                for one, is_so in zip(fault.raised, so, strict=True):
                    weight *= COMMON[one.by] if is_so else 1 - COMMON[one.by]
                    factor *= one.odds if is_so else 1
                mean += weight * logistic(factor)
            low, high = (middle, high) if mean < fault.prior else (low, middle)
        no_story[fault.id] = math.sqrt(low * high)
    untraced = [one for one in every if one not in TRACED]
    total, seen = 0.0, 0.0
    of_fault = dict.fromkeys(causes.faults, 0.0)
    of_item = dict.fromkeys(TRACED, 0.0)
    for so in itertools.product((False, True), repeat=len(TRACED)):
        story = dict(zip(TRACED, so, strict=True))
        if any(story.get(one, is_so) != is_so for one, is_so in fixed.items()):
            continue
        weight = math.prod(
            COMMON[one] if is_so else 1 - COMMON[one] for one, is_so in story.items() if one not in fixed
        )
        chance = {}
        for fault in causes.faults.values():
            mean = 0.0
            free = [one for one in untraced if one not in fixed]
            for rest in itertools.product((False, True), repeat=len(free)):
                world = story | fixed | dict(zip(free, rest, strict=True))
                share = math.prod(
                    COMMON[one] if is_so else 1 - COMMON[one] for one, is_so in zip(free, rest, strict=True)
                )
                factor = no_story[fault.id] * math.prod(one.odds for one in fault.raised if world[one.by])
                mean += share * logistic(factor)
            chance[fault.id] = mean
        for present in itertools.product((False, True), repeat=len(chance)):
            there = dict(zip(chance, present, strict=True))
            if any(there[fault] != is_there for fault, is_there in known.items()):
                continue
            one = weight * math.prod(
                (chance[f] * odds.get(f, 1.0) if is_there else 1 - chance[f]) for f, is_there in there.items()
            )
            total += one
            if not one:
                continue
            for sign, likely in evidence.items():
                of = causes.signs[sign]
                rows = [of.leak]
                rows += [link.shows for link in of.shown_by if there[link.fault]]
                rows += [tell.shows for tell in of.tells_of if story[tell.by]]
                one *= sum(
                    likely[max(levels)]
                    * math.prod(row[level] for row, level in zip(rows, levels, strict=True))
                    for levels in itertools.product(range(len(of.leak)), repeat=len(rows))
                )
            seen += one
            for fault, is_there in there.items():
                of_fault[fault] += one * is_there
            for item, is_so in story.items():
                of_item[item] += one * is_so
    return {f: p / seen for f, p in of_fault.items()}, {i: p / seen for i, p in of_item.items()}, seen / total


@pytest.mark.parametrize("seed", range(6))
def test_it_agrees_with_going_through_everything(seed):
    causes, rng = family(seed), random.Random(seed)
    evidence = {}
    for sign in rng.sample(list(causes.signs), rng.randint(2, 4)):
        levels = len(causes.signs[sign].leak)
        sure = rng.random() < 0.7
        at = rng.randrange(levels)
        evidence[sign] = tuple(float(n == at) if sure else rng.uniform(0.1, 1) for n in range(levels))
    faults = list(causes.faults)
    known = {faults[0]: True, faults[1]: False} if seed % 2 else {}
    odds = {faults[2]: 4.0} if seed % 3 else {}
    told = ["unserved-long"] if seed % 2 else []
    denied = [TRACED[seed]] if seed % 3 else []
    found = posterior_over_stories(causes, evidence, known, told=told, denied=denied, odds=odds)
    of_fault, of_item, seen = by_hand(causes, evidence, known, told, denied, odds)
    assert found.faults == pytest.approx(of_fault, abs=1e-9)
    assert found.story == pytest.approx(of_item, abs=1e-9)
    assert math.exp(found.log_evidence) == pytest.approx(seen, abs=1e-9)


def test_a_fault_that_nothing_but_the_story_speaks_for_differs_from_by_story_by_its_own_signs_only():
    causes = family(3)
    bystander = Fault(id="m.by", name="by", part="m.part", prior=0.1, raised=(Raised(by=TRACED[0], odds=9),))
    sign = Sign(
        id="m.trace",
        asks="?",
        by="eye",
        minutes=1,
        leak=(0.95, 0.05),
        tells_of=(TellsOf(by=TRACED[0], shows=(0, 1)),),
    )
    causes = FamilyCauses(
        family="small", faults={**causes.faults, "m.by": bystander}, signs={**causes.signs, sign.id: sign}
    )
    evidence = {sign.id: (0.0, 1.0)}
    found = posterior_over_stories(causes, evidence)
    assert found.faults["m.by"] > 0.15
    assert found.by_story == pytest.approx(found.faults, abs=1e-12)
    # what is found of it moves it alone: 4 times the odds, in each of the two stories that may be
    odds = posterior_over_stories(causes, evidence, odds={"m.by": 4.0})
    assert odds.by_story["m.by"] < odds.before["m.by"] == pytest.approx(odds.faults["m.by"])
    ruled = posterior_over_stories(causes, evidence, {"m.by": True})
    assert ruled.before["m.by"] == pytest.approx(1)
    assert ruled.by_story["m.by"] < 0.9


def test_with_nothing_known_every_fault_is_as_likely_as_its_file_says():
    causes = family(1)
    found = posterior_over_stories(causes, {})
    assert found.faults == pytest.approx({f.id: f.prior for f in causes.faults.values()}, abs=1e-12)
    assert found.log_evidence == pytest.approx(0, abs=1e-12)


def test_what_cannot_be_seen_is_told_and_moves_nothing():
    causes = family(2)
    sign = next(sign for sign in causes.signs.values() if not sign.tells_of and len(sign.leak) == 2)
    never = Sign(
        id="m.never",
        asks="?",
        by="eye",
        minutes=1,
        leak=(1, 0),
        shown_by=(Shown(fault=sign.shown_by[0].fault, shows=(1, 0)),),
    )
    causes = FamilyCauses(family="small", faults=causes.faults, signs={**causes.signs, never.id: never})
    found = posterior_over_stories(causes, {never.id: (0, 1)})
    assert not found.is_possible
    assert found.faults == pytest.approx({f.id: f.prior for f in causes.faults.values()}, abs=1e-12)


def test_a_whole_family_weighed_in_one_batch_agrees_with_each_story_by_itself():
    causes = family_causes(constructions()["folding-35-leaf-rangefinder"], knowledge())
    rng = random.Random(6)
    evidence = {}
    for sign in rng.sample(list(causes.signs.values()), 30):
        at = rng.randrange(len(sign.answers))
        evidence[sign.id] = tuple(float(n == at) for n in range(len(sign.answers)))
    found = posterior_over_stories(causes, evidence)
    total, of_fault = 0.0, dict.fromkeys(causes.faults, 0.0)
    asked = ("earlier-repair", "soaked-salt")
    others = [one for one in TRACED if one not in asked]
    for so in itertools.product((False, True), repeat=len(asked)):
        told = [one for one, is_so in zip(asked, so, strict=True) if is_so]
        here = posterior_over_stories(causes, evidence, told=told, denied=set(asked) - set(told))
        weight = math.exp(here.log_evidence) * math.prod(
            COMMON[one] if one in told else 1 - COMMON[one] for one in asked
        )
        total += weight
        for fault, chance in here.faults.items():
            of_fault[fault] += weight * chance
    assert math.log(total) == pytest.approx(found.log_evidence, abs=1e-9)
    assert found.faults == pytest.approx({f: one / total for f, one in of_fault.items()}, abs=1e-9)
    # and with nothing of it unknown it is the family's net by itself
    sure = posterior_over_stories(causes, evidence, told=asked, denied=others)
    alone = posterior(causes.net(asked, others), evidence)
    assert sure.faults == pytest.approx(alone.faults, abs=1e-9)
    assert sure.log_evidence == pytest.approx(alone.log_evidence, abs=1e-9)


def test_many_rulings_leave_every_chance_a_chance():
    """Mixed over stories, what is 1 in each of them may come out as 1 and a rounding, which no net takes."""
    causes = family_causes(constructions()["box"], knowledge())
    for seed in range(10):
        rng = random.Random(seed)
        found = posterior_over_stories(causes, {}, {fault: rng.random() < 0.3 for fault in causes.faults})
        assert max(*found.before.values(), *found.faults.values(), *found.story.values()) <= 1
        causes.net_with(found.before, found.story)
