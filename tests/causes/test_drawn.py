"""
Whole sets of faults drawn from the posterior, against going through every set and every story by hand.

How far a share of n draws may lie from its chance is told by chi-square; the level of each test is 1 in
10,000 over fixed seeds, so that none fails by chance.
"""

from __future__ import annotations

import itertools
import math
import random

import numpy as np
import pytest
from scipy.stats import chi2

from causes.nets import drawn as drawn_net
from pegwood.anatomy.construction import constructions
from pegwood.causes.case import Case
from pegwood.causes.drawn import CannotDraw, answers_of, cameras
from pegwood.causes.family_net import FamilyCauses, family_causes
from pegwood.causes.inference.in_rows import sorted_rows
from pegwood.causes.inference.joint import drawn_together
from pegwood.causes.known import Fault, Raised, Shown, Sign, TellsOf, knowledge
from pegwood.causes.story import COMMON, TRACED
from pegwood.causes.weighing import chances

DRAWS = 40_000
LEVEL = 1e-4


def agrees(counts, expected):
    """Whether counts may come from these chances; cells of less than five go together."""
    total = sum(counts.values())
    assert not {cell for cell in counts if expected.get(cell, 0.0) <= 0}, "what cannot be was drawn"
    large = {cell for cell, p in expected.items() if p * total >= 5}
    pairs = [(counts.get(cell, 0), expected[cell] * total) for cell in large]
    seen, due = (total - sum(one) for one in zip(*pairs, strict=True))
    if due > 5:
        pairs.append((seen, due))
    statistic = sum((seen - due) ** 2 / due for seen, due in pairs)
    return statistic < chi2.ppf(1 - LEVEL, len(pairs) - 1)


def every_set(net, evidence, known):
    """The chance of each set of faults of a net, by its definition."""
    found = {}
    for there in itertools.product((False, True), repeat=len(net.priors)):
        state = dict(zip(net.priors, there, strict=True))
        weight = 1.0
        for fault, prior in net.priors.items():
            p = float(known.get(fault, prior))
            weight *= p if state[fault] else 1 - p
        for sign, likely in evidence.items():
            upto = np.cumsum(net.signs[sign].leak)
            for link in net.links:
                if link.sign == sign and state[link.fault]:
                    upto = upto * np.cumsum(link.shows)
            weight *= float(np.diff(upto, prepend=0) @ np.array(likely))
        if weight:
            found[there] = weight
    whole = math.fsum(found.values())
    return {there: weight / whole for there, weight in found.items()} if whole else {}


@pytest.mark.parametrize("seed", range(12))
def test_sets_of_faults_come_as_often_as_going_through_all_of_them_says(seed):
    rng = random.Random(seed)
    net = drawn_net(rng, 6, 7)
    evidence = {
        sign: tuple(rng.choice((0.0, 1.0, rng.random())) for _ in node.leak)
        for sign, node in net.signs.items()
        if rng.random() < 0.8
    }
    evidence = {sign: likely for sign, likely in evidence.items() if any(likely)}
    known = {"f1": rng.random() < 0.5} if seed % 3 == 0 else {}
    expected = every_set(net, evidence, known)
    assert expected, "a seed of which nothing is possible checks nothing"
    priors = np.array([list(net.priors.values())])
    there = {fault: np.array([is_there]) for fault, is_there in known.items()}
    here = sorted_rows(net, evidence, priors, there)
    found = drawn_together(here, np.zeros(DRAWS, dtype=int), np.random.default_rng(seed))
    counts: dict[tuple[bool, ...], int] = {}
    for row in map(tuple, found.tolist()):
        counts[row] = counts.get(row, 0) + 1
    assert agrees(counts, expected)


def test_rows_of_different_chances_are_each_drawn_from_their_own():
    net = drawn_net(random.Random(5), 5, 5)
    priors = np.random.default_rng(5).uniform(0.1, 0.9, (3, 5))
    evidence = {sign: tuple(float(n == 1) for n in range(len(node.leak))) for sign, node in net.signs.items()}
    here = sorted_rows(net, evidence, priors, {})
    rows = np.arange(3 * DRAWS) % 3
    found = drawn_together(here, rows, np.random.default_rng(1))
    for n in range(3):
        own = net.with_chances(dict(zip(net.priors, priors[n].tolist(), strict=True)))
        counts: dict[tuple[bool, ...], int] = {}
        for row in map(tuple, found[rows == n].tolist()):
            counts[row] = counts.get(row, 0) + 1
        assert agrees(counts, every_set(own, evidence, {}))


