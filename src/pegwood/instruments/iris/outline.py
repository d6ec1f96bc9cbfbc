"""The edge of an opening as a distance from its middle in every direction."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.readings import RefusedReadings

__all__ = ["Outline", "trace"]

Array = NDArray[np.floating]
Light = NDArray[np.float32]

N = 1440
"""Directions; a quarter of a degree."""


@dataclass(frozen=True)
class Outline:
    """
    An edge seen from inside.

    Parameters
    ----------
    middle : (float, float)
        x to the right and y downwards, [pixel].
    radius : array, shape (1440,)
        Distance of the edge, from the direction to the right, turning clockwise as one sees it, [pixel].
    """

    middle: tuple[float, float]
    radius: Array

    @property
    def points(self) -> Array:
        """The edge, shape (1440, 2): x and y, [pixel]."""
        angle = _angles()
        return np.column_stack(
            [self.middle[0] + self.radius * np.cos(angle), self.middle[1] + self.radius * np.sin(angle)]
        )

    @property
    def perimeter(self) -> float:
        """Length of the edge, [pixel]."""
        steps = np.diff(np.vstack([self.points[::4], self.points[:1]]), axis=0)
        return float(np.hypot(*steps.T).sum())

    def angle(self, shape: tuple[int, ...]) -> Light:
        """Direction of every pixel from the middle, 0 to 2π, shape (height, width), [rad]."""
        y, x = self._from_middle(shape)
        turned: Light = np.arctan2(y, x)
        return np.where(turned < 0, turned + np.float32(2 * math.pi), turned)

    def depth(self, shape: tuple[int, ...]) -> Light:
        """How far every pixel lies inside the edge, negative outside, good near it, [pixel]."""
        y, x = self._from_middle(shape)
        away = np.hypot(x, y)
        place = self.angle(shape) * np.float32(N / (2 * math.pi))
        low = place.astype(np.int32)
        part = place - low
        low %= N
        slope = (np.roll(self.radius, -3) - np.roll(self.radius, 3)) / (6 * 2 * math.pi / N)
        leaning = (self.radius / np.hypot(self.radius, slope)).astype(np.float32)
        edge = self.radius.astype(np.float32)
        after = np.roll(edge, -1)
        reach = edge[low] * (1 - part) + after[low] * part
        depth: Light = (reach - away) * leaning[low]
        return depth

    def enlarged(self, by: int, left: int, top: int) -> Outline:
        """The same edge in the picture from which a part was cut and averaged down."""
        x, y = ((one + 0.5) * by - 0.5 for one in self.middle)
        return Outline((x + left, y + top), self.radius * by)

    def _from_middle(self, shape: tuple[int, ...]) -> tuple[Light, Light]:
        y = (np.arange(shape[0]) - self.middle[1]).astype(np.float32)[:, None]
        x = (np.arange(shape[1]) - self.middle[0]).astype(np.float32)[None, :]
        return y, x


def trace(share: Light, middle: tuple[float, float]) -> Outline:
    """
    Follow the edge where half a pixel is covered.

    Parameters
    ----------
    share : array of float32, shape (height, width)
        Coverage: about 0 outside, about 1 inside.
    middle : (float, float)
        A point well inside, x and y, [pixel].

    Returns
    -------
    outline : Outline
        About its own centre of area.

    Raises
    ------
    RefusedReadings
        If there is no closed edge around the point, or it folds back on itself.
    """
    from scipy.ndimage import gaussian_filter
    from skimage.measure import find_contours

    edges = find_contours(gaussian_filter(share, 1.0), 0.5)
    closed = [one[:, ::-1] for one in edges if len(one) > 20 and np.allclose(one[0], one[-1])]
    around = [one for one in closed if _turns(one, middle) == 1]
    if not around:
        raise RefusedReadings(
            "The opening has no closed edge: it is too faint against its surroundings. Light it from behind, "
            "all else dark."
        )
    edge = max(around, key=len)
    centre = _centre(edge)
    away = edge - centre
    turned = np.unwrap(np.arctan2(away[:, 1], away[:, 0]))
    if turned[-1] < turned[0]:
        turned, away = turned[::-1], away[::-1]
    if (np.diff(turned) < -0.05).any():
        raise RefusedReadings(
            "The opening's edge folds back on itself: something hangs into it, or it is no opening. Look at "
            "the blades, and cut the picture to the opening alone."
        )
    order = np.argsort(turned, kind="stable")
    distance = np.hypot(*away.T)
    around_once = np.concatenate([turned[order] - 2 * math.pi, turned[order], turned[order] + 2 * math.pi])
    radius = np.interp(_angles(), around_once, np.tile(distance[order], 3))
    return Outline((float(centre[0]), float(centre[1])), radius)


def _angles() -> Array:
    angles: Array = np.arange(N) * (2 * math.pi / N)
    return angles


def _turns(edge: Array, middle: tuple[float, float]) -> int:
    turned = np.unwrap(np.arctan2(edge[:, 1] - middle[1], edge[:, 0] - middle[0]))
    return abs(round(float(turned[-1] - turned[0]) / (2 * math.pi)))


def _centre(edge: Array) -> Array:
    """Centre of area of a closed polygon (shoelace)."""
    x, y = edge.T
    cross = x[:-1] * y[1:] - x[1:] * y[:-1]
    area = cross.sum() / 2
    middle: Array = np.array(
        [((x[:-1] + x[1:]) * cross).sum() / (6 * area), ((y[:-1] + y[1:]) * cross).sum() / (6 * area)]
    )
    return middle
