"""
Means of many small groups, each drawn towards what the others show: the normal hierarchical model.

y_ij = m + b_i + e_ij with b_i of variance between_i and e_ij of variance within_i. Given the variances all is
closed form (Gelman et al., Bayesian Data Analysis, 3rd ed., section 5.4: memory). The variances are those of
greatest restricted likelihood (REML, Patterson and Thompson 1971: memory), with a weak log-normal prior so
that a few values cannot make them nothing or without bound.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Pooled:
    """
    What the groups show together.

    Attributes
    ----------
    mean, mean_u : float
        m, and its standard uncertainty.
    groups, groups_u : array, shape (n_groups,)
        m + b_i, and their standard uncertainties.
    drawn : array, shape (n_groups,)
        How much of each group's value is m rather than its own mean, from 0 to 1.
    """

    mean: float
    mean_u: float
    groups: Floats
    groups_u: Floats
    drawn: Floats


def pooled(
    means: Floats, within: Floats, between: Floats, prior_mean: float = 0.0, prior_variance: float = math.inf
) -> Pooled:
    """
    Group values given all variances.

    Parameters
    ----------
    means : array, shape (n_groups,)
        Of each group; anything finite where it has no values.
    within : array, shape (n_groups,)
        The variance of each mean about its group's value; infinite where it has no values.
    between : array, shape (n_groups,)
        The variance of each group's value about m.
    prior_mean, prior_variance : float
        What is known of m beforehand; infinite: nothing.
    """
    total = within + between
    weights = 1.0 / total
    precision = float(weights.sum()) + 1.0 / prior_variance
    mean = (float((weights * means).sum()) + prior_mean / prior_variance) / precision
    drawn = np.ones_like(total)  # a group without values is all m
    np.divide(within, total, out=drawn, where=np.isfinite(within))
    own_variance = between * drawn
    return Pooled(
        mean=mean,
        mean_u=math.sqrt(1.0 / precision),
        groups=drawn * mean + (1.0 - drawn) * means,
        groups_u=np.sqrt(own_variance + drawn**2 / precision),
        drawn=drawn,
    )


@dataclass(frozen=True, kw_only=True)
class Weak:
    """What is known beforehand of a variance: its middle, and how far its logarithm may lie from there."""

    middle: float
    log_sd: float = 1.0

    def penalty(self, value: float) -> float:
        """Minus its log density, but for a constant."""
        return 0.5 * ((math.log(value) - math.log(self.middle)) / self.log_sd) ** 2


def variances(
    groups: Sequence[Floats],
    scales: Floats,
    between: Weak | None = None,
    within: Weak | None = None,
    prior_variance: float = math.inf,
) -> tuple[float, float]:
    """
    Between and within, each as a multiple of a group's own scale squared.

    Parameters
    ----------
    groups : sequence of arrays
        The values of each group, each with at least one.
    scales : array, shape (n_groups,)
        How far values of each group may spread; ones where all are alike.
    between, within : Weak, optional
        Known beforehand; without, plain REML.
    prior_variance : float
        Of m; infinite: REML.
    """
    from scipy.optimize import minimize

    counts = np.array([len(one) for one in groups], dtype=float)
    means = np.array([one.mean() for one in groups])
    squares = np.array([((one - one.mean()) ** 2).sum() for one in groups])
    scale2 = scales**2

    def minus_log(at: Floats) -> float:
        a, g = (math.exp(min(50.0, max(-50.0, one))) for one in at)
        inside = g * scale2
        total = a * scale2 + inside / counts
        found = 0.5 * float(((counts - 1) * np.log(inside) + squares / inside).sum())
        found += 0.5 * float(np.log(total * counts).sum())
        precision = float((1 / total).sum()) + 1 / prior_variance
        mean = float((means / total).sum()) / precision
        found += 0.5 * float(((means - mean) ** 2 / total).sum()) + 0.5 * mean**2 / prior_variance
        found += 0.5 * math.log(precision)
        found += between.penalty(a) if between else 0.0
        return found + (within.penalty(g) if within else 0.0)

    spread = float(np.concatenate(groups).var()) / float(scale2.mean()) or 1.0
    start = np.log([between.middle if between else spread / 2, within.middle if within else spread / 2])
    found = minimize(minus_log, start, method="Nelder-Mead", options={"xatol": 1e-7, "fatol": 1e-10})
    return math.exp(found.x[0]), math.exp(found.x[1])
