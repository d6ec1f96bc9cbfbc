"""
Where in a photograph a straight, slanted edge with plain sides is.

On a reduced copy: every pixel's gradient votes for the line it would lie on; the best lines are followed to
their ends and to where their sides stop being plain. What is wanted is long, strong and slanted.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.focus._strip import Line
from pegwood.instruments.readings import RefusedReadings

__all__ = ["Region", "find_edge"]

Array = NDArray[np.float64]
LONGEST_SIDE = 600
"""Of the reduced copy, [pixel]."""
HALF_LENGTH, HALF_WIDTH = 280.0, 160.0
"""More of an edge than that is not needed, [pixel]."""
_ANGLES = 120
_CANDIDATES = 8
_NOT_FOUND = (
    "no straight edge with plain sides is found. Show a black card on a white one, turned by about 5 "
    "degrees, or show the edge larger"
)


@dataclass(frozen=True)
class Region:
    """
    A part of a photograph: left, top, width and height, [pixel].

    Raises
    ------
    RefusedReadings
        If it has no area.
    """

    left: int
    top: int
    width: int
    height: int

    def __post_init__(self) -> None:
        if min(self.left, self.top) < 0 or min(self.width, self.height) < 16:
            raise RefusedReadings(
                f"A region is X,Y,W,H in pixels from the top left corner, 16 by 16 at least; not {self.left},"
                f"{self.top},{self.width},{self.height}."
            )


@dataclass(frozen=True)
class _Candidate:
    line: Line
    score: float


def find_edge(light: NDArray[np.float32], region: Region | None = None) -> Line:
    """
    Find the edge to be measured.

    Parameters
    ----------
    light : array, shape (height, width)
        Linear light.
    region : Region, optional
        Where to look; everywhere if not given.

    Returns
    -------
    line : Line
        In pixels of the whole photograph.

    Raises
    ------
    RefusedReadings
        If there is none, or the region lies outside the picture.
    """
    left = top = 0
    if region is not None:
        left, top = region.left, region.top
        if left + region.width > light.shape[1] or top + region.height > light.shape[0]:
            raise RefusedReadings(
                f"the region ends at {left + region.width},{top + region.height}, beyond the picture's "
                f"{light.shape[1]} by {light.shape[0]} pixels"
            )
        light = light[top : top + region.height, left : left + region.width]
    by = max(1, math.ceil(max(light.shape) / LONGEST_SIDE))
    found = _candidates(_reduced(light, by))
    if not found:
        raise RefusedReadings(_NOT_FOUND)
    best = max(found, key=lambda one: one.score).line
    return Line(
        (best.x + 0.5) * by - 0.5 + left,
        (best.y + 0.5) * by - 0.5 + top,
        best.normal,
        min(best.half_length * by, HALF_LENGTH),
        min(best.half_width * by, HALF_WIDTH),
    )


def _reduced(light: NDArray[np.float32], by: int) -> Array:
    rows, columns = (side // by for side in light.shape)
    part = light[: rows * by, : columns * by]
    if by == 1:
        return part.astype(float)
    # rows first: adding whole rows runs along memory
    down = part.reshape(rows, by, columns * by).sum(axis=1)
    out: Array = down.reshape(rows, columns, by).sum(axis=2).astype(float) / by**2
    return out


def _candidates(small: Array) -> list[_Candidate]:
    from scipy.ndimage import gaussian_filter

    smooth = gaussian_filter(small, 1.3, mode="nearest")
    gy, gx = np.gradient(smooth)
    strength = np.hypot(gx, gy)
    rim = 2
    strength[:rim] = strength[-rim:] = 0
    strength[:, :rim] = strength[:, -rim:] = 0
    top = float(np.quantile(strength, 0.9995))
    if top < 0.002:
        return []
    y, x = np.nonzero(strength > 0.25 * top)
    weight = np.minimum(strength[y, x], 2 * top)
    turn = np.arctan2(gy[y, x], gx[y, x])
    found = []
    alive = np.ones(len(x), dtype=bool)
    for _ in range(_CANDIDATES):
        if alive.sum() < 12:
            break
        line = _strongest(x[alive], y[alive], turn[alive], weight[alive], small.shape)
        c, s = math.cos(line[1]), math.sin(line[1])
        d = x * c + y * s - line[0]
        same = np.abs(_wrapped(turn - line[1])) < 0.35
        on = (np.abs(d) < 6) & same & alive
        if on.sum() < 8:
            break
        alive &= ~((np.abs(d) < 24) & same)  # a blurred edge must not be found twice, side by side
        one = _followed(smooth, small, x[on], y[on], weight[on], line)
        if one is not None:
            found.append(one)
    return found


def _wrapped(angle: Array) -> Array:
    out: Array = (angle + np.pi) % (2 * np.pi) - np.pi
    return out


def _strongest(
    x: NDArray[np.intp], y: NDArray[np.intp], turn: Array, weight: Array, shape: tuple[int, ...]
) -> tuple[float, float]:
    """Distance from the corner and normal of the line with most votes."""
    from scipy.ndimage import uniform_filter

    reach = math.hypot(*shape)
    bins = int(reach / 1.5)
    votes = np.zeros((_ANGLES, bins))
    at = np.rint((turn + np.pi) / (2 * np.pi) * _ANGLES).astype(np.intp)
    for shift in (-2, -1, 0, 1, 2):  # a gradient's direction is known to some degrees only
        k = (at + shift) % _ANGLES
        angle = k / _ANGLES * 2 * np.pi - np.pi
        rho = x * np.cos(angle) + y * np.sin(angle)
        place = np.clip((rho + reach) / (2 * reach) * bins, 0, bins - 1).astype(np.intp)
        np.add.at(votes, (k, place), weight * (1 - abs(shift) / 4))
    votes = uniform_filter(votes, (1, 3), mode="constant")
    best, where = np.unravel_index(int(np.argmax(votes)), votes.shape)
    return float((where + 0.5) / bins * 2 * reach - reach), float(best / _ANGLES * 2 * np.pi - np.pi)


def _followed(
    smooth: Array,
    small: Array,
    x: NDArray[np.intp],
    y: NDArray[np.intp],
    weight: Array,
    line: tuple[float, float],
) -> _Candidate | None:
    """The longest unbroken part of a line, its plain sides, and what it is worth."""
    from scipy.ndimage import map_coordinates

    rho, normal = line
    for _ in range(3):
        c, s = math.cos(normal), math.sin(normal)
        d, t = x * c + y * s - rho, y * c - x * s
        near = weight * (np.abs(d) < 5)
        slope, aside = np.polyfit(t, d, 1, w=np.sqrt(near))
        normal -= math.atan(slope)
        c2, s2 = math.cos(normal), math.sin(normal)
        t0 = float(np.average(t, weights=near + 1e-12))
        on = rho + aside + slope * t0
        x0, y0 = on * c - t0 * s, on * s + t0 * c
        rho = x0 * c2 + y0 * s2
    c, s = math.cos(normal), math.sin(normal)
    t = y * c - x * s
    low, high = int(np.floor(t.min())), int(np.ceil(t.max()))
    if high - low < 5:
        return None
    along = np.arange(low, high + 1)
    reach = int(min(max(small.shape) / 2, 120))
    across = np.arange(-reach, reach + 1)
    at_x = rho * c + across * c - along[:, None] * s
    at_y = rho * s + across * s + along[:, None] * c
    inside = (at_x >= 0) & (at_x <= small.shape[1] - 1) & (at_y >= 0) & (at_y <= small.shape[0] - 1)
    seen = map_coordinates(smooth, [at_y, at_x], order=1, mode="nearest")
    middle = reach
    step = seen[:, min(middle + 4, 2 * reach)] - seen[:, middle - 4]
    strong = step > 0.6 * np.quantile(step, 0.75)
    begin, end = _longest(strong)
    trim = 2 if end - begin > 12 else 1
    begin, end = begin + trim, end - trim
    if end - begin < 4:
        return None
    part, part_inside = seen[begin:end], inside[begin:end]
    clear = min(_plain(part, part_inside, middle, way) for way in (-1, 1))
    if clear < 3:
        return None
    height = float(np.median(part[:, middle + clear]) - np.median(part[:, middle - clear]))
    mid = (along[begin] + along[end - 1]) / 2
    found = Line(rho * c - mid * s, rho * s + mid * c, normal, (end - begin) / 2, float(clear))
    slanted = 1.0 if 1.5 < found.degrees < 40 else 0.3
    return _Candidate(found, (end - begin) * max(height, 0) * min(clear, 24) * slanted)


def _longest(strong: NDArray[np.bool_]) -> tuple[int, int]:
    """First and one past the last of the longest run, with holes of two passed over."""
    held = strong.copy()
    for k in range(1, len(held) - 2):
        if not strong[k] and strong[k - 1] and (strong[k + 1] or strong[k + 2]):
            held[k] = True
    ends = np.flatnonzero(np.diff(np.concatenate([[0], held.astype(int), [0]])))
    if not len(ends):
        return 0, 0
    runs = ends.reshape(-1, 2)
    first, last = runs[np.argmax(runs[:, 1] - runs[:, 0])]
    return int(first), int(last)


def _plain(seen: Array, inside: NDArray[np.bool_], middle: int, way: int) -> int:
    """How far one side of an edge stays plain."""
    profile = np.median(seen, axis=0)
    outward = profile[middle::way]
    spread = (np.quantile(seen, 0.9, axis=0) - np.quantile(seen, 0.1, axis=0))[middle::way]
    there = inside.mean(axis=0)[middle::way]
    change = np.abs(np.diff(outward))
    steep = change[: max(3, len(change) // 2)].max()
    rise = 0
    for k in range(len(change)):
        if change[k] < 0.06 * steep:
            rise = k
            break
    else:
        return len(change)
    level = outward[rise + 1 : rise + 6].mean() if rise + 6 < len(outward) else outward[rise]
    step = max(2 * abs(level - outward[0]), 1e-9)
    rough = spread[rise : rise + 6].min()
    for k in range(rise, len(outward)):
        # light that falls off changes little over some pixels, another edge much
        wrong = abs(outward[k] - outward[max(rise, k - 8)]) > 0.1 * step or spread[k] > rough + 0.15 * step
        if there[k] < 0.9 or wrong:
            return max(k - 2, 0)
    return len(outward) - 1
