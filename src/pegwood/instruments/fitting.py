"""
Weighted least squares for what is linear in its parameters, with everything a budget needs.

By an orthogonal (QR) decomposition, which keeps the digits that normal equations lose. Scatter is taken from
the residuals, so the uncertainties go with Student's t of `df` (JCGM 100:2008, H.3; memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pegwood.instruments.uncertainty import Component, Measured, combine

__all__ = ["Fit", "fit_linear", "polynomial"]

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Fit:
    """
    Fitted parameters.

    Parameters
    ----------
    values : array, shape (p,)
        Estimates.
    covariance : array, shape (p, p)
        Of the estimates, scaled by the scatter of the residuals.
    df : int
        Readings less parameters, [-].
    residual_sd : float
        Standard deviation of a residual, in the unit of y; where uncertainties were given, as a multiple of
        them. Zero where the fit is exact.
    residuals : array, shape (n,)
        Reading less fit, in the order of the readings, in the unit of y.
    leverage : array, shape (n,)
        Diagonal of the hat matrix: how much each reading pulls the fit to itself, 0 to 1, [-].
    """

    values: Array
    covariance: Array
    df: int
    residual_sd: float
    residuals: Array
    leverage: Array

    def of(self, slopes: ArrayLike, name: str, more: Sequence[Component] = ()) -> Measured:
        """
        A linear combination of the parameters, as a measured value.

        Parameters
        ----------
        slopes : array_like, shape (p,)
            The factor of each parameter: ``(1, x)`` gives the straight line's height at x.
        name : str
            Name of the scatter in the budget.
        more : sequence of Component, optional
            What else is uncertain about it, in the unit of the result.

        Returns
        -------
        figure : Measured
            With the scatter's degrees of freedom, and Welch-Satterthwaite's where there is more.
        """
        g = np.asarray(slopes, dtype=float)
        u = math.sqrt(max(float(g @ self.covariance @ g), 0.0))
        note = f"scatter of the readings about the fit, {self.df} degrees of freedom"
        return combine(float(g @ self.values), [Component(name, u, self.df, "A", note), *more])


def polynomial(x: ArrayLike, degree: int) -> Array:
    """
    Design matrix of a polynomial.

    Parameters
    ----------
    x : array_like, shape (n,)
        Where it was read.
    degree : int
        Highest power.

    Returns
    -------
    design : array, shape (n, degree + 1)
        Powers of x, rising.
    """
    return np.vander(np.asarray(x, dtype=float), degree + 1, increasing=True)


def fit_linear(design: ArrayLike, y: ArrayLike, u: ArrayLike | None = None) -> Fit:
    """
    Fit ``y = design @ values``.

    Parameters
    ----------
    design : array_like, shape (n, p)
        A column for each parameter.
    y : array_like, shape (n,)
        Readings.
    u : array_like, shape (n,), optional
        Their standard uncertainties, above zero, in the unit of y; alike if not given. Only their ratios
        count.

    Returns
    -------
    fit : Fit

    Raises
    ------
    ValueError
        If there are not more readings than parameters, a number is not finite, a weight is not above zero, or
        the readings cannot tell two parameters apart (all at one place).
    """
    a, b = np.asarray(design, dtype=float), np.asarray(y, dtype=float)
    n, p = a.shape
    if n <= p:
        raise ValueError(f"{p} parameters need at least {p + 1} readings, not {n}")
    weight = np.ones(n) if u is None else 1 / np.asarray(u, dtype=float)
    if not (np.isfinite(a).all() and np.isfinite(b).all() and np.isfinite(weight).all()) or weight.min() <= 0:
        raise ValueError("readings and their uncertainties must be finite, the uncertainties above zero")
    scale = np.linalg.norm(a * weight[:, None], axis=0)
    if not scale.all():
        raise ValueError("a parameter is told by no reading at all")
    q, r = np.linalg.qr(a * weight[:, None] / scale)
    if np.abs(np.diag(r)).min() < 1e-10:
        raise ValueError("the readings cannot tell the parameters apart: they stand at too few places")
    inverse = np.linalg.inv(r) / scale[:, None]
    values = inverse @ (q.T @ (b * weight))
    residuals = b - a @ values
    df = n - p
    residual_sd = math.sqrt(float(((residuals * weight) ** 2).sum()) / df)
    return Fit(values, inverse @ inverse.T * residual_sd**2, df, residual_sd, residuals, (q**2).sum(axis=1))
