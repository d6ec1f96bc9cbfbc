"""Where the light across an edge stands half-way between bare film and the picture's level there."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["half_way"]

Array = NDArray[np.float64]

_NEAR_MM, _LONG_MM = 0.22, 0.63
_NEAR_PIXELS, _LONG_PIXELS = 2.2, 4.0
"""Where the stretch begins that tells a picture's level at its edge, blur past, and how long it is."""


def half_way(at: Array, profile: Array, pixel: float) -> tuple[float, float] | None:
    """
    Where a profile rises from 0 through half of what the picture has at its edge, and how far the rise goes.

    Parameters
    ----------
    at : array, shape (n,)
        [mm], growing into the picture; or shrinking.
    profile : array, shape (n,)
        0 in bare film, about 1 in the picture.
    pixel : float
        Side of a pixel, [mm].
    """
    if at[0] > at[-1]:
        at, profile = at[::-1], profile[::-1]
    place = 0.0
    for _ in range(4):
        begin = place + max(_NEAR_MM, _NEAR_PIXELS * pixel)
        beside = (at > begin) & (at < begin + max(_LONG_MM, _LONG_PIXELS * pixel))
        if beside.sum() < 3:
            return None
        height = _level_at(at[beside] - place, profile[beside])
        top = height if 0.3 < height < 3 else float(profile[beside].mean())
        if top <= 0:
            return None
        half = _crossing(at, profile, 0.5 * top, place)
        if half is None:
            return None
        if abs(half - place) < 1e-4:
            break
        place = half
    low, high = (_crossing(at, profile, share * top, place) for share in (0.25, 0.75))
    if abs(place) > 0.8 or low is None or high is None:
        return None
    return place, high - low


def _level_at(at: Array, values: Array) -> float:
    """A straight line through values, where it passes 0."""
    lever = at - at.mean()
    return float(values.mean() - at.mean() * (lever @ values) / (lever @ lever))


def _crossing(at: Array, profile: Array, level: float, near: float) -> float | None:
    """The upward crossing of a level that lies nearest to a place."""
    over = profile >= level
    up = np.flatnonzero(~over[:-1] & over[1:])
    if not len(up):
        return None
    share = (level - profile[up]) / (profile[up + 1] - profile[up])
    places = at[up] + share * (at[up + 1] - at[up])
    return float(places[np.argmin(np.abs(places - near))])
