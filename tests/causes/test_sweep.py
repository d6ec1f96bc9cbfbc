"""
Chances of faults after signs: against tables worked by hand, and against going through every set of faults.

The tables are those of the facts, decisions, sections 2.1 and 2.2 (seen: worked there by enumeration and by a
general-purpose library, which agree).
"""

from __future__ import annotations

import itertools
import math
import random

import numpy as np
import pytest

from causes.nets import NO, YES, answers, binary, drawn, enumerated
from pegwood.causes.inference import FaultNet, Link, SignNode, TooWide, posterior

QMR = binary(
    {"A": 0.02, "B": 0.05, "C": 0.10},
    {
        "F1": (0.01, {"A": 0.8, "B": 0.4}),
        "F2": (0.02, {"B": 0.7, "C": 0.3}),
        "F3": (0.05, {"A": 0.5, "C": 0.6}),
        "F4": (0.03, {"A": 0.25, "B": 0.35, "C": 0.9}),
    },
)


@pytest.mark.parametrize(
    ("answers", "chance", "a", "b", "c"),
    [
        ("1", 0.0453232000, 0.355650, 0.458379, 0.100000),
        ("11", 0.0160631997, 0.086076, 0.924506, 0.150703),
        ("110", 0.0133797474, 0.037404, 0.963267, 0.060964),
        ("1101", 0.0053774701, 0.050704, 0.958180, 0.141296),
        ("1111", 0.0019228450, 0.315972, 0.707452, 0.777425),
        ("0000", 0.7572306924, 0.001528, 0.006120, 0.003101),
    ],
)
def test_the_hand_checkable_net(answers, chance, a, b, c):
    evidence = {f"F{n}": (NO, YES)[int(one)] for n, one in enumerate(answers, 1)}
    found = posterior(QMR, evidence)
    assert math.exp(found.log_evidence) == pytest.approx(chance, abs=1e-9)
    assert [found.faults[one] for one in "ABC"] == pytest.approx([a, b, c], abs=1e-6)


def test_the_fever_table_of_russell_and_norvig():
    # strengths .4 cold, .8 flu, .9 malaria, no leak: (cold, flu, malaria) = 000 ... 111
    expected = (0, 0.9, 0.8, 0.98, 0.4, 0.94, 0.88, 0.988)
    net = binary(dict.fromkeys("cfm", 0.5), {"fever": (0.0, {"c": 0.4, "f": 0.8, "m": 0.9})})
    for there, chance in zip(itertools.product((False, True), repeat=3), expected, strict=True):
        found = posterior(net, {"fever": YES}, dict(zip("cfm", there, strict=True)))
        assert (math.exp(found.log_evidence) if found.is_possible else 0) == pytest.approx(chance, abs=1e-12)


def test_the_noisy_max_row():
    leak, a, b = (0.9, 0.08, 0.02), (0.3, 0.5, 0.2), (0.6, 0.3, 0.1)
    net = FaultNet(
        {"A": 0.1, "B": 0.1},
        {"Y": SignNode(id="Y", leak=leak)},
        (Link(fault="A", sign="Y", shows=a), Link(fault="B", sign="Y", shows=b)),
    )
    at = [tuple(float(level == n) for level in range(3)) for n in range(3)]
    for known, row in (
        ({"A": True, "B": True}, (0.162, 0.5436, 0.2944)),
        ({"A": True, "B": False}, (0.27, 0.514, 0.216)),
        ({"A": False, "B": False}, leak),
    ):
        found = [math.exp(posterior(net, {"Y": one}, known).log_evidence) for one in at]
        assert found == pytest.approx(row, abs=1e-12)
    found = posterior(net, {"Y": at[2]})
    assert found.faults == pytest.approx({"A": 0.454922364, "B": 0.275668645}, abs=1e-9)


@pytest.mark.parametrize("seed", range(40))
def test_going_through_every_set_of_faults_gives_the_same(seed):
    rng = random.Random(seed)
    net = drawn(rng, faults=rng.randint(1, 9), signs=rng.randint(1, 9))
    evidence = answers(rng, net)
    known = {fault: rng.random() < 0.5 for fault in net.priors if rng.random() < 0.2}
    total, of_fault = enumerated(net, evidence, known)
    found = posterior(net, evidence, known)
    assert math.exp(found.log_evidence) == pytest.approx(total, rel=1e-9)
    for fault, chance in of_fault.items():
        assert found.faults[fault] == pytest.approx(chance / total, abs=1e-9)


