"""
Best focus from the sharpness of a series of photographs through it.

Blurs add by their squares, and defocus grows evenly with the way from best focus. So 1 / MTF50^2 is close to
a parabola over the position: exactly one for Gaussian blurs, within an eighth for a disc with any other. It
is fitted by least squares, each photograph by its own uncertainty, so that sharp ones count most; one that
disagrees wildly with all others (shaken, mistaken) is left out and named.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.fitting import fit_linear, polynomial
from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.uncertainty import Component, Measured, combine

__all__ = ["FEWEST_POSITIONS", "FocusPeak", "best_focus"]

Array = NDArray[np.float64]
FEWEST_POSITIONS = 4
NEAR = 0.4
"""Photographs at least so sharp, against the sharpest, make the fit if there are enough of them."""
_FLOOR = 0.003
"""No photograph counts for more than this relative uncertainty would."""
_WILD = 5.0


@dataclass(frozen=True)
class FocusPeak:
    """
    Where focus is best.

    Parameters
    ----------
    best : Measured
        In the unit of the positions.
    peak : float
        MTF50 there, by the fit, [cycles/pixel].
    at, curve : array, shape (n,)
        The fit over the positions, for a chart.
    left_out : tuple of int
        Places in the series that were left out since they disagree.
    degree : int
        Of the polynomial.
    """

    best: Measured
    peak: float
    at: Array
    curve: Array
    left_out: tuple[int, ...]
    degree: int


def best_focus(
    positions: Sequence[float], sharpness: Sequence[Measured | None], position_u: float = 0.0
) -> FocusPeak:
    """
    Find best focus.

    Parameters
    ----------
    positions : sequence of float, shape (n,)
        Where each photograph was taken, any unit.
    sharpness : sequence of Measured or None, shape (n,)
        MTF50 of each, or another frequency; None where it was refused.
    position_u : float
        Standard uncertainty of a position among the others, same unit.

    Returns
    -------
    peak : FocusPeak

    Raises
    ------
    RefusedReadings
        If there are fewer than four positions, the peak lies beyond them, there are two, or none.
    """
    if len(positions) != len(sharpness):
        raise RefusedReadings(
            f"{len(sharpness)} photographs and {len(positions)} positions: give a position for each "
            "photograph."
        )
    if not all(math.isfinite(z) for z in positions):
        raise RefusedReadings("A position must be a finite number.")
    use = np.array([k for k, one in enumerate(sharpness) if one is not None], dtype=np.intp)
    z = np.array([positions[k] for k in use], dtype=float)
    figures = [one for one in sharpness if one is not None]
    f = np.array([one.value for one in figures])
    u = _steadied(f, figures)
    if len(np.unique(z)) < FEWEST_POSITIONS:
        raise RefusedReadings(
            f"{len(np.unique(z))} positions could be measured, and {FEWEST_POSITIONS} are the least for best "
            "focus. Take photographs at more positions, on both sides of it."
        )
    _check_flat(f, u)
    kept = _agreeing(z, f, u)
    _check_shape(z[kept], f[kept], u[kept])
    peak = _fitted(z[kept], f[kept], u[kept], [figures[k] for k in kept], position_u)
    left_out = tuple(int(use[k]) for k in range(len(use)) if k not in set(kept.tolist()))
    return FocusPeak(peak.best, peak.peak, peak.at, peak.curve, left_out, peak.degree)


def _steadied(f: Array, figures: Sequence[Measured]) -> Array:
    """
    Uncertainties fit to weigh by.

    Each is itself a guess from a dozen parts of an edge, and weights that happen to be too large make a fit
    look better than it is (GUM, E.4.3: 24 % with ten readings); half of each is the series' own middle.
    """
    if not len(f):
        return f
    relative = np.array([max(one.u / one.value, _FLOOR) for one in figures])
    steadied: Array = f * np.sqrt((relative**2 + 1.1 * np.median(relative) ** 2) / 2)
    return steadied


def _check_flat(f: Array, u: Array) -> None:
    from scipy.stats import chi2

    mean = float(np.average(f, weights=1 / u**2))
    if chi2.sf(float((((f - mean) / u) ** 2).sum()), len(f) - 1) > 0.001 or f.max() < 1.05 * f.min():
        raise RefusedReadings(
            "All positions are about as sharp as one another, so best focus cannot be told. Take the "
            "series over a longer way, with the lens wide open."
        )


def _agreeing(z: Array, f: Array, u: Array) -> NDArray[np.intp]:
    """Places of those that agree with the rest; at most one in five is left out."""
    kept = np.arange(len(z))
    for _ in range(len(z) // 5):
        if len(kept) < 6:
            break
        worst, ratio = -1, 0.0
        for k in range(len(kept)):
            others = np.delete(kept, k)
            if len(np.unique(z[others])) < FEWEST_POSITIONS + 1:
                continue
            over, scatter = _left_over(z[others], f[others], u[others], z[kept[k]], f[kept[k]], u[kept[k]])
            if over > _WILD * max(1.0, scatter) and over / max(1.0, scatter) > ratio:
                worst, ratio = k, over / max(1.0, scatter)
        if worst < 0:
            break
        kept = np.delete(kept, worst)
    return kept


def _left_over(z: Array, f: Array, u: Array, at: float, one: float, one_u: float) -> tuple[float, float]:
    """How far a photograph is off the others' fit, and the others themselves, in uncertainties."""
    middle, half = float(z.mean()), float(np.ptp(z)) / 2
    fit = fit_linear(polynomial((z - middle) / half, 2), 1 / f**2, 2 * u / f**3)
    row = polynomial([(at - middle) / half], 2)[0]
    said = float(row @ fit.values)
    if said <= 0:
        return 0.0, fit.residual_sd
    expected = said**-0.5
    inner = float(row @ fit.covariance @ row) / max(fit.residual_sd, 1e-9) ** 2
    spread = math.hypot(
        one_u, 0.5 * expected**3 * math.sqrt(inner) * max(1.0, fit.residual_sd), 0.02 * expected
    )
    return abs(one - expected) / spread, fit.residual_sd


