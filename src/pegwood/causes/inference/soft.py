"""Soft evidence on a fault: a factor on its odds."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from pegwood.causes.inference.net import FaultNet


def with_odds(net: FaultNet, factors: Mapping[str, float]) -> FaultNet:
    """
    The net with the odds of some faults multiplied.

    Faults are independent of each other before any sign, so a finding that depends on one fault alone is the
    same as another prior of it (Pearl's virtual evidence, 1988; memory).

    Parameters
    ----------
    net : FaultNet
    factors : mapping of str to float
        By fault: how many times as likely what was found is with it as without it, [1].

    Raises
    ------
    ValueError
        If a fault is none of the net, or a factor is not a plain number above 0.
    """
    priors = dict(net.priors)
    for fault, factor in factors.items():
        if fault not in priors:
            raise ValueError(f"{fault!r} is no fault here.")
        if not (math.isfinite(factor) and factor > 0):
            raise ValueError(f"the odds of {fault!r} are multiplied by {factor:g}. Expected above 0.")
        raised = priors[fault] * factor
        priors[fault] = raised / (raised + (1 - priors[fault]))
    return replace(net, priors=priors)
