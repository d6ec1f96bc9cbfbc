"""The long edges of pictures on roll film, measured, and the camera put right by them."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.filmstrip.projection import Projection
from pegwood.instruments.filmstrip.sampling import sampled

__all__ = ["long_edges", "righted"]

Array = NDArray[np.float64]


def long_edges(
    light: NDArray[Any], projection: Projection, low: float, high: float, wide: float
) -> tuple[float, float, float, float, float] | None:
    """Both long edges as straight lines, height and slope of each, and how well they are known, [mm]."""
    scale = projection.scale_at((low + high) / 2)
    window = 2.0
    along = np.arange(low + window, high - window, window)
    near = np.arange(-1.6, 1.6, 0.6 / scale)
    found = []
    fine = np.arange(low + window / 2, high - window / 2, 1 / scale)
    each = max(1, round(window * scale))
    count = len(fine) // each
    for sign in (-1, 1):
        across = sign * (wide / 2 + near)
        order = slice(None) if sign > 0 else slice(None, None, -1)
        seen = sampled(light, projection, fine, across[order])[order]
        columns = seen[:, : count * each].reshape(len(near), count, each).mean(axis=2)
        along = fine[: count * each].reshape(count, each).mean(axis=1)
        bare = columns[(near > 0.45) & (near < 1.2)].mean(axis=0)
        inner = columns[(near < -0.45) & (near > -1.2)].mean(axis=0)
        told = np.abs(inner - bare) > 0.12 * np.maximum(inner, bare)
        places, heights = [], []
        for k in np.flatnonzero(told):
            half = (bare[k] + inner[k]) / 2
            over = (columns[:, k] - half) * np.sign(bare[k] - inner[k]) > 0
            cross = np.flatnonzero(~over[:-1] & over[1:])
            if len(cross) != 1:
                continue
            i = int(cross[0])
            share = (half - columns[i, k]) / (columns[i + 1, k] - columns[i, k])
            places.append(along[k])
            heights.append(sign * (wide / 2 + near[i] + share * (near[i + 1] - near[i])))
        line = _robust_line(np.array(places), np.array(heights))
        if line is None:
            return None
        found.append(line)
    (a1, b1, u1), (a2, b2, u2) = found
    return a1, b1, a2, b2, math.hypot(u1, u2)


def _robust_line(x: Array, y: Array) -> tuple[float, float, float] | None:
    kept = np.ones(len(x), dtype=bool)
    slope = height = spread = 0.0
    for _ in range(5):
        if kept.sum() < 8 or np.ptp(x[kept]) < 15:
            return None
        slope, height = np.polyfit(x[kept], y[kept], 1)
        off = np.abs(y - height - slope * x)
        spread = 1.48 * float(np.median(off[kept]))
        kept = off < max(3.0 * spread, 0.02)
    return float(height), float(slope), spread / math.sqrt(int(kept.sum()))


def righted(
    projection: Projection,
    lines: tuple[float, float, float, float, float],
    wide: float,
    shape: tuple[int, ...],
) -> tuple[Projection, float]:
    """The projection with both lines made parallel, level and as far apart as the pictures are wide."""
    a1, b1, a2, b2, _ = lines
    converge = (b2 - b1) / (a2 - a1)
    straight = np.array([[1.0, 0, 0], [0, 1.0, 0], [converge, 0, 1.0]])
    level = (a1 + a2) / 2
    # after that step each line keeps its height at x = 0; its slope there is b - a * converge
    slope = ((b1 - a1 * converge) + (b2 - a2 * converge)) / 2
    angle = math.atan(slope)
    cos, sin = math.cos(angle), math.sin(angle)
    turn = np.array([[cos, sin, -sin * level], [-sin, cos, -cos * level], [0, 0, 1.0]])
    scale = wide / ((a2 - a1) * cos)
    matrix = np.diag([scale, scale, 1.0]) @ turn @ straight @ projection.matrix
    done = Projection(matrix / matrix[2, 2], 0.0, projection.middle, projection.half)
    return done, _tilt(done, shape)


def _tilt(projection: Projection, shape: tuple[int, ...]) -> float:
    """By how much the camera looked along the film, [rad], its focal length as of a phone."""
    back = np.linalg.inv(projection.matrix)
    per_mm = abs(float(back[2, 0] / back[2, 2]))
    scale = projection.scale_at(0.0)
    return math.atan(per_mm * 0.75 * shape[1] / max(scale, 1e-6))
