"""
A linear fit to readings that were rounded to the divisions of a scale.

A reading then says no more than that the needle stood within half a division of it. Where the needle's own
scatter is small against the division, rounding is no noise: readings at one level are all rounded alike, and
an offset of a third of a division may not show at all. The likelihood of grouped readings (each the normal
probability of its division; Sheppard's problem, memory) holds for any ratio of scatter to division. Its
posterior, flat in the parameters and in the logarithm of the scatter, is drawn by importance sampling that
adapts itself to what it finds (population Monte Carlo, Cappe and others 2004; memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.uncertainty import Component, Measured

__all__ = ["Grouped", "fit_grouped"]

Array = NDArray[np.float64]

DRAWS = 4000
ROUNDS = 12
ENOUGH = 800
"""Draws that count, of those made, from which the result is good to a hundredth or two of an interval."""
SMALLEST_SCATTER = 1 / 20
"""In divisions: less cannot be told from none by readings that are rounded."""


@dataclass(frozen=True)
class Grouped:
    """
    Draws from the posterior.

    Parameters
    ----------
    values : array, shape (p,)
        Means of the parameters.
    draws : array, shape (n_draws, p)
        Parameters.
    weights : array, shape (n_draws,)
        Of the draws; they add up to one.
    scatter : array, shape (n_draws,)
        Standard deviation of the needle itself, in the unit of the readings.
    df : int
        Readings less parameters, [-].
    """

    values: Array
    draws: Array
    weights: Array
    scatter: Array
    df: int

    def of(self, slopes: Sequence[float] | Array, name: str, more: Sequence[Component] = ()) -> Measured:
        """
        A linear combination of the parameters, as `Fit.of` gives it.

        The uncertainty and the degrees of freedom are those of the Student's t whose 95 % interval is as wide
        as the posterior's: an interval that came of rounding alone is shorter than 1.96 standard deviations.

        Parameters
        ----------
        slopes : array_like, shape (p,)
            The factor of each parameter.
        name : str
            Name of the scatter in the budget.
        more : sequence of Component, optional
            What else is uncertain about it, taken as normal, in the unit of the result.

        Returns
        -------
        figure : Measured
        """
        own = self.draws @ np.asarray(slopes, dtype=float)
        value = float(self.weights @ own)
        own_u, _ = self._like_student(own - value)
        extra = math.hypot(*(one.u for one in more)) if more else 0.0
        normal = np.random.default_rng(5).standard_normal(own.size) * extra
        u, df = self._like_student(own - value + normal)
        note = "scatter and rounding together, by the likelihood of readings rounded to the divisions"
        return Measured(value, u, df, (Component(name, own_u, self.df, "A", note), *more))

    def _like_student(self, off: Array) -> tuple[float, float]:
        """Uncertainty and degrees of freedom of a Student's t with this spread and 95 % half-width."""
        from scipy.stats import t as student

        order = np.argsort(np.abs(off))
        half = float(np.abs(off)[order][np.searchsorted(np.cumsum(self.weights[order]), 0.95)])
        sd = math.sqrt(float(self.weights @ off**2))
        if self.df <= 2:  # so few readings have no standard deviation worth the name
            return half / float(student.ppf(0.975, self.df)), float(self.df)
        if sd == 0 or half / sd <= 1.961:
            return half / 1.959964, math.inf
        factors = student.ppf(0.975, _DFS)
        return half / (factor := float(np.interp(half / sd, factors[::-1], factors[::-1]))), float(
            np.interp(factor, factors[::-1], _DFS[::-1])
        )


_DFS = np.geomspace(1.0, 1e4, 200)


def fit_grouped(
    design: Array, y: Array, division: Array, usual: Array | None = None, seed: int = 7
) -> Grouped | None:
    """
    Fit ``y = design @ values`` where y was rounded to divisions.

    Parameters
    ----------
    design : array, shape (n, p)
        A column for each parameter.
    y : array, shape (n,)
        Readings.
    division : array, shape (n,)
        Step each was rounded to, above zero somewhere, in the unit of y.
    usual : array, shape (p,), optional
        How large each parameter usually is (scale of a Cauchy about zero, which hardly touches what readings
        tell), in the unit of y; infinite where anything goes.
    seed : int
        Of the draws: the same readings give the same figures.

    Returns
    -------
    fit : Grouped or None
        None where the draws did not settle.
    """
    n, p = design.shape
    step = float(division[division > 0].mean())
    half = np.maximum(division, step / 50) / 2
    scale = np.full(p, np.inf) if usual is None else usual
    start, *_ = np.linalg.lstsq(design, y, rcond=None)
    scatter = math.sqrt(float(((y - design @ start) ** 2).sum()) / (n - p))
    inverse = np.linalg.inv(design.T @ design)
    mean = np.append(start, math.log(max(scatter, step / 5)))
    cover = np.zeros((p + 1, p + 1))
    cover[:p, :p] = inverse * (scatter**2 + step**2 / 4)
    cover[p, p] = 0.8
    rng = np.random.default_rng(seed)
    lowest = math.log(step * SMALLEST_SCATTER)
    for attempt in range(ROUNDS):
        draws, proposed = _student(rng, mean, cover, DRAWS)
        posterior = _log_posterior(design, y, half, draws, lowest) - np.log1p(
            (draws[:, :p] / scale) ** 2
        ).sum(axis=1)
        log_weights = posterior - proposed
        weights, count = _weights(log_weights, 1.0)
        if count >= ENOUGH and attempt >= 3:
            values = weights @ draws[:, :p]
            return Grouped(values, draws[:, :p], weights, np.exp(draws[:, p]), n - p)
        soft = 1.0
        while count < DRAWS / 20 and soft > 1e-3:
            soft *= 0.7
            weights, count = _weights(log_weights, soft)
        mean = weights @ draws
        off = draws - mean
        cover = 1.15 * (off.T * weights) @ off + 1e-12 * np.eye(p + 1)
    return None


def _student(
    rng: np.random.Generator, mean: Array, cover: Array, count: int, df: float = 5.0
) -> tuple[Array, Array]:
    """Draws from a multivariate t, and the logarithm of their density but for a constant."""
    size = mean.size
    root = np.linalg.cholesky(cover)
    plain = rng.standard_normal((count, size)) / np.sqrt(rng.chisquare(df, (count, 1)) / df)
    density = -0.5 * (df + size) * np.log1p((plain**2).sum(axis=1) / df) - float(np.log(np.diag(root)).sum())
    return mean + plain @ root.T, density


def _log_posterior(design: Array, y: Array, half: Array, draws: Array, lowest: float) -> Array:
    from scipy.special import ndtr

    sigma = np.exp(np.clip(draws[:, -1], -30, 30))
    off = y[:, None] - design @ draws[:, :-1].T
    # mirrored to the side of zero where the difference of two small tails keeps its digits
    off = -np.abs(off)
    inside = ndtr((off + half[:, None]) / sigma) - ndtr((off - half[:, None]) / sigma)
    total = np.log(np.maximum(inside, 1e-290)).sum(axis=0)
    return np.where(draws[:, -1] < lowest, -np.inf, total)


def _weights(log_weights: Array, soft: float) -> tuple[Array, float]:
    """Weights that add up to one, and how many draws they are worth (Kish)."""
    peak = log_weights.max()
    if not math.isfinite(peak):
        return np.full(log_weights.size, 1 / log_weights.size), 0.0
    weights = np.exp(soft * (log_weights - peak))
    weights /= weights.sum()
    return weights, 1 / float((weights**2).sum())
