"""
From the picture to the film and back: a plane seen by a camera with a lens that bends straight lines.

A homography for where the camera stood, one coefficient of radial distortion about the picture's middle
for its lens (Brown's model, first term; Hartley and Zisserman, Multiple View Geometry; memory of both).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["Projection", "fit_projection"]

Array = NDArray[np.float64]

_USUAL_BEND = 0.02
"""A phone's distortion at half the picture's width, as far as it is not already corrected (practice)."""


@dataclass(frozen=True)
class Projection:
    """
    A picture of a flat film.

    Parameters
    ----------
    matrix : array, shape (3, 3)
        From the picture, straightened and with its half width as unit, to the film, [mm].
    bend : float
        Radial distortion at half the picture's width, [-].
    middle : tuple of float
        Middle of the picture, x and y, [pixel].
    half : float
        Half its width, [pixel].
    """

    matrix: Array
    bend: float
    middle: tuple[float, float]
    half: float

    def to_film(self, at: Array) -> Array:
        """
        Places on the film.

        Parameters
        ----------
        at : array, shape (..., 2)
            x and y in the picture, [pixel].

        Returns
        -------
        film : array, shape (..., 2)
            Along the film and across it, [mm].
        """
        uv = (np.asarray(at, dtype=float) - self.middle) / self.half
        uv = uv * (1 + self.bend * (uv**2).sum(axis=-1, keepdims=True))
        m = self.matrix
        depth = uv @ m[2, :2] + m[2, 2]
        return np.asarray((uv @ m[:2, :2].T + m[:2, 2]) / depth[..., None])

    def to_picture(self, along: NDArray[Any], across: NDArray[Any]) -> tuple[NDArray[Any], NDArray[Any]]:
        """
        Places in the picture.

        Parameters
        ----------
        along, across : array
            On the film, [mm]; they are broadcast.

        Returns
        -------
        x, y : array
            [pixel].
        """
        m = np.linalg.inv(self.matrix)
        depth = m[2, 0] * along + m[2, 1] * across + m[2, 2]
        u = (m[0, 0] * along + m[0, 1] * across + m[0, 2]) / depth
        v = (m[1, 0] * along + m[1, 1] * across + m[1, 2]) / depth
        if self.bend:
            straight = u * u + v * v
            far = straight
            for _ in range(4):  # the distortion is slight: each round leaves a twentieth or less
                far = straight / (1 + self.bend * far) ** 2
            u, v = u / (1 + self.bend * far), v / (1 + self.bend * far)
        return u * self.half + self.middle[0], v * self.half + self.middle[1]

    def scale_at(self, along: float, across: float = 0.0) -> float:
        """Pixels to a millimetre along the film, at one place."""
        x, y = self.to_picture(np.array([along - 0.5, along + 0.5]), np.array([across, across]))
        return float(np.hypot(np.diff(x)[0], np.diff(y)[0]))

    def moved(self, along: float) -> Projection:
        """The same with the film's zero elsewhere, [mm]."""
        shift = np.array([[1.0, 0.0, -along], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
        return Projection(shift @ self.matrix, self.bend, self.middle, self.half)


def _of(values: Array, middle: tuple[float, float], half: float) -> Projection:
    return Projection(np.append(values[:8], 1.0).reshape(3, 3), float(values[8]), middle, half)


def fit_projection(
    at: Array, film: Array, shape: tuple[int, int], weight: Array | None = None
) -> tuple[Projection, Array, Array]:
    """
    The projection that carries known places best, by least squares on the film.

    Parameters
    ----------
    at : array, shape (n, 2)
        In the picture, [pixel]; n of at least 6.
    film : array, shape (n, 2)
        The same places on the film, [mm].
    shape : (int, int)
        Height and width of the picture, [pixel].
    weight : array, shape (n,), optional
        Of each place, 0 to leave it out.

    Returns
    -------
    projection : Projection
    residual : array, shape (n, 2)
        What is left on the film, [mm].
    covariance : array, shape (9, 9)
        Of its nine figures, for a standard deviation of 1 mm in each coordinate of each place, [1/mm^2
        inverse].
    """
    from scipy.optimize import least_squares

    middle, half = ((shape[1] - 1) / 2, (shape[0] - 1) / 2), shape[1] / 2
    weights = np.ones(len(at)) if weight is None else weight
    uv = (at - middle) / half
    start = np.append(_homography(uv[weights > 0], film[weights > 0]), 0.0)

    def off(values: Array) -> Array:
        left = (_of(values, middle, half).to_film(at) - film) * weights[:, None]
        return np.append(left.ravel(), 0.02 * values[8] / _USUAL_BEND)

    found = least_squares(off, start, x_scale="jac", method="lm")
    covariance = np.linalg.pinv(found.jac.T @ found.jac)
    projection = _of(found.x, middle, half)
    return projection, projection.to_film(at) - film, covariance


def _homography(uv: Array, film: Array) -> Array:
    """Eight figures, the ninth 1, by linear least squares."""
    u, v = uv.T
    one, nil = np.ones_like(u), np.zeros_like(u)
    x, y = film.T
    rows = np.concatenate(
        [
            np.stack([u, v, one, nil, nil, nil, -u * x, -v * x], axis=1),
            np.stack([nil, nil, nil, u, v, one, -u * y, -v * y], axis=1),
        ]
    )
    return np.asarray(np.linalg.lstsq(rows, np.concatenate([x, y]), rcond=None)[0])