@pytest.fixture(scope="module")
def small():
    """Three faults and three signs; two things in the story that bind them together."""
    faults = [
        Fault(id="a", name="a", part="p", prior=0.2, raised=(Raised(by="dropped", odds=9.0),)),
        Fault(
            id="b",
            name="b",
            part="p",
            prior=0.3,
            raised=(Raised(by="dropped", odds=4.0), Raised(by="sand", odds=30.0)),
        ),
        Fault(id="c", name="c", part="p", prior=0.1, raised=(Raised(by="sand", odds=50.0),)),
    ]

    def sign(name, leak, shown, tells=()):
        return Sign(
            id=name,
            asks="?",
            by="eye",
            minutes=1,
            leak=leak,
            answers=("no", "some", "much")[: len(leak)],
            shown_by=tuple(Shown(fault=fault, shows=shows) for fault, shows in shown.items()),
            tells_of=tuple(TellsOf(by=by, shows=shows) for by, shows in tells),
        )

    signs = [
        sign("s", (0.9, 0.1), {"a": (0.3, 0.7), "b": (0.5, 0.5)}),
        sign("t", (0.8, 0.15, 0.05), {"b": (0.2, 0.3, 0.5)}, [("dropped", (0.4, 0.4, 0.2))]),
        sign("u", (0.95, 0.05), {"c": (0.1, 0.9)}, [("sand", (0.6, 0.4))]),
    ]
    return FamilyCauses(
        family="small", faults={one.id: one for one in faults}, signs={one.id: one for one in signs}
    )


def by_hand(causes, evidence, odds=None, denied=()):
    """The chance of every story and every set of faults together, one by one."""
    odds, items = odds or {}, ("dropped", "sand")
    stories = list(itertools.product((False, True), repeat=2))
    common = {
        so: math.prod(COMMON[i] if is_so else 1 - COMMON[i] for i, is_so in zip(items, so, strict=True))
        for so in stories
    }
    chance = {}
    for fault in causes.faults.values():
        raised = {one.by: one.odds for one in fault.raised}

        def over(start, so, raised=raised):
            by = math.prod(raised.get(i, 1.0) for i, is_so in zip(items, so, strict=True) if is_so)
            return start * by / (1 + start * by)

        low, high = 1e-9, 1e9
        for _ in range(200):
            middle = math.sqrt(low * high)
            mean = sum(common[so] * over(middle, so) for so in stories)
            low, high = (middle, high) if mean < fault.prior else (low, middle)
        chance[fault.id] = {so: over(low, so) for so in stories}
    found = {}
    for so, there in itertools.product(stories, itertools.product((False, True), repeat=3)):
        if any(is_so for item, is_so in zip(items, so, strict=True) if item in denied):
            continue
        weight = common[so]
        for fault, is_there in zip(causes.faults, there, strict=True):
            p = chance[fault][so]
            weight *= p * odds.get(fault, 1.0) if is_there else 1 - p
        found[so, there] = weight * math.prod(
            sum(x * y for x, y in zip(likely, answer(causes, sign, so, there), strict=True))
            for sign, likely in evidence.items()
        )
    whole = math.fsum(found.values())
    return {cell: weight / whole for cell, weight in found.items()}


def answer(causes, sign, so, there):
    """How likely each answer is, given story and faults: the highest of all that show it."""
    of = causes.signs[sign]
    story = dict(zip(("dropped", "sand"), so, strict=True))
    rows = [of.leak]
    rows += [one.shows for one in of.shown_by if there[list(causes.faults).index(one.fault)]]
    rows += [one.shows for one in of.tells_of if story[one.by]]
    found = [0.0] * len(of.leak)
    for levels in itertools.product(range(len(of.leak)), repeat=len(rows)):
        found[max(levels)] += math.prod(row[level] for row, level in zip(rows, levels, strict=True))
    return found


CASES = {
    "nothing known": Case(),
    "one answer": Case(answers={"s": (0.0, 1.0)}),
    "soft answers": Case(answers={"t": (0.2, 1.0, 0.7), "u": (0.3, 1.0)}),
    "odds, and one denied": Case(answers={"u": (0.0, 1.0)}, odds={"a": 6.0}, denied=frozenset({"dropped"})),
}


@pytest.mark.parametrize("name", CASES)
def test_story_and_faults_come_together_as_often_as_going_through_all_says(small, name):
    case = CASES[name]
    found = cameras(small, case, DRAWS, seed=11)
    story = found.story[:, [TRACED.index("dropped"), TRACED.index("sand")]]
    counts: dict[tuple[tuple[bool, ...], tuple[bool, ...]], int] = {}
    for so, there in zip(story.tolist(), found.there.tolist(), strict=True):
        cell = tuple(so), tuple(there)
        counts[cell] = counts.get(cell, 0) + 1
    assert agrees(counts, by_hand(small, case.answers, case.odds, case.denied))


