"""
Where in a photograph the glass lies.

Told, or found as the circle that most edge points agree on (P. Hough's transform; R. Duda and P. Hart 1972;
memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.photographs import averaged_down
from pegwood.instruments.readings import RefusedReadings

__all__ = ["Glass", "find_glass"]

Light = NDArray[np.float32]

_LOOK_AT = 220
_AGREED = 0.55
"""Share of the circle's points at which there has to be an edge."""


@dataclass(frozen=True)
class Glass:
    """
    A circle in a picture: x to the right, y downwards, radius, [pixel].

    Raises
    ------
    RefusedReadings
        If it is no circle of at least 20 pixels.
    """

    x: float
    y: float
    radius: float

    def __post_init__(self) -> None:
        if not all(map(math.isfinite, (self.x, self.y, self.radius))) or self.radius < 20:
            raise RefusedReadings(
                f"A glass of {self.radius:g} pixels radius can't be graded: X,Y,R in pixels, R from 20."
            )

    def reduced(self, by: int) -> Glass:
        """The same circle once the picture is averaged down."""
        return Glass((self.x + 0.5) / by - 0.5, (self.y + 0.5) / by - 0.5, self.radius / by)

    def away(self, shape: tuple[int, ...]) -> Light:
        """Distance of every pixel from its middle, in radii, shape (height, width)."""
        y, x = np.ogrid[: shape[0], : shape[1]]
        distance: Light = (np.hypot(x - self.x, y - self.y) / self.radius).astype(np.float32)
        return distance

    def need_inside(self, shape: tuple[int, ...], name: str) -> None:
        """
        Refuse a circle that is not wholly in the picture.

        Raises
        ------
        RefusedReadings
            If it is not.
        """
        room = min(self.x, self.y, shape[1] - 1 - self.x, shape[0] - 1 - self.y)
        if room < 0.97 * self.radius:
            raise RefusedReadings(
                f"{name}: the glass, {self.x:.0f},{self.y:.0f},{self.radius:.0f}, is not wholly in the "
                f"picture."
            )


def find_glass(light: Light, name: str) -> Glass:
    """
    Find the round rim of the glass.

    Parameters
    ----------
    light : array of float32, shape (height, width)
        The picture.
    name : str
        What it is called in a refusal.

    Returns
    -------
    glass : Glass

    Raises
    ------
    RefusedReadings
        If no circle stands out.
    """
    from scipy.ndimage import gaussian_filter
    from skimage.feature import canny
    from skimage.transform import hough_circle

    by = max(1, math.ceil(max(light.shape) / _LOOK_AT))
    small = np.sqrt(averaged_down(light, by))
    edges = canny(gaussian_filter(small, 0.7), sigma=1.5, low_threshold=0.02, high_threshold=0.05)
    side = min(small.shape)
    radii = np.arange(max(10, round(0.18 * side)), round(0.5 * side))
    if edges.sum() < 40 or radii.size == 0:
        raise RefusedReadings(_told(name))
    votes = hough_circle(edges, radii)
    best = [float(one.max()) for one in votes]
    # a rim has an inner and an outer edge: neighbours in radius share their votes
    shared = np.convolve(best, [0.5, 1.0, 0.5], mode="same")
    which = int(np.argmax(shared))
    agreed = max(best[max(0, which - 1) : which + 2])
    if agreed < _AGREED:
        raise RefusedReadings(_told(name))
    row, column = np.unravel_index(int(votes[which].argmax()), small.shape)
    x, y = (float(one + 0.5) * by - 0.5 for one in (column, row))
    return Glass(x, y, float(radii[which]) * by)


def _told(name: str) -> str:
    return (
        f"{name}: no round rim stands out. Say where the glass is: x and y of its middle and its radius, in "
        "pixels."
    )
