"""The format of the UAI inference competitions (model and evidence file, 2008 and later; memory)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from pegwood.causes.inference import FaultNet
from pegwood.causes.interchange.general import GeneralNet, Variable, general


def to_uai(net: FaultNet, evidence: Mapping[str, Sequence[float]] | None = None) -> tuple[str, str]:
    """
    A net's text and that of what was seen, as UAI.

    The format has numbers for names, and takes no comment: variable n is the nth of `general`'s, and the
    faults come first, in the net's order. What was seen but softly becomes one more variable that is seen.

    Raises
    ------
    ValueError
        If something seen is no sign of the net.
    """
    base = general(net, "")
    variables, seen = list(base.variables), dict[int, int]()
    signs = {one.of: n for n, one in enumerate(variables) if n >= len(net.priors) and one.of}
    for sign, weights in (evidence or {}).items():
        if sign not in signs:
            raise ValueError(f"{sign!r} is no sign here.")
        likely = np.array(weights, dtype=np.float64)
        if np.count_nonzero(likely) == 1:
            seen[signs[sign]] = int(np.argmax(likely))
        else:
            likely = likely / likely.max()
            of = variables[signs[sign]]
            seen[len(variables)] = 1
            table = np.stack((1 - likely, likely), axis=1)
            variables.append(Variable(f"{of.name}_seen", "", ("no", "yes"), (of.name,), table))
    pairs = " ".join(f"{n} {level}" for n, level in sorted(seen.items()))
    return written(GeneralNet("", tuple(variables))), f"{len(seen)} {pairs}".strip() + "\n"


def written(net: GeneralNet) -> str:
    """A general net's text as UAI."""
    at = {one.name: n for n, one in enumerate(net.variables)}
    scopes = [[*(at[parent] for parent in one.parents), at[one.name]] for one in net.variables]
    lines = ["BAYES", str(len(at)), " ".join(str(len(one.states)) for one in net.variables), str(len(at))]
    lines += [" ".join(map(str, (len(scope), *scope))) for scope in scopes]
    for one in net.variables:
        lines += ["", str(one.table.size)]
        lines += [" ".join(map(repr, row)) for row in one.table.reshape(-1, len(one.states)).tolist()]
    return "\n".join(lines) + "\n"
