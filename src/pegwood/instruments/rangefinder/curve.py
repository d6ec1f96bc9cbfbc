"""
Shown against true vergence, as a line with a bow.

``shown = offset + gain * true + curvature * true * (true - nearest)``, all in dioptres: `offset` is the error
at infinity; `gain` is that of the chord from infinity to the nearest distance read, 1 where the finder is
right; `curvature` is what neither an infinity screw nor a lever takes out. With the bow written this way
offset and gain mean the same whether it is fitted or not.

The bow is fitted where four distances or more were read. It is part of the curve where two degrees of freedom
or more are left over, or where it is told from none for certain (99 %): a bow that is there and left out
would make the intervals too narrow, and so would one that is tested for too readily.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.fitting import Fit, fit_linear
from pegwood.instruments.uncertainty import Component, Mark, Measured

__all__ = ["Curve", "Floor", "fit_curve", "why_not_fitted"]

Array = NDArray[np.float64]
SPARE_DF = 2
SURE = 0.99
TOO_EVEN = 1e-3


@dataclass(frozen=True)
class Floor:
    """
    The least a reading is uncertain by, whatever the scatter says.

    Parameters
    ----------
    u_dpt : float
        [dpt]
    note, source, mark : str
        How it came about.
    """

    u_dpt: float
    note: str
    source: str
    mark: Mark


@dataclass(frozen=True)
class Curve:
    """
    The fitted curve.

    Parameters
    ----------
    fit : Fit
        Of offset, gain and, where `bowed`, curvature.
    nearest_dpt : float
        Nearest distance read, [dpt].
    bow : Measured or None
        Curvature, [1/dpt]; None where fewer than four distances were read.
    bowed : bool
        Whether the curvature is part of the curve.
    too_even : bool
        Whether the readings scatter less than an eye can; the floor then stands for the scatter.
    floor : Floor or None
    """

    fit: Fit
    nearest_dpt: float
    bow: Measured | None
    bowed: bool
    too_even: bool = False
    floor: Floor | None = None

    def _slopes(self, vergence_dpt: float) -> Array:
        slopes: Array = _design(np.array([vergence_dpt]), self.nearest_dpt, self.bowed)[0]
        return slopes

    def _told(self, slopes: Sequence[float] | Array) -> Measured:
        if not self.too_even or self.floor is None:
            return self.fit.of(slopes, "scatter")
        g = np.asarray(slopes, dtype=float)
        u = math.sqrt(max(float(g @ self.fit.covariance @ g), 0.0))
        line = Component("eye", u, math.inf, "B", self.floor.note, self.floor.source, self.floor.mark)
        return Measured(float(g @ self.fit.values), u, math.inf, (line,))

    @property
    def offset(self) -> Measured:
        """Shown vergence at infinity, [dpt]."""
        return self._told([1.0, 0.0, 0.0][: len(self.fit.values)])

    @property
    def gain(self) -> Measured:
        """Shown dioptres for each true one, from infinity to the nearest distance, [-]."""
        return self._told([0.0, 1.0, 0.0][: len(self.fit.values)])

    def shown(self, true_dpt: float) -> Measured:
        """What the scale shows there, [dpt]."""
        return self._told(self._slopes(true_dpt))

    def error(self, true_dpt: float) -> Measured:
        """Shown less true vergence, [dpt]; positive shows too near."""
        shown = self.shown(true_dpt)
        return replace(shown, value=shown.value - true_dpt)


def why_not_fitted(true_dpt: Sequence[float]) -> str | None:
    """
    Why these distances tell no offset and gain with uncertainty.

    Parameters
    ----------
    true_dpt : sequence of float, shape (n,)
        [dpt]

    Returns
    -------
    reason : str or None
        With the remedy; None where they do.
    """
    if len(true_dpt) < 3:
        return (
            f"{len(true_dpt)} readings give offset and gain no uncertainty: they are not told. "
            "Read at three distances at least: infinity, the nearest, and one between."
        )
    spread = max(true_dpt) - min(true_dpt)
    if spread <= 1e-3 * max(max(true_dpt), 1e-9):
        return (
            "All readings are at one distance: offset and gain cannot be told apart. "
            "Read at three distances at least: infinity, the nearest, and one between."
        )
    return None


def fit_curve(
    true_dpt: Sequence[float],
    shown_dpt: Sequence[float],
    u_dpt: Sequence[float] | None = None,
    *,
    straight: bool = False,
    floor: Floor | None = None,
) -> Curve:
    """
    Fit the curve by weighted least squares.

    Parameters
    ----------
    true_dpt, shown_dpt : sequence of float, shape (n,)
        [dpt]
    u_dpt : sequence of float, shape (n,), optional
        Standard uncertainties, of which only the ratios count; alike if not given, [dpt].
    straight : bool
        Never fit the bow.
    floor : Floor, optional
        Least uncertainty of a reading.

    Returns
    -------
    curve : Curve

    Raises
    ------
    ValueError
        If there are fewer than three readings or all stand at one place.

    Notes
    -----
    Intervals by Student's t of the scatter (JCGM 100:2008, H.3; memory).
    """
    x, y = np.asarray(true_dpt, dtype=float), np.asarray(shown_dpt, dtype=float)
    nearest = float(x.max())
    fit = fit_linear(_design(x, nearest, False), y, u_dpt)
    bow, bowed = None, False
    if not straight and len(np.unique(np.round(x, 9))) >= 4:
        bent = fit_linear(_design(x, nearest, True), y, u_dpt)
        bow = bent.of((0.0, 0.0, 1.0), "scatter")
        low, high = bow.coverage_interval(SURE) if bent.residual_sd > 0 else (bow.value, bow.value)
        bowed = bent.df >= SPARE_DF or low > 0 or high < 0
        if bowed:
            fit = bent
    curve = Curve(fit, nearest, bow, bowed, floor=floor)
    return curve if floor is None else _held_up(curve, x, u_dpt, floor)


def _design(x: Array, nearest: float, bowed: bool) -> Array:
    columns = [np.ones_like(x), x, x * (x - nearest)]
    return np.asarray(np.stack(columns if bowed else columns[:2], axis=1), dtype=float)


def _held_up(curve: Curve, x: Array, u_dpt: Sequence[float] | None, floor: Floor) -> Curve:
    """
    The same curve with the floor for its scatter, where it scatters less than the eye allows.

    Then figures were rounded or copied, and repeats tell nothing new: each distance counts once.
    """
    from scipy.stats import chi2

    fit = curve.fit
    weight = np.ones_like(x) if u_dpt is None else np.asarray(u_dpt, dtype=float)
    typical = math.sqrt(float((weight**2).mean()))
    least = floor.u_dpt / typical
    if fit.residual_sd**2 >= least**2 * float(chi2.ppf(TOO_EVEN, fit.df)) / fit.df:
        return curve
    places, first = np.unique(np.round(x, 9), return_index=True)
    a = _design(places, curve.nearest_dpt, curve.bowed) / weight[first][:, None]
    covariance = np.linalg.inv(a.T @ a) * least**2
    bow = curve.bow
    if bow is not None:
        bent = _design(places, curve.nearest_dpt, True) / weight[first][:, None]
        u = math.sqrt(float(np.linalg.inv(bent.T @ bent)[2, 2])) * least
        bow = Measured(
            bow.value,
            u,
            math.inf,
            (Component("eye", u, math.inf, "B", floor.note, floor.source, floor.mark),),
        )
    return replace(curve, fit=replace(fit, covariance=covariance), bow=bow, too_even=True)
