"""Bounds where exactness ends, held to the exact chances on nets where both can be had."""

from __future__ import annotations

import random

import pytest

from causes.nets import NO, YES, binary, chances
from pegwood.causes.inference import FaultNet, Link, SignNode, TooWide, approximate, posterior, rows
from pegwood.causes.inference.approximate import posterior_or_near


def tangled(rng: random.Random, faults: int = 14, signs: int = 12) -> FaultNet:
    """A net that hangs together, with leaks and misses of nothing at all among its numbers."""
    names = [f"f{n}" for n in range(faults)]
    nodes, links = {}, []
    for n in range(signs):
        levels = rng.choice((2, 2, 2, 3))
        leak = rng.choice((0.0, 0.01, 0.1))
        nodes[f"s{n}"] = SignNode(id=f"s{n}", leak=(1 - leak, *[leak / (levels - 1)] * (levels - 1)))
        for fault in rng.sample(names, rng.randint(2, 6)):
            shows = (0.0, 1.0) if levels == 2 and rng.random() < 0.1 else chances(rng, levels)
            links.append(Link(fault=fault, sign=f"s{n}", shows=shows))
    return FaultNet({name: rng.choice((0.01, 0.1, 0.3)) for name in names}, nodes, tuple(links))


def seen(rng: random.Random, net: FaultNet) -> dict[str, tuple[float, ...]]:
    """Mostly yes; sort of; the middle of three."""
    return {
        sign: rng.choice((YES, YES, YES, (0.2, 0.9), NO)) if len(node.leak) == 2 else (0.0, 1.0, 0.0)
        for sign, node in net.signs.items()
    }


@pytest.fixture
def narrow(monkeypatch):
    """Make exactness end early, and let the bounds have so many entries in all."""

    def put(in_all: int) -> None:
        monkeypatch.setattr(rows, "LARGEST_TABLE", 4)
        monkeypatch.setattr(approximate, "NARROW", 4)
        monkeypatch.setattr(approximate, "IN_ALL", in_all)

    return put


def test_each_chance_is_as_near_as_is_said(narrow):
    offs = []
    for seed in range(24):
        rng = random.Random(seed)
        net = tangled(rng)
        evidence = seen(rng, net)
        known = {"f0": True, "f1": False} if seed % 4 == 0 else {}
        rows.LARGEST_TABLE = 1 << 20
        exact = posterior(net, evidence, known)
        narrow(rng.choice((1, 1 << 20, 1 << 21)))
        near = posterior_or_near(net, evidence, known)
        assert exact.is_possible
        assert near.approximate
        for fault, chance in exact.faults.items():
            assert near.faults[fault] == pytest.approx(chance, abs=near.off + 1e-9)
        offs.append(near.off)
    assert max(offs) > 0.1  # else nothing was put to the test
    assert min(offs) < 0.01


@pytest.mark.parametrize("seed", range(6))
def test_with_time_enough_it_is_exact(seed, narrow):
    rng = random.Random(seed)
    net = tangled(rng, faults=8, signs=7)
    evidence = seen(rng, net)
    exact = posterior(net, evidence)
    narrow(1 << 40)
    near = posterior_or_near(net, evidence)
    assert near.off <= 1e-4
    assert near.faults == pytest.approx(exact.faults, abs=near.off + 1e-9)
    assert near.log_evidence == pytest.approx(exact.log_evidence, abs=1e-3)


def test_what_is_narrow_enough_is_exact_and_says_so():
    net = binary({"A": 0.1}, {"F": (0.05, {"A": 0.9})})
    found = posterior_or_near(net, {"F": YES})
    assert found == posterior(net, {"F": YES})
    assert (found.approximate, found.off) == (False, 0.0)


def test_what_cannot_be_has_no_chance_however_wide(narrow):
    faults = [f"f{n}" for n in range(4)]
    net = binary(dict.fromkeys(faults, 0.1), {f"s{n}": (0.0, dict.fromkeys(faults, 0.5)) for n in range(4)})
    narrow(1 << 40)
    evidence = {f"s{n}": YES for n in range(4)}
    assert posterior_or_near(net, evidence).is_possible
    rows.LARGEST_TABLE = 0
    without = dict.fromkeys(faults[1:], False)
    assert not posterior_or_near(net, {**evidence, "s3": NO}, {**without, "f0": False}).is_possible


def test_soft_answers_to_several_levels_cannot_be_bounded_and_are_refused(narrow):
    faults = [f"f{n}" for n in range(6)]
    nodes = {f"s{n}": SignNode(id=f"s{n}", leak=(0.8, 0.1, 0.1)) for n in range(6)}
    links = tuple(Link(fault=f, sign=s, shows=(0.5, 0.25, 0.25)) for f in faults for s in nodes)
    narrow(1 << 20)
    with pytest.raises(TooWide):
        posterior_or_near(
            FaultNet(dict.fromkeys(faults, 0.1), nodes, links), dict.fromkeys(nodes, (0.1, 0.5, 0.2))
        )