def _check_shape(z: Array, f: Array, u: Array) -> None:
    """Refuse a peak at an end, and two of them."""
    at = np.unique(z)
    means = np.array([np.average(f[z == one], weights=1 / u[z == one] ** 2) for one in at])
    spreads = np.array([(1 / u[z == one] ** 2).sum() ** -0.5 for one in at])
    top = int(np.argmax(means))
    if top in (0, len(at) - 1):
        beyond = "below the lowest" if top == 0 else "above the highest"
        raise RefusedReadings(
            f"Sharpness still grows towards the end of the series: best focus lies {beyond} position, or "
            "just at it. Take more photographs on that side."
        )
    for k in range(1, len(at) - 1):
        left, right = int(np.argmax(means[:k])), k + 1 + int(np.argmax(means[k + 1 :]))
        dip = min(means[left], means[right]) - means[k]
        if dip > max(4 * math.hypot(spreads[k], max(spreads[left], spreads[right])), 0.06 * means[k]):
            raise RefusedReadings(
                f"There are two peaks, at {at[left]:g} and {at[right]:g}: the positions are mixed up, the "
                "edge was not the same one, or something moved. Take the series again, or give the "
                "positions in order."
            )


def _fitted(z: Array, f: Array, u: Array, figures: Sequence[Measured], position_u: float) -> FocusPeak:
    from scipy.stats import chi2

    near = f > NEAR * f.max()
    if len(np.unique(z[near])) < 5:
        near = np.ones(len(z), dtype=bool)
    z, f, u = z[near], f[near], u[near]
    figures = [one for one, there in zip(figures, near, strict=True) if there]
    middle, half = float((z.max() + z.min()) / 2), float(np.ptp(z)) / 2
    x = (z - middle) / half
    y = 1 / f**2
    sd = 2 * u / f**3
    if position_u > 0:
        slope = np.polynomial.Polynomial.fit(x, y, 2, w=1 / sd).deriv()(x) / half
        sd = np.hypot(sd, slope * position_u)
    places = len(np.unique(z))
    chosen = None
    for degree in range(2, min(4, places - 2) + 1):
        fit = fit_linear(polynomial(x, degree), y, sd)
        misfit = fit.residual_sd**2 * fit.df
        if chosen is None or (
            chi2.sf(chosen[1].residual_sd ** 2 * chosen[1].df, chosen[1].df) < 0.02
            and misfit + 6 * (degree - chosen[0]) < chosen[1].residual_sd ** 2 * chosen[1].df
        ):
            chosen = (degree, fit)
    assert chosen is not None
    degree, fit = chosen
    curve = np.polynomial.Polynomial(fit.values)
    grid = np.linspace(x.min(), x.max(), 401)
    height = curve(grid)
    lowest = int(np.argmin(height))
    if lowest in (0, 400) or height[lowest] <= 0:
        raise RefusedReadings(
            "The fit has no peak between the positions. Take more photographs, evenly on both sides of "
            "best focus."
        )
    bend = curve.deriv(2)
    turns = curve.deriv().roots()
    real = turns[np.abs(turns.imag) < 1e-9].real
    real = real[bend(real) > 0]
    x0 = float(real[np.argmin(np.abs(real - grid[lowest]))]) if len(real) else float(grid[lowest])
    # the vertex moves by -(change of the slope there) / bend
    rows = np.array([k * x0 ** (k - 1) if k else 0.0 for k in range(degree + 1)])
    inner = fit.covariance / max(fit.residual_sd, 1e-12) ** 2
    u_slope = math.sqrt(float(rows @ inner @ rows))
    second = np.array([k * (k - 1) * x0 ** (k - 2) if k > 1 else 0.0 for k in range(degree + 1)])
    scatters = chi2.sf(fit.residual_sd**2 * fit.df, fit.df) < 0.1
    scale = fit.residual_sd if scatters else 1.0
    df = float(fit.df) if scatters else float(sum(min(one.df, 200.0) for one in figures))
    u_bend = math.sqrt(float(second @ inner @ second)) * scale
    if bend(x0) < 4 * u_bend:
        raise RefusedReadings(
            "Sharpness falls off too little on both sides to tell where it is best. Take the series over a "
            "longer way, with the lens wide open and with more light."
        )
    u_best = u_slope * scale / float(bend(x0)) * half
    note = f"{len(z)} photographs at {places} positions, a polynomial of degree {degree} in 1 / MTF50^2"
    if scatters:
        note += f"; they scatter {scale:.1f} times what each tells of itself"
    best = combine(middle + half * x0, [Component("sharpness of the photographs", u_best, df, "A", note)])
    shown = np.maximum(height, 1e-12) ** -0.5
    return FocusPeak(best, float(curve(x0)) ** -0.5, middle + half * grid, shown, (), degree)
