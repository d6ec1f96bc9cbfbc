"""The chances of 60 faults after an answer, with 120 signs of which 30 were answered with yes."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from statistics import median
from time import perf_counter
from typing import Any

NETS = 8
RUNS = 5


def drawn(seed: int, causes: int, yes: int = 30, no: int = 10) -> tuple[Any, list[str], list[str]]:
    """
    A net of eight mechanisms with 15 % of the links across, and the signs answered with yes and with no.

    Yes goes to what four true faults show, topped up with signs at random, which is harsher than a real job.
    """
    from pegwood.causes.inference import FaultNet, Link, SignNode

    rng = random.Random(seed)
    faults = [f"f{n}" for n in range(60)]
    nodes, links = {}, []
    for n in range(120):
        sign, here, leak = f"s{n}", faults[n % 8 :: 8], rng.uniform(0.003, 0.03)
        nodes[sign] = SignNode(id=sign, leak=(1 - leak, leak))
        some = (rng.choice(faults if rng.random() < 0.15 else here) for _ in range(rng.randint(2, causes)))
        for fault in dict.fromkeys(some):
            shows = rng.uniform(0.15, 0.95)
            links.append(Link(fault=fault, sign=sign, shows=(1 - shows, shows)))
    net = FaultNet({fault: rng.uniform(0.005, 0.03) for fault in faults}, nodes, tuple(links))
    true = set(rng.sample(faults, 4))
    missed = {
        sign: node.leak[0] * math.prod(link.shows[0] for link in net.of_sign[sign] if link.fault in true)
        for sign, node in nodes.items()
    }
    shown = [sign for sign in nodes if rng.random() > missed[sign]]
    rest = [sign for sign in nodes if sign not in shown]
    rng.shuffle(rest)
    positive = (shown + rest)[:yes]
    return net, positive, [sign for sign in rest if sign not in positive][:no]


def measure() -> list[dict[str, Any]]:
    """Ours and the library's, in turn, with up to 6 and up to 10 causes of a sign; the slowest of each."""
    return [row for causes in (6, 10) for row in _measured(causes)]


def _measured(causes: int) -> list[dict[str, Any]]:
    from pegwood.causes.inference import posterior, predicted

    ours, looks, library = [], [], []
    for seed in range(NETS):
        net, yes, no = drawn(seed, causes)
        evidence = dict.fromkeys(yes, (0.0, 1.0)) | dict.fromkeys(no, (1.0, 0.0))
        others = [sign for sign in net.signs if sign not in evidence]
        theirs = _library(net, yes, no)
        pairs = [(_timed(lambda: posterior(net, evidence)), _timed(theirs)) for _ in range(RUNS)]  # noqa: B023
        for of, times in zip((ours, library), zip(*pairs, strict=True), strict=True):
            of.append(median(times))
        looks.append(median(_timed(lambda: predicted(net, evidence, None, others)) for _ in range(3)))  # noqa: B023
    against = "pyAgrum's lazy propagation, the slowest of the same nets"
    return [
        {
            "name": f"60 faults after an answer, 30 positive, {causes} causes of a sign: slowest of {NETS}",
            "value": max(ours),
            "baseline": max(library),
            "against": against,
            "ratio": max(ours) / max(library),
            "budget": 0.050,
            "budget_is": "value",
        },
        {
            "name": f"what each of 80 further looks would say, {causes} causes of a sign: slowest of {NETS}",
            "value": max(looks),
            "baseline": max(ours),
            "against": "one answer's",
            "ratio": max(looks) / max(ours),
            "budget": None,
        },
    ]


def noisy_or(net: Any, signs: Sequence[str]) -> Any:
    """The faults, and these signs of two levels, as nodes of the general-purpose library."""
    import pyagrum as gum

    made = gum.BayesNet()
    for fault, prior in net.priors.items():
        made.add(gum.LabelizedVariable(fault, fault, 2))
        made.cpt(fault).fillWith([1 - prior, prior])
    for sign in signs:
        made.addNoisyORNet(gum.LabelizedVariable(sign, sign, 2), net.signs[sign].leak[1])
        for link in net.of_sign[sign]:
            made.addWeightedArc(link.fault, sign, link.shows[1])
    return made


def no_absorbed(net: Any, yes: Sequence[str], no: Sequence[str]) -> dict[str, Any]:
    """
    What was seen, for the library: it chokes on "no", so each becomes soft evidence on its causes.

    Each multiplies the weight of a cause that is there by its chance to miss (facts, decisions 2.4 b; seen).
    """
    evidence: dict[str, Any] = dict.fromkeys(yes, 1)
    for sign in no:
        for link in net.of_sign[sign]:
            evidence.setdefault(link.fault, [1.0, 1.0])[1] *= link.shows[0]
    return evidence


def _library(net: Any, yes: list[str], no: list[str]) -> Any:
    """The same by the general-purpose library, its nodes built beforehand."""
    import pyagrum as gum

    made, evidence = noisy_or(net, yes), no_absorbed(net, yes, no)

    def run() -> None:
        engine = gum.LazyPropagation(made)
        engine.setEvidence(evidence)
        engine.makeInference()
        for fault in net.priors:
            engine.posterior(fault)

    return run


def _timed(run: Any) -> float:
    began = perf_counter()
    run()
    return perf_counter() - began