def test_a_story_that_nobody_told_makes_its_faults_come_together(small):
    found = cameras(small, Case(), DRAWS, seed=2)
    both = float((found.there[:, 1] & found.there[:, 2]).mean())
    exact = sum(p for (_, there), p in by_hand(small, {}).items() if there[1] and there[2])
    assert both == pytest.approx(exact, abs=4 * math.sqrt(exact / DRAWS))
    assert exact > 1.5 * 0.3 * 0.1  # by themselves they would meet in 3 of 100


def test_what_a_look_would_say_is_told_for_each_camera(small):
    found = cameras(small, Case(), 500, seed=4)
    said = answers_of(small, found, ["t", "u"])
    story = found.story[:, [TRACED.index("dropped"), TRACED.index("sand")]]
    for n in range(500):
        for sign in ("t", "u"):
            exact = answer(small, sign, story[n], found.there[n])
            np.testing.assert_allclose(said[sign][:, n], exact, atol=1e-6)


def test_the_same_seed_draws_the_same_cameras_and_another_draws_others(small):
    one, same, other = (cameras(small, CASES["one answer"], 300, seed) for seed in (1, 1, 2))
    assert (one.there == same.there).all()
    assert (one.story == same.story).all()
    assert (one.there != other.there).any()


def test_what_was_ruled_holds_in_every_draw(small):
    case = Case(answers={"s": (0.0, 1.0)}, rulings={"a": False, "c": True}, told=frozenset({"sand"}))
    found = cameras(small, case, 300, seed=3)
    assert not found.there[:, 0].any()
    assert found.there[:, 2].all()
    assert found.story[:, TRACED.index("sand")].all()


@pytest.mark.parametrize("family", ["reflex-35-cloth", "folding-35-leaf-rangefinder"])
def test_the_shares_of_drawn_faults_are_their_chances(family):
    causes = family_causes(constructions()[family], knowledge())
    rng = random.Random(family)
    answers = {}
    for sign in rng.sample(sorted(causes.signs), 20):
        levels = len(causes.signs[sign].answers)
        at = 0 if rng.random() < 0.6 else 1
        answers[sign] = tuple(float(n == at) for n in range(levels))
    case = Case(answers=answers, told=frozenset({"unserved-long"}), denied=frozenset({"soaked-salt"}))
    exact = chances(causes, case)
    draws = 20_000
    found = cameras(causes, case, draws, seed=6)
    p = np.array([exact[fault] for fault in found.faults])
    z = (found.there.mean(axis=0) - p) / np.sqrt(np.maximum(p * (1 - p), 1e-9) / draws)
    assert np.abs(z[p * draws > 5]).max() < 4.5  # of some 140 faults one in 1,000 families goes beyond
    assert (z[p * draws > 5] ** 2).mean() == pytest.approx(1, abs=0.5)


def test_answers_that_cannot_all_be_are_refused():
    fault = Fault(id="a", name="a", part="p", prior=0.2)
    shown = (Shown(fault="a", shows=(0.0, 1.0)),)
    signs = [
        Sign(id=name, asks="?", by="eye", minutes=1, leak=(1.0, 0.0), shown_by=shown) for name in ("s", "t")
    ]
    of = FamilyCauses(family="small", faults={"a": fault}, signs={one.id: one for one in signs})
    with pytest.raises(CannotDraw, match="cannot all be"):
        cameras(of, Case(answers={"s": (0.0, 1.0), "t": (1.0, 0.0)}), 10, seed=0)


def test_answers_that_hang_together_too_widely_are_refused_with_what_to_do():
    faults = [Fault(id=f"f{n}", name="f", part="p", prior=0.1) for n in range(60)]
    rng = random.Random(1)
    signs = [
        Sign(
            id=f"s{n}",
            asks="?",
            by="eye",
            minutes=1,
            leak=(0.9, 0.1),
            shown_by=tuple(Shown(fault=f.id, shows=(0.5, 0.5)) for f in rng.sample(faults, 20)),
        )
        for n in range(45)
    ]
    of = FamilyCauses(
        family="wide", faults={one.id: one for one in faults}, signs={one.id: one for one in signs}
    )
    with pytest.raises(CannotDraw, match="take an answer back"):
        cameras(of, Case(answers=dict.fromkeys(of.signs, (0.0, 1.0))), 10, seed=0)


@pytest.mark.parametrize(("draws", "seed"), [(0, 1), (10_000_000, 1), (10, -1)])
def test_numbers_that_cannot_be_are_refused(small, draws, seed):
    with pytest.raises(ValueError, match="Expected"):
        cameras(small, Case(), draws, seed)
