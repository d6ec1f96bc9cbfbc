"""
Shape of opening and closing edges, fitted to many edges at once.

An edge from 0 to 1 is described by F(x) = 1 - (1 - x^p)^q with x = (t - begin) / duration between 0 and 1.
It holds a straight ramp (p = q = 1), blades whose clear radius grows evenly (p = 2, q = 1) and their
reverse exactly, and smooth edges closely. It serves to find where an edge begins and ends; the exposure
itself is integrated from the readings. p and q are held near 1.3 by a weak prior, so that in heavy noise
the answer stays a plain ramp and the stated uncertainty still covers the shapes a blade can have.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["NOISE_FLOOR", "N_POINTS", "PRIOR_SD", "EdgeFits", "edge_shape", "fit_edges"]

N_POINTS = 72
_PRIOR_MEAN = 0.25  # of log p and log q
PRIOR_SD = 0.5
NOISE_FLOOR = 1e-4  # of full light: the model itself is no better
_ITERATIONS = 30

Array = NDArray[np.float64]


@dataclass(frozen=True)
class EdgeFits:
    """
    Fitted edges.

    Parameters
    ----------
    begin, end : array, shape (n_edges,)
        Where the edge leaves 0 and where it reaches 1, in the unit of the time given.
    u_begin, u_end, u_span : array, shape (n_edges,)
        Standard uncertainties, of `end - begin` the last.
    half, u_half : array, shape (n_edges,)
        Where the edge passes one half, and its standard uncertainty.
    power : array, shape (n_edges, 2)
        p and q.
    misfit : array, shape (n_edges,)
        Root mean square of the residuals over the expected noise, [-].
    vagueness : array, shape (n_edges,)
        How little the readings say about p and q: variance left over that of the prior, 0 to 1, [-].
    """

    begin: Array
    end: Array
    u_begin: Array
    u_end: Array
    u_span: Array
    half: Array
    u_half: Array
    power: Array
    misfit: Array
    vagueness: Array


def edge_shape(x: NDArray[Any], p: NDArray[Any] | float, q: NDArray[Any] | float) -> Array:
    """
    The shape F(x) of an edge.

    Parameters
    ----------
    x : array
        Place in the edge; 0 where it begins and 1 where it ends, [-].
    p, q : array or float
        Powers at the foot and at the shoulder, [-].

    Returns
    -------
    level : array
        Between 0 and 1, [-].
    """
    level: Array = 1 - (1 - np.clip(x, 0, 1) ** p) ** q
    return level


def fit_edges(
    t: Array, y: Array, sigma: Array, begin: Array, end: Array, prior_sd: float = PRIOR_SD
) -> EdgeFits:
    """
    Fit all edges together (Levenberg-Marquardt, one small system per edge).

    Parameters
    ----------
    t : array, shape (n_edges, N_POINTS)
        Times of the points.
    y : array, shape (n_edges, N_POINTS)
        Levels: 0 before the edge, 1 after it.
    sigma : array, shape (n_edges, 1)
        Noise of one point.
    begin, end : array, shape (n_edges,)
        First guess.
    prior_sd : float
        How freely log p and log q may leave their usual value, [-].

    Returns
    -------
    fits : EdgeFits
        Best fit and its uncertainty.
    """
    origin, scale = begin[:, None], np.maximum(end - begin, 1e-12)[:, None]
    x = (t - origin) / scale
    noise = np.maximum(sigma, NOISE_FLOOR)
    theta = np.tile([0.0, 0.0, _PRIOR_MEAN, _PRIOR_MEAN], (len(begin), 1))
    half_width = 0.5 * (t[:, -1:] - t[:, :1]) / (N_POINTS - 1) / scale / 3**0.5
    theta, jacobian, residual = _solve(x, half_width, y, noise, theta, prior_sd)
    misfit = np.sqrt(np.mean(residual**2, axis=1))
    normal = jacobian.transpose(0, 2, 1) @ jacobian
    # a shape the model can't follow leaves residuals: they count as noise
    normal /= np.maximum(misfit, 1.0)[:, None, None] ** 2
    normal[:, [2, 3], [2, 3]] += prior_sd**-2
    normal[:, range(4), range(4)] += 1e-9
    covariance = np.asarray(np.linalg.inv(normal), dtype=np.float64)
    span = np.exp(theta[:, 1])
    # begin = theta0, end = theta0 + exp(theta1)
    u_begin = np.sqrt(covariance[:, 0, 0])
    u_span = span * np.sqrt(covariance[:, 1, 1])
    var_end = covariance[:, 0, 0] + 2 * span * covariance[:, 0, 1] + u_span**2
    s = scale[:, 0]
    half, u_half = _half(theta, covariance)
    return EdgeFits(
        begin=begin + theta[:, 0] * s,
        end=begin + (theta[:, 0] + span) * s,
        u_begin=u_begin * s,
        u_end=np.sqrt(np.maximum(var_end, 0)) * s,
        u_span=u_span * s,
        half=begin + half * s,
        u_half=u_half * s,
        power=np.exp(theta[:, 2:]),
        misfit=misfit,
        vagueness=np.minimum(1.0, covariance[:, [2, 3], [2, 3]].mean(axis=1) / prior_sd**2),
    )


def _half(theta: Array, covariance: Array) -> tuple[Array, Array]:
    """Where F is one half, and its standard uncertainty: F(h) = 1/2 at h = (1 - 2^(-1/q))^(1/p)."""
    span, p, q = (np.exp(theta[:, i]) for i in (1, 2, 3))
    left = 0.5 ** (1 / q)
    place = (1 - left) ** (1 / p)
    by_log_p = -place * np.log1p(-left) / p
    by_log_q = -place * left * np.log(2) / (p * q * (1 - left))
    slopes = np.stack((np.ones_like(span), span * place, span * by_log_p, span * by_log_q), axis=1)
    variance = np.einsum("ei,eij,ej->e", slopes, covariance, slopes)
    return theta[:, 0] + span * place, np.sqrt(np.maximum(variance, 0))


def _model(x: Array, half_width: Array, theta: Array) -> tuple[Array, Array]:
    """
    Level at every point and its derivatives by begin, log span, log p and log q.

    A point is the mean of readings over a little time; two Gauss points take care of the bend within it.
    """
    level, slopes = _shape_and_slopes(x - half_width, theta)
    level_2, slopes_2 = _shape_and_slopes(x + half_width, theta)
    return 0.5 * (level + level_2), 0.5 * (slopes + slopes_2)


def _shape_and_slopes(x: Array, theta: Array) -> tuple[Array, Array]:
    span, p, q = (np.exp(theta[:, i : i + 1]) for i in (1, 2, 3))
    place = (x - theta[:, 0:1]) / span
    inside = (place > 0) & (place < 1)
    safe = np.clip(place, 1e-9, 1 - 1e-9)
    log_x = np.log(safe)
    risen = np.exp(p * log_x)
    log_left = np.log1p(-risen)
    left = np.exp(q * log_left)
    level = np.where(place <= 0, 0.0, np.where(place >= 1, 1.0, 1 - left))
    steep = np.where(inside, q * np.exp((q - 1) * log_left) * risen * p, 0.0)
    by_place = steep / safe
    by_log_q = np.where(inside, -left * log_left * q, 0.0)
    return level, np.stack((-by_place / span, -by_place * place, steep * log_x, by_log_q), axis=2)


def _evaluate(
    x: Array, half_width: Array, y: Array, noise: Array, theta: Array, prior_sd: float
) -> tuple[Array, Array, Array]:
    level, slopes = _model(x, half_width, theta)
    residual = (y - level) / noise
    prior = ((theta[:, 2:] - _PRIOR_MEAN) / prior_sd) ** 2
    return residual, slopes / noise[:, :, None], (residual**2).sum(axis=1) + prior.sum(axis=1)


def _solve(
    x: Array, half_width: Array, y: Array, noise: Array, theta: Array, prior_sd: float
) -> tuple[Array, Array, Array]:
    damping = np.full(len(theta), 1e-2)
    residual, jacobian, cost = _evaluate(x, half_width, y, noise, theta, prior_sd)
    left = np.arange(len(theta))  # edges that still improve
    for iteration in range(_ITERATIONS):
        trial = theta[left] + _move(jacobian[left], residual[left], theta[left], damping[left], prior_sd)
        trial[:, 1:] = np.clip(trial[:, 1:], -3.0, 2.0)
        new = _evaluate(x[left], half_width[left], y[left], noise[left], trial, prior_sd)
        gain = cost[left] - new[2]
        better = gain > 0
        improved = left[better]
        theta[improved] = trial[better]
        residual[improved], jacobian[improved], cost[improved] = (part[better] for part in new)
        damping[left] *= np.where(better, 0.3, 6.0)
        settled = np.abs(gain) < 1e-4 * (1 + 1e-3 * cost[left])
        if iteration > 2:
            left = left[~(settled | (damping[left] > 1e6))]
        if not len(left):
            break
    return theta, jacobian, residual


def _move(jacobian: Array, residual: Array, theta: Array, damping: Array, prior_sd: float) -> Array:
    """Damped Gauss-Newton step."""
    turned = jacobian.transpose(0, 2, 1)
    normal = turned @ jacobian
    gradient = (turned @ residual[:, :, None])[:, :, 0]
    normal[:, [2, 3], [2, 3]] += prior_sd**-2
    gradient[:, 2:] -= (theta[:, 2:] - _PRIOR_MEAN) / prior_sd**2
    normal[:, range(4), range(4)] *= 1 + damping[:, None]
    normal[:, range(4), range(4)] += 1e-9
    move: Array = np.clip(np.linalg.solve(normal, gradient[:, :, None])[:, :, 0], -0.4, 0.4)
    return move
