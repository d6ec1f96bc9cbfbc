"""
The chances of all faults after some signs, exact.

A sign of which nothing is seen only scales each of its causes. What hangs together by the others is folded as
far as it goes (`folding`), and the rest gone through fault by fault with a table over the open signs
(`through`): the cost is 2 to the width, the most signs open at once where each has two states.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pegwood.causes.inference.net import FaultNet
from pegwood.causes.inference.rows import Row, problem, solved


@dataclass(frozen=True)
class Posterior:
    """
    What the signs say.

    Attributes
    ----------
    faults : mapping of str to float
        Chance of each fault, [1].
    log_evidence : float
        Natural logarithm of the chance of what was seen; minus infinity where the net holds it impossible:
        then the chances of the faults are those before.
    entries : int
        The largest table there was, or would have been.
    approximate : bool
    off : float
        How far each fault's true chance may be from what is told, [1]: nothing where it is exact.
    """

    faults: Mapping[str, float]
    log_evidence: float
    entries: int
    approximate: bool = False
    off: float = 0.0

    @property
    def is_possible(self) -> bool:
        """Whether the net could show what was seen at all."""
        return self.log_evidence > -math.inf


def posterior(
    net: FaultNet,
    evidence: Mapping[str, Sequence[float]],
    known: Mapping[str, bool] | None = None,
) -> Posterior:
    """
    The chances of all faults after signs.

    Parameters
    ----------
    net : FaultNet
    evidence : mapping of str to sequence of float
        By sign: how likely what was seen is at each of its levels, 0 or more, not all 0. (0, 1) for "yes" to
        a sign of two levels; an instrument gives what its uncertainty says.
    known : mapping of str to bool, optional
        Faults that were found, or found not to be there.

    Raises
    ------
    ValueError
        If a sign or a fault is none of the net, or a likelihood cannot be.
    TooWide
        If it cannot be done exactly.
    """
    this = problem(net, evidence, known)
    log, (_, faults) = solved(this, [Row()])
    return Posterior(dict(zip(this.priors, faults[0].tolist(), strict=True)), float(log[0]), this.entries)
