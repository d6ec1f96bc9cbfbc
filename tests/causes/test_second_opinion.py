"""Chances of faults, held to the library pyAgrum and to worked figures (facts, decisions 2.1-2.4)."""

from __future__ import annotations

import math
import random
import time

import numpy as np
import pyagrum as gum
import pytest

from benchmarks import likely_causes
from causes import library
from causes.nets import NO, YES, binary, drawn
from pegwood.causes.inference import FaultNet, posterior


def said(net: FaultNet, evidence) -> tuple[float, dict[str, float]]:
    found = posterior(net, evidence)
    return math.exp(found.log_evidence), dict(found.faults)


@pytest.mark.parametrize("seed", range(15))
def test_noisy_or_nets_say_what_the_librarys_noisy_or_says(seed):
    rng = random.Random(seed)
    faults = [f"f{n}" for n in range(rng.randint(2, 10))]
    signs = {
        f"s{n}": (rng.random() / 5, {one: rng.random() for one in rng.sample(faults, rng.randint(1, 2))})
        for n in range(rng.randint(1, 10))
    }
    net = binary({fault: rng.random() for fault in faults}, signs)
    answers = {sign: rng.random() < 0.5 for sign in signs if rng.random() < 0.8}
    chance, found = library.chances(
        likely_causes.noisy_or(net, list(signs)), {s: int(a) for s, a in answers.items()}, faults
    )
    here, of_fault = said(net, {sign: YES if yes else NO for sign, yes in answers.items()})
    assert here == pytest.approx(chance, rel=1e-9)
    assert of_fault == pytest.approx({fault: pair[1] for fault, pair in found.items()}, abs=1e-9)


def test_strengths_are_of_the_fault_alone_without_the_leak():
    """Of the two readings of a leaky noisy-OR ours is `net`: .91, where `compound` says .888889."""
    net = binary(dict.fromkeys("AB", 0.5), {"F": (0.1, {"A": 0.8, "B": 0.5})})
    compound = gum.BayesNet()
    for one in "AB":
        compound.add(gum.LabelizedVariable(one, one, 2))
    compound.addNoisyORCompound(gum.LabelizedVariable("F", "F", 2), 0.1)
    compound.addWeightedArc("A", "F", 0.8)
    compound.addWeightedArc("B", "F", 0.5)
    both = {"A": 1, "B": 1}
    there = {"A": True, "B": True}
    here = math.exp(posterior(net, {"F": YES}, there).log_evidence)
    assert here == pytest.approx(
        library.chances(likely_causes.noisy_or(net, ["F"]), both, ["F"])[1]["F"][1], abs=1e-12
    )
    assert here == pytest.approx(0.91, abs=1e-6)
    other = library.chances(compound, both, ["F"])[1]["F"][1]
    assert other == pytest.approx(0.888889, abs=1e-6)
    # a strength that holds the leak already, without it: 1 - (1 - w) / (1 - leak)
    freed = binary(dict.fromkeys("AB", 0.5), {"F": (0.1, {"A": 1 - 0.2 / 0.9, "B": 1 - 0.5 / 0.9})})
    assert math.exp(posterior(freed, {"F": YES}, there).log_evidence) == pytest.approx(other, abs=1e-12)


@pytest.mark.parametrize("seed", range(10))
def test_signs_with_levels_say_what_the_librarys_max_says(seed):
    rng = random.Random(seed)
    net = drawn(rng, faults=5, signs=4)
    seen = {sign: rng.randrange(len(node.leak)) for sign, node in net.signs.items()}
    chance, found = library.chances(library.highest(net), seen, list(net.priors))
    hard = {s: tuple(float(n == at) for n in range(len(net.signs[s].leak))) for s, at in seen.items()}
    here, of_fault = said(net, hard)
    assert here == pytest.approx(chance, rel=1e-9)
    assert of_fault == pytest.approx({fault: pair[1] for fault, pair in found.items()}, abs=1e-9)


def test_twelve_faults_and_twenty_signs_are_what_all_4096_sets_say():
    rng = random.Random(17)
    faults = [f"f{n}" for n in range(12)]
    signs = {
        f"s{n}": (rng.uniform(0.003, 0.03), {one: rng.uniform(0.15, 0.95) for one in rng.sample(faults, 4)})
        for n in range(20)
    }
    net = binary({fault: rng.uniform(0.005, 0.03) for fault in faults}, signs)
    answers = {f"s{n}": n < 7 for n in range(12)}
    sets = (np.arange(1 << 12)[:, np.newaxis] >> np.arange(12)) & 1
    weight = np.prod(
        [np.where(sets[:, n], net.priors[f], 1 - net.priors[f]) for n, f in enumerate(faults)], axis=0
    )
    for sign, yes in answers.items():
        leak, strengths = signs[sign]
        missed = (1 - leak) * np.prod(
            [1 - w * sets[:, faults.index(f)] for f, w in strengths.items()], axis=0
        )
        weight = weight * (1 - missed if yes else missed)
    here, of_fault = said(net, {sign: YES if yes else NO for sign, yes in answers.items()})
    assert here == pytest.approx(weight.sum(), rel=1e-12)
    expected = weight @ sets / weight.sum()
    assert list(of_fault.values()) == pytest.approx(expected.tolist(), abs=1e-12)


def test_sixty_faults_and_120_signs_are_what_the_library_says():
    net, yes, no = likely_causes.drawn(seed=18, causes=6, yes=15, no=25)
    chance, found = library.with_no_absorbed(net, yes, no)
    here, of_fault = said(net, {**dict.fromkeys(yes, YES), **dict.fromkeys(no, NO)})
    assert here == pytest.approx(chance, rel=1e-9)
    assert of_fault == pytest.approx(found, abs=1e-10)


@pytest.mark.parametrize("causes", [6, 10])
def test_sixty_faults_and_thirty_positive_answers_take_no_quarter_of_a_second(causes):
    """A guard for a busy machine; the figure itself is in benchmarks/likely_causes.py."""
    net, yes, no = likely_causes.drawn(seed=20, causes=causes)
    evidence = {**dict.fromkeys(yes, YES), **dict.fromkeys(no, NO)}
    took = []
    for _ in range(3):
        began = time.process_time()
        posterior(net, evidence)
        took.append(time.process_time() - began)
    assert min(took) < 0.25
