"""
What each look would say, against going through each answer by itself; what explains an answer, against going
through every level that the leak and each fault may show.
"""

from __future__ import annotations

import itertools
import math
import random

import numpy as np
import pytest

from causes.nets import NO, YES, answers, binary, drawn, enumerated
from pegwood.causes.inference import (
    FaultNet,
    leave_one_out,
    posterior,
    predicted,
    unexplained,
)


@pytest.mark.parametrize("seed", range(25))
def test_looks_in_one_batch_say_what_going_through_every_set_of_faults_says(seed):
    rng = random.Random(seed)
    net = drawn(rng, faults=rng.randint(1, 8), signs=rng.randint(2, 9))
    evidence = answers(rng, net, asked=0.5)
    known = {fault: rng.random() < 0.5 for fault in net.priors if rng.random() < 0.2}
    total, _ = enumerated(net, evidence, known)
    signs = [sign for sign in net.signs if sign not in evidence]
    found = predicted(net, evidence, known, signs)
    assert list(found) == signs
    for sign, said in found.items():
        for level, chance in enumerate(said.chances):
            answer = tuple(float(n == level) for n in range(len(said.chances)))
            joint, of_fault = enumerated(net, {**evidence, sign: answer}, known)
            assert chance == pytest.approx(joint / total, abs=1e-9)
            assert said.faults[level] == pytest.approx([one / joint for one in of_fault.values()], abs=1e-9)


def test_a_rare_answer_keeps_its_digits():
    net = binary({"A": 1e-7, "B": 0.1}, {"F": (1e-9, {"A": 0.5}), "G": (0.1, {"A": 0.5, "B": 0.5})})
    found = predicted(net, {"G": YES}, {}, ["F"])["F"]
    joint, of_fault = enumerated(net, {"G": YES, "F": YES}, {})
    assert found.chances[1] == pytest.approx(joint / enumerated(net, {"G": YES}, {})[0], rel=1e-9)
    assert found.faults[1] == pytest.approx([one / joint for one in of_fault.values()], abs=1e-9)


def test_an_answer_that_cannot_come_has_no_chance_and_changes_nothing():
    net = binary({"A": 0.3}, {"F": (0.0, {"A": 1.0}), "G": (0.0, {})})
    found = predicted(net, {}, {}, ["F", "G"])
    assert found["G"].chances == pytest.approx([1, 0])
    assert found["G"].faults == pytest.approx(np.array([[0.3], [0.3]]))
    assert found["F"].faults == pytest.approx(np.array([[0.0], [1.0]]))
    impossible = predicted(net, {"G": YES}, {}, ["F"])  # as if nothing had been seen
    assert impossible["F"].chances == pytest.approx([0.7, 0.3])


def test_only_what_is_a_sign_and_unanswered_is_predicted():
    net = binary({"A": 0.3}, {"F": (0.1, {"A": 0.5})})
    with pytest.raises(ValueError, match="'X' is no sign here"):
        predicted(net, {}, {}, ["X"])
    with pytest.raises(ValueError, match="'F' was answered already"):
        predicted(net, {"F": YES}, {}, ["F"])


def shown_by_none(net: FaultNet, evidence, known, asked: str, level: int) -> float:
    """By going through every set of faults and every level that the leak and each fault show."""
    reached = alone = 0.0
    names = list(net.priors)
    for there in itertools.product((False, True), repeat=len(names)):
        state = dict(zip(names, there, strict=True))
        chance = 1.0
        for fault, prior in net.priors.items():
            p = float(known.get(fault, prior))
            chance *= p if state[fault] else 1 - p
        if not chance:
            continue
        of_asked = np.zeros(2)
        for sign, weights in evidence.items():
            causes = [net.signs[sign].leak]
            causes += [link.shows for link in net.links if link.sign == sign and state[link.fault]]
            total = 0.0
            for levels in itertools.product(range(len(weights)), repeat=len(causes)):
                here = weights[max(levels)] * math.prod(one[n] for one, n in zip(causes, levels, strict=True))
                total += here
                if sign == asked and max(levels) >= level:
                    of_asked += (here, here if all(n < level for n in levels[1:]) else 0)
            if sign != asked:
                chance *= total
        reached += chance * of_asked[0]
        alone += chance * of_asked[1]
    return alone / reached


@pytest.mark.parametrize("seed", range(15))
def test_what_no_fault_explains_is_what_going_through_every_level_says(seed):
    rng = random.Random(seed)
    net = drawn(rng, faults=rng.randint(1, 5), signs=rng.randint(1, 5))
    evidence = answers(rng, net)
    known = {fault: rng.random() < 0.5 for fault in net.priors if rng.random() < 0.2}
    found = unexplained(net, evidence, known)
    likeliest = {sign: weights.index(max(weights)) for sign, weights in evidence.items()}
    assert list(found) == [sign for sign, level in likeliest.items() if level]
    for sign, chance in found.items():
        assert chance == pytest.approx(shown_by_none(net, evidence, known, sign, likeliest[sign]), abs=1e-9)


def test_what_nothing_can_show_is_unexplained_and_what_contradicts_itself_is_looked_at_one_by_one():
    net = binary({"A": 0.3}, {"F": (0.0, {"A": 0.5}), "G": (0.1, {"A": 0.5})})
    assert unexplained(net, {"F": YES}) == {"F": 0.0}
    assert unexplained(net, {"F": YES, "G": YES}, {"A": False}) == {"F": 1.0, "G": 1.0}
    assert unexplained(net, {"F": YES, "G": NO}, {"A": True}) == {"F": 0.0}


@pytest.mark.parametrize("seed", range(15))
def test_without_one_answer_it_is_as_if_it_had_not_been_given(seed):
    rng = random.Random(seed)
    net = drawn(rng, faults=rng.randint(1, 8), signs=rng.randint(1, 9))
    evidence = answers(rng, net)
    known = {fault: rng.random() < 0.5 for fault in net.priors if rng.random() < 0.2}
    total, _ = enumerated(net, evidence, known)
    found = leave_one_out(net, evidence, known)
    assert list(found) == list(evidence)
    for sign, without in found.items():
        others, of_fault = enumerated(net, {one: w for one, w in evidence.items() if one != sign}, known)
        assert without.is_possible
        assert without.chance == pytest.approx(total / others, abs=1e-9)
        assert without.faults == pytest.approx([one / others for one in of_fault.values()], abs=1e-9)


def test_the_answer_that_contradicts_all_others_is_found_by_leaving_it_out():
    net = binary({"A": 0.3}, {"F": (0.0, {"A": 1.0}), "G": (0.1, {"A": 0.5}), "H": (0.0, {"A": 0.5})})
    found = leave_one_out(net, {"F": NO, "G": YES, "H": YES})
    assert found["F"].chance == found["H"].chance == 0
    assert found["F"].is_possible
    assert found["H"].is_possible
    assert not found["G"].is_possible
    assert posterior(net, {"F": NO, "G": YES, "H": YES}).faults == {"A": 0.3}
