"""
Tilt of a standard from best focus at several places of the picture, and the shims that take it out.

Places as one sees them from behind, where the film or the ground glass lies: x to the right, y up, from the
picture's middle. Best focus counts away from the film: where it is larger, the lens has to stand further from
the film on that side, and the shim under the lens (or its board, or the mount) becomes thicker there. For a
distant object the image tilts with the lens, one to one (thin lens).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.uncertainty import Component, Measured, combine

__all__ = ["Plane", "Shim", "fit_plane", "shims_under"]

Array = NDArray[np.float64]
Place = tuple[float, float]


@dataclass(frozen=True)
class Plane:
    """
    The plane that best focus, or a gauge, describes.

    Parameters
    ----------
    middle : Measured
        Height at x = y = 0, [m].
    right : Measured
        Tilt from left to right, [rad]: positive where the right side is higher.
    up : Measured
        Tilt from bottom to top, [rad]: positive where the top is higher.
    slopes : array, shape (2,)
        Height per length to the right and up, [-].
    covariance : array, shape (3, 3)
        Of middle and slopes.
    df : float
    residuals : tuple of float
        Heights less the plane, [m].
    curved : Measured or None
        Height of the places' mean circle over the middle, [m] (curvature of field); None where places do not
        tell it.
    """

    middle: Measured
    right: Measured
    up: Measured
    slopes: Array
    covariance: Array
    df: float
    residuals: tuple[float, ...]
    curved: Measured | None

    def at(self, place: Place) -> Measured:
        """Height at a place, [m], curvature left out."""
        row = np.array([1.0, *place])
        return self._told(row, "the plane's fit")

    def difference(self, one: Place, other: Place) -> Measured:
        """Height at one place over another, [m]."""
        return self._told(np.array([0.0, one[0] - other[0], one[1] - other[1]]), "the plane's fit")

    def _told(self, row: Array, name: str) -> Measured:
        u = math.sqrt(max(float(row @ self.covariance @ row), 0.0))
        value = float(row @ np.array([self.middle.value, *self.slopes]))
        return combine(value, [Component(name, u, self.df, "A", "scatter and uncertainty of the places")])


@dataclass(frozen=True)
class Shim:
    """
    What to do under one screw.

    Parameters
    ----------
    place : tuple of float
        Where the screw is, x and y, [m].
    change : Measured
        Thicker (positive) or thinner, focus at the middle kept, [m].
    add : Measured
        To add so that nothing has to be taken away at any screw; focus at the middle moves, [m].
    """

    place: Place
    change: Measured
    add: Measured


def fit_plane(places: Sequence[Place], heights: Sequence[Measured]) -> Plane:
    """
    Fit a plane, and a curvature of field where the places tell it.

    Parameters
    ----------
    places : sequence of (x, y), shape (n,)
        [m].
    heights : sequence of Measured, shape (n,)
        Best focus or gauge reading there, [m].

    Returns
    -------
    plane : Plane

    Raises
    ------
    RefusedReadings
        If there are fewer than three places, or they lie on a line.
    """
    if len(places) != len(heights):
        raise RefusedReadings(f"{len(heights)} readings and {len(places)} places: give a place for each.")
    xy = np.array(places, dtype=float).reshape(-1, 2)
    z = np.array([one.value for one in heights])
    if len(z) < 3:
        raise RefusedReadings(
            f"A tilt needs three places at least, and {len(z)} could be measured. The middle and four "
            "corners are best."
        )
    spread = np.linalg.svd(xy - xy.mean(axis=0), compute_uv=False)
    if spread[1] < 0.05 * spread[0] or spread[0] == 0:
        raise RefusedReadings(
            "The places lie on one line, and a tilt across it cannot be told. Add places to the side of it."
        )
    u = np.array([max(one.u, 1e-9) for one in heights])
    rows = np.column_stack([np.ones(len(z)), xy])
    round_about = (xy**2).sum(axis=1)
    bend = round_about - round_about.mean()
    # curvature is told apart from height only by places at different distances from the middle
    tells = len(z) >= 5 and np.std(round_about) > 0.2 * round_about.mean()
    design = np.column_stack([rows, bend / round_about.max()]) if tells else rows
    weighted = design / u[:, None]
    inverse = np.linalg.pinv(weighted.T @ weighted)
    values = inverse @ (weighted.T @ (z / u))
    residuals = z - design @ values
    scale, df = _scatter(residuals / u, len(z) - design.shape[1], heights)
    covariance = inverse * scale**2
    curved = None
    if tells:
        far = (round_about.max() - round_about.min()) / round_about.max()
        height = float(values[3]) * far
        part = Component("the places' fit", math.sqrt(covariance[3, 3]) * far, df, "A")
        curved = combine(height, [part])
        back = float(round_about.mean() / round_about.max())
        turn = np.eye(4)
        turn[0, 3] = -back  # height at the middle: the fit's mean circle taken back to it
        values, covariance = turn @ values, turn @ covariance @ turn.T
    return Plane(
        _measured(float(values[0]), covariance[0, 0], df),
        _angle(float(values[1]), covariance[1, 1], df),
        _angle(float(values[2]), covariance[2, 2], df),
        values[1:3],
        covariance[:3, :3],
        df,
        tuple(float(one) for one in residuals),
        curved,
    )


def shims_under(plane: Plane, screws: Sequence[Place]) -> tuple[Shim, ...]:
    """
    The shim under each screw that takes the tilt out.

    Parameters
    ----------
    plane : Plane
        Of best focus.
    screws : sequence of (x, y), shape (3,)
        Where the screws are, [m], in the same axes.

    Returns
    -------
    shims : tuple of Shim, shape (3,)

    Raises
    ------
    RefusedReadings
        If there are not three, or they lie on a line.
    """
    if len(screws) != 3:
        raise RefusedReadings(f"Three screws hold a plane, not {len(screws)}. Tell x and y of three.")
    (ax, ay), (bx, by), (cx, cy) = screws
    area = abs((bx - ax) * (cy - ay) - (cx - ax) * (by - ay))
    longest = max(math.dist(one, other) for one in screws for other in screws)
    if area < 0.05 * longest**2:
        raise RefusedReadings(
            "The three screws lie on one line, or two are at one place. Give where they are."
        )
    lowest = min(screws, key=lambda one: float(np.dot(plane.slopes, one)))
    return tuple(
        Shim(place, plane.difference(place, (0.0, 0.0)), plane.difference(place, lowest)) for place in screws
    )


def _scatter(residuals: Array, df: int, heights: Sequence[Measured]) -> tuple[float, float]:
    """By how much places scatter beyond what each tells of itself, and the degrees of freedom to state."""
    from scipy.stats import chi2

    own = float(sum(min(one.df, 200.0) for one in heights))
    if df < 1:
        return 1.0, own
    square = float((residuals**2).sum())
    if chi2.sf(square, df) < 0.05:
        return math.sqrt(square / df), float(df)
    return 1.0, own


def _measured(value: float, variance: float, df: float) -> Measured:
    note = "scatter and uncertainty of the places"
    return combine(value, [Component("the plane's fit", math.sqrt(max(variance, 0.0)), df, "A", note)])


def _angle(slope: float, variance: float, df: float) -> Measured:
    return _measured(math.atan(slope), variance / (1 + slope**2) ** 2, df)
