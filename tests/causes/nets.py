"""
Nets and answers for the tests, and every set of faults gone through: shares nothing with the engine.
"""

from __future__ import annotations

import itertools
import math
import random

from pegwood.causes.inference import FaultNet, Link, SignNode

NO, YES = (1.0, 0.0), (0.0, 1.0)


def binary(priors: dict[str, float], signs: dict[str, tuple[float, dict[str, float]]]) -> FaultNet:
    """A noisy-OR net from leaks and strengths."""
    return FaultNet(
        priors,
        {sign: SignNode(id=sign, leak=(1 - leak, leak)) for sign, (leak, _) in signs.items()},
        tuple(
            Link(fault=fault, sign=sign, shows=(1 - w, w))
            for sign, (_, strengths) in signs.items()
            for fault, w in strengths.items()
        ),
    )


def chances(rng: random.Random, levels: int) -> tuple[float, ...]:
    """A distribution over so many levels."""
    raw = [rng.random() for _ in range(levels)]
    first = [one / sum(raw) for one in raw]
    return (*first[:-1], 1 - math.fsum(first[:-1]))


def drawn(rng: random.Random, faults: int, signs: int) -> FaultNet:
    """A net with signs of two to four levels, some faults certain and some impossible."""

    names = [f"f{n}" for n in range(faults)]
    nodes = {f"s{n}": SignNode(id=f"s{n}", leak=chances(rng, rng.choice((2, 2, 3, 4)))) for n in range(signs)}
    links = [
        Link(fault=fault, sign=sign, shows=chances(rng, len(node.leak)))
        for sign, node in nodes.items()
        for fault in rng.sample(names, rng.randint(0, min(4, faults)))
    ]
    priors = {name: rng.choice((0.0, 1.0, *(rng.random() for _ in range(8)))) for name in names}
    return FaultNet(priors, nodes, tuple(links))


def enumerated(net: FaultNet, evidence, known) -> tuple[float, dict[str, float]]:
    """By going through every set of faults; what is shown is the highest level of leak and causes."""
    total, of_fault = 0.0, dict.fromkeys(net.priors, 0.0)
    for there in itertools.product((False, True), repeat=len(net.priors)):
        state = dict(zip(net.priors, there, strict=True))
        chance = 1.0
        for fault, prior in net.priors.items():
            p = float(known.get(fault, prior))
            chance *= p if state[fault] else 1 - p
        for sign, weights in evidence.items():
            causes = [net.signs[sign].leak] + [
                link.shows for link in net.links if link.sign == sign and state[link.fault]
            ]
            upto = [math.prod(sum(one[: n + 1]) for one in causes) for n in range(len(weights))]
            levels = [upto[0]] + [b - a for a, b in itertools.pairwise(upto)]
            chance *= sum(w * level for w, level in zip(weights, levels, strict=True))
        total += chance
        for fault, is_there in state.items():
            of_fault[fault] += chance * is_there
    return total, of_fault


def answers(rng: random.Random, net: FaultNet, asked: float = 0.75) -> dict[str, tuple[float, ...]]:
    """Answers to most signs, a third of them soft."""
    evidence = {}
    for sign, node in net.signs.items():
        levels = len(node.leak)
        if rng.random() > asked:
            continue
        seen = rng.randrange(levels)
        hard = tuple(float(n == seen) for n in range(levels))
        evidence[sign] = rng.choice((hard, hard, tuple(rng.random() for _ in range(levels))))
    return evidence
