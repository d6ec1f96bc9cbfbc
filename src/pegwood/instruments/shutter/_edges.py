"""
Shape of opening and closing edges, fitted to many edges at once.

An edge from 0 to 1 is described by F(x) = 1 - (1 - x^p)^q with x = (t - begin) / duration between 0 and 1. It holds a
straight ramp (p = q = 1), blades whose clear radius grows evenly (p = 2, q = 1) and their reverse exactly, and smooth
edges closely. It serves to find where an edge begins and ends; the exposure itself is integrated from the readings.
p and q are held near 1.3 by a weak prior, so that in heavy noise the answer stays a plain ramp and the stated
uncertainty still covers the shapes a blade can have.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["N_POINTS", "EdgeFits", "edge_shape", "fit_edges"]

N_POINTS = 96
_PRIOR_MEAN = 0.25  # of log p and log q
_PRIOR_SD = 0.5
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
    inside = np.clip(x, 1e-12, 1 - 1e-12)
    level: Array = 1 - (1 - inside**p) ** q
    return np.where(x <= 0, 0.0, np.where(x >= 1, 1.0, level))


def fit_edges(t: Array, y: Array, sigma: Array, begin: Array, end: Array) -> EdgeFits:
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

    Returns
    -------
    fits : EdgeFits
        Best fit and its uncertainty.
    """
    origin, scale = begin[:, None], np.maximum(end - begin, 1e-12)[:, None]
    x = (t - origin) / scale
    noise = np.maximum(sigma, 1e-4)
    theta = np.tile([0.0, 0.0, _PRIOR_MEAN, _PRIOR_MEAN], (len(begin), 1))
    theta, jacobian, residual = _solve(x, y, noise, theta)
    misfit = np.sqrt(np.mean(residual**2, axis=1))
    normal = np.einsum("eni,enj->eij", jacobian, jacobian)
    # a shape the model can't follow leaves residuals: they count as noise
    normal /= np.maximum(misfit, 1.0)[:, None, None] ** 2
    normal[:, [2, 3], [2, 3]] += _PRIOR_SD**-2
    normal[:, range(4), range(4)] += 1e-9
    covariance = np.linalg.inv(normal)
    span = np.exp(theta[:, 1])
    # begin = theta0, end = theta0 + exp(theta1)
    u_begin = np.sqrt(covariance[:, 0, 0])
    u_span = span * np.sqrt(covariance[:, 1, 1])
    var_end = covariance[:, 0, 0] + 2 * span * covariance[:, 0, 1] + u_span**2
    s = scale[:, 0]
    return EdgeFits(
        begin=begin + theta[:, 0] * s,
        end=begin + (theta[:, 0] + span) * s,
        u_begin=u_begin * s,
        u_end=np.sqrt(np.maximum(var_end, 0)) * s,
        u_span=u_span * s,
        power=np.exp(theta[:, 2:]),
        misfit=misfit,
        vagueness=np.minimum(1.0, covariance[:, [2, 3], [2, 3]].mean(axis=1) / _PRIOR_SD**2),
    )


def _model(x: Array, theta: Array) -> Array:
    place = (x - theta[:, 0:1]) / np.exp(theta[:, 1:2])
    return edge_shape(place, np.exp(theta[:, 2:3]), np.exp(theta[:, 3:4]))


def _cost(x: Array, y: Array, noise: Array, theta: Array) -> tuple[Array, Array]:
    residual = (y - _model(x, theta)) / noise
    prior = ((theta[:, 2:] - _PRIOR_MEAN) / _PRIOR_SD) ** 2
    return residual, (residual**2).sum(axis=1) + prior.sum(axis=1)


def _jacobian(x: Array, noise: Array, theta: Array) -> Array:
    columns = []
    for i in range(4):
        step = np.zeros(4)
        step[i] = 1e-3
        columns.append((_model(x, theta + step) - _model(x, theta - step)) / 2e-3 / noise)
    return np.stack(columns, axis=2)


def _solve(x: Array, y: Array, noise: Array, theta: Array) -> tuple[Array, Array, Array]:
    damping = np.full(len(theta), 1e-2)
    residual, cost = _cost(x, y, noise, theta)
    jacobian = _jacobian(x, noise, theta)
    for _ in range(_ITERATIONS):
        normal = np.einsum("eni,enj->eij", jacobian, jacobian)
        gradient = np.einsum("eni,en->ei", jacobian, residual)
        normal[:, [2, 3], [2, 3]] += _PRIOR_SD**-2
        gradient[:, 2:] -= (theta[:, 2:] - _PRIOR_MEAN) / _PRIOR_SD**2
        diagonal = np.einsum("eii->ei", normal)
        damped = normal.copy()
        damped[:, range(4), range(4)] += damping[:, None] * diagonal + 1e-9
        move = np.clip(np.linalg.solve(damped, gradient[:, :, None])[:, :, 0], -0.4, 0.4)
        trial = theta + move
        trial[:, 1:] = np.clip(trial[:, 1:], -3.0, 2.0)
        trial_residual, trial_cost = _cost(x, y, noise, trial)
        better = trial_cost < cost
        gain = np.where(better, cost - trial_cost, 0.0)
        theta = np.where(better[:, None], trial, theta)
        residual = np.where(better[:, None], trial_residual, residual)
        cost = np.where(better, trial_cost, cost)
        damping = np.where(better, damping * 0.3, damping * 6)
        jacobian = _jacobian(x, noise, theta)
        if (gain < 1e-4 * (1 + 1e-3 * cost)).all() and _ > 3:
            break
    return theta, jacobian, residual
