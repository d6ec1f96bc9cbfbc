"""
How much other families' jobs, and other workshops', count for.

A fault of a mechanism is much the same in every family that has it, but not quite. Were families' chances
spread about the mechanism's as the means of `others` jobs would be, n jobs of one family would tell of the
mechanism as much as n others / (n + others), all of them together as much again so limited of another family:
at most as `others` jobs. Their jobs are counted at that share (the weights of a normal hierarchical model,
Gelman et al., Bayesian Data Analysis, 3rd ed., section 5.4, put as counts of a power prior, Ibrahim and Chen
2000; memory).
"""

from __future__ import annotations

from collections.abc import Sequence


def shares(sizes: Sequence[float], others: float) -> list[float]:
    """
    What each job of each other group counts for, [1].

    Parameters
    ----------
    sizes : sequence of float
        How many jobs each group has.
    others : float
        How many jobs all of them may count for at most; 0: none counts.
    """
    if others <= 0:
        return [0.0] * len(sizes)
    alone = [others / (others + n) for n in sizes]
    together = sum(n * share for n, share in zip(sizes, alone, strict=True))
    return [share * others / (others + together) for share in alone]
