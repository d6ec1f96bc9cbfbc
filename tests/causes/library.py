"""What the general-purpose library pyAgrum says of a net: the second opinion of the tests."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
import pyagrum as gum

from benchmarks.likely_causes import no_absorbed, noisy_or
from pegwood.causes.inference import FaultNet


def chances(
    made: gum.BayesNet, evidence: Mapping[str, object], of: Sequence[str]
) -> tuple[float, dict[str, list]]:
    """Chance of what was seen, and the states' chances of some variables after it, by lazy propagation."""
    engine = gum.LazyPropagation(made)
    engine.setEvidence(dict(evidence))
    engine.makeInference()
    return engine.evidenceProbability(), {name: engine.posterior(name).tolist() for name in of}


def with_no_absorbed(net: FaultNet, yes: Sequence[str], no: Sequence[str]) -> tuple[float, dict[str, float]]:
    """Chance of what was seen and of each fault, each "no" absorbed by its causes beforehand."""
    chance, found = chances(noisy_or(net, yes), no_absorbed(net, yes, no), list(net.priors))
    alone = math.prod(net.signs[sign].leak[0] for sign in no)
    return chance * alone, {fault: pair[1] for fault, pair in found.items()}


def highest(net: FaultNet) -> gum.BayesNet:
    """A net with levels: a node for what each present cause shows, and the library's own MAX over them."""
    made = gum.BayesNet()
    for fault, prior in net.priors.items():
        made.add(gum.LabelizedVariable(fault, fault, 2))
        made.cpt(fault).fillWith([1 - prior, prior])
    for sign, node in net.signs.items():
        levels = len(node.leak)
        shown = [f"{sign} leak"]
        made.add(gum.RangeVariable(shown[0], "", 0, levels - 1))
        made.cpt(shown[0]).fillWith(list(node.leak))
        for link in net.of_sign[sign]:
            shown.append(f"{sign} by {link.fault}")
            made.add(gum.RangeVariable(shown[-1], "", 0, levels - 1))
            made.addArc(link.fault, shown[-1])
            made.cpt(shown[-1])[{link.fault: 0}] = np.eye(levels)[0].tolist()
            made.cpt(shown[-1])[{link.fault: 1}] = list(link.shows)
        made.addMAX(gum.RangeVariable(sign, sign, 0, levels - 1))
        for one in shown:
            made.addArc(one, sign)
    return made
