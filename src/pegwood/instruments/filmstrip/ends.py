"""Where a strip of film ends in its picture: the light turns from the film's to that beyond, and stays."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.filmstrip.projection import Projection
from pegwood.instruments.filmstrip.sampling import sampled

__all__ = ["film_end"]

Array = NDArray[np.float64]


def film_end(
    light: NDArray[Any], projection: Projection, last: float, side: int, lines: Array, border: float | None
) -> tuple[float, bool]:
    """
    Where the film ends on one side, [mm], and whether that end is seen.

    Parameters
    ----------
    light : array, shape (height, width)
    projection : Projection
    last : float
        Where there is film for certain, [mm].
    side : int
        -1 to the left, 1 to the right.
    lines : array, shape (2,)
        Where bare film runs along, from the middle, [mm].
    border : float or None
        Where the picture itself ends, [mm], the film to be looked for as far as that; None: it ends soon.
    """
    far = _border(light, projection, last, side) if border is None else border
    length = 14.0 if border is None else abs(far - last)
    outward = np.arange(-2.5, length, 0.04)
    sure = 0.9 if border is None else 0.5 * length
    found = []
    for line in lines:
        profile = sampled(light, projection, last + side * outward, line + np.linspace(-0.18, 0.18, 6))
        seen = outward < (far - last) * side - 0.3
        found.append(_departure(outward[seen], profile.mean(axis=0)[seen], sure))
    known = [one for one in found if one is not None]
    if known:
        place = last + side * float(np.mean(known))
        if (place - far) * side < -0.2:
            return place, True
    return far, False


def _departure(outward: Array, level: Array, sure: float) -> float | None:
    """How far out the light turns from the film's to that beyond, and stays; film up to `sure`."""
    if len(level) < 60:
        return None
    film = float(np.median(level[outward < sure]))
    spread = float(np.median(np.abs(level[outward < sure] - film))) * 1.48 + 1e-4
    far = level[outward > outward[-1] - 2.0]
    beyond = float(np.median(far))
    if abs(beyond - film) < max(6 * spread, 0.08 * max(film, beyond)):
        return None
    over = (level - (film + beyond) / 2) * np.sign(beyond - film) > 0
    inside = np.flatnonzero(~over)
    if not len(inside) or inside[-1] + 1 >= len(outward):
        return None
    i, half = int(inside[-1]), (film + beyond) / 2
    share = (half - level[i]) / (level[i + 1] - level[i])
    return float(outward[i] + share * (outward[i + 1] - outward[i]))


def _border(light: NDArray[Any], projection: Projection, last: float, side: int) -> float:
    """Where the picture itself ends along the middle of the film, [mm]."""
    along = last + side * np.arange(0.0, 400.0, 0.05)
    x, y = projection.to_picture(along, np.zeros_like(along))
    inside = (x >= 0) & (y >= -0.2 * light.shape[0]) & (x <= light.shape[1] - 1) & (y < 1.2 * light.shape[0])
    outside = np.flatnonzero(~inside)
    return float(along[outside[0]] if len(outside) else along[-1])
