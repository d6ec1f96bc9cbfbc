"""What makes the figures doubtful, a line each."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from pegwood.instruments.rangefinder.curve import Curve
from pegwood.instruments.rangefinder.readings import Readings

__all__ = ["doubts_about"]

SELDOM = 0.01


def doubts_about(curve: Curve, readings: Readings, u_dpt: Sequence[float]) -> list[str]:
    """
    Tell what about the readings is odd.

    Parameters
    ----------
    curve : Curve
        Fitted through them.
    readings : Readings
    u_dpt : sequence of float, shape (n,)
        By which they were weighed, [dpt].

    Returns
    -------
    warnings : list of str
    """
    warnings = []
    places = len(set(readings.true_dpt))
    if places == 2:
        warnings.append(
            "Two distances only: a line goes through them whatever the cam does between. Read at a third one."
        )
    elif places == 3:
        warnings.append("Three distances only: the cam's shape is not told. Read at a fourth one for it.")
    if curve.too_even:
        warnings.append(
            "The readings agree more closely than an eye can, as if they were copied or rounded; "
            "the best the eye can do stands for their scatter. Read again, coming from both sides."
        )
    elif _chance(curve) < SELDOM:
        warnings.append(
            f"The readings scatter {curve.fit.residual_sd:.1f} times as much as eye and scale explain: play "
            "in the coupling, or a figure mistyped. Read each distance again from both sides."
        )
    far = min(readings.true_dpt)
    if far > 0.2 * max(readings.true_dpt):
        warnings.append(
            f"The farthest reading is at {1 / far:.3g} m: the offset at infinity is drawn out from there. "
            "Read at infinity, or as far as there is."
        )
    stray = _stray(curve, u_dpt)
    if stray is not None:
        warnings.append(
            f"{readings.places[stray]}: shown {_dpt(readings.shown_dpt[stray])} lies far off the others' "
            "curve; it counts all the same. If it was mistyped, put it right."
        )
    return warnings


def _dpt(vergence: float) -> str:
    return "infinity" if vergence == 0 else f"{1 / vergence:.4g} m"


def _chance(curve: Curve) -> float:
    """How often as much scatter comes about by eye and scale alone."""
    from scipy.stats import chi2

    return float(chi2.sf(curve.fit.residual_sd**2 * curve.fit.df, curve.fit.df))


def _stray(curve: Curve, u_dpt: Sequence[float]) -> int | None:
    """
    The reading that the others speak against, if there is one.

    By externally studentised residuals and Bonferroni's bound (any text on regression; memory).
    """
    from scipy.stats import t

    fit = curve.fit
    n = len(fit.residuals)
    if fit.df < 3 or fit.residual_sd == 0:
        return None
    free = np.clip(1 - fit.leverage, 1e-9, None)
    inner = fit.residuals / np.asarray(u_dpt) / (fit.residual_sd * np.sqrt(free))
    below = fit.df - inner**2
    outer = np.where(below > 0, inner * np.sqrt((fit.df - 1) / np.clip(below, 1e-12, None)), math.inf)
    worst = int(np.argmax(np.abs(outer)))
    chance = 2 * n * float(t.sf(abs(outer[worst]), fit.df - 1))
    return worst if chance < SELDOM else None