def test_what_cannot_be_shown_leaves_the_chances_as_they_were_and_says_so():
    net = binary({"A": 0.3}, {"F": (0.0, {"A": 1.0})})
    for evidence, known in (({"F": YES}, {"A": False}), ({"F": NO}, {"A": True})):
        found = posterior(net, evidence, known)
        assert not found.is_possible
        assert found.faults == {"A": float(known["A"])}
    assert posterior(net, {}).faults == {"A": 0.3}


def test_an_instruments_doubt_lies_between_knowing_and_not_asking():
    net = binary({"A": 0.1}, {"F": (0.05, {"A": 0.9})})
    sure, none = posterior(net, {"F": YES}).faults["A"], posterior(net, {}).faults["A"]
    half = posterior(net, {"F": (0.2, 0.8)}).faults["A"]
    assert none < half < sure
    assert posterior(net, {"F": (0.5, 0.5)}).faults["A"] == pytest.approx(none)


def test_what_hangs_together_too_widely_is_refused_and_not_guessed():
    faults = [f"f{n}" for n in range(40)]
    net = binary(dict.fromkeys(faults, 0.1), {f"s{n}": (0.1, dict.fromkeys(faults, 0.5)) for n in range(22)})
    with pytest.raises(TooWide, match="4194304 entries"):
        posterior(net, {f"s{n}": YES for n in range(22)})
    assert posterior(net, {f"s{n}": NO for n in range(22)}).entries == 1


@pytest.mark.parametrize(
    ("evidence", "known", "says"),
    [
        ({"F9": YES}, {}, "'F9' is no sign here"),
        ({"F1": (0.0, 0.0)}, {}, "not 0 throughout"),
        ({"F1": (0.0, float("nan"))}, {}, "0 or more"),
        ({"F1": (0.0, -1.0)}, {}, "0 or more"),
        ({"F1": (1.0, 0.0, 0.0)}, {}, "has 2 levels, and 3 were answered"),
        ({}, {"Z": True}, "'Z' is no fault here"),
    ],
)
def test_an_answer_that_cannot_be_is_refused(evidence, known, says):
    with pytest.raises(ValueError, match=says):
        posterior(QMR, evidence, known)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"priors": {"A": 1.5}}, "Expected 0 to 1"),
        ({"links": (Link(fault="B", sign="F", shows=NO),)}, "'B', which is no fault"),
        ({"links": (Link(fault="A", sign="G", shows=NO),)}, "'G', which is no sign"),
        ({"links": (Link(fault="A", sign="F", shows=NO),) * 2}, "linked to 'F' twice"),
        ({"links": (Link(fault="A", sign="F", shows=(1.0, 0.0, 0.0)),)}, "other levels"),
    ],
)
def test_a_net_that_cannot_be_is_refused(change, says):
    parts = {"priors": {"A": 0.5}, "signs": {"F": SignNode(id="F", leak=NO)}, "links": ()} | change
    with pytest.raises(ValueError, match=says):
        FaultNet(**parts)


@pytest.mark.parametrize("chances", [(1.0,), (0.5, 0.4), (1.2, -0.2), (float("nan"), 1.0)])
def test_chances_that_do_not_make_one_are_refused(chances):
    with pytest.raises(ValueError, match=r"Expected|chance"):
        SignNode(id="F", leak=chances)


def test_all_sets_of_twenty_faults():
    """Each of the 2**20 sets gone through in NumPy, by the definition of noisy-MAX, with soft answers."""
    rng = random.Random(20)
    net = drawn(rng, faults=20, signs=16)
    evidence = answers(rng, net)
    at = {fault: n for n, fault in enumerate(net.priors)}
    there = (np.arange(1 << 20)[:, np.newaxis] >> np.arange(20) & 1).astype(bool)
    weight = np.prod(
        np.where(there, list(net.priors.values()), 1 - np.array(list(net.priors.values()))), axis=1
    )
    for sign, likely in evidence.items():
        below = np.zeros(len(weight))
        said = np.zeros(len(weight))
        for level, by in enumerate(likely):
            upto = np.full(len(weight), math.fsum(net.signs[sign].leak[: level + 1]))
            for link in net.of_sign[sign]:
                upto *= np.where(there[:, at[link.fault]], math.fsum(link.shows[: level + 1]), 1.0)
            said += by * (upto - below)
            below = upto
        weight *= said
    found = posterior(net, evidence)
    assert found.log_evidence == pytest.approx(math.log(weight.sum()), abs=1e-9)
    for fault, chance in found.faults.items():
        assert chance == pytest.approx(weight[there[:, at[fault]]].sum() / weight.sum(), abs=1e-9)
