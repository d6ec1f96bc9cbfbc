"""
The pixels about an edge, and where the edge runs among them to a small part of a pixel.

Where a pixel lies across the edge follows from a line first, then from a low polynomial along the edge, since
lenses bend straight lines. Both are found by least squares on the light itself: what the profile leaves over,
against the profile's slope. No row's own centroid is taken, which noise would pull to the middle of the row.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.focus._spline import Knots, basis, normal_equations

__all__ = ["Line", "Strip", "cut", "profile_of", "settle"]

Array = NDArray[np.float64]
BEND = 3
"""Highest power of the polynomial along the edge."""


@dataclass(frozen=True)
class Line:
    """
    Where an edge lies.

    Parameters
    ----------
    x, y : float
        Its middle, [pixel], counted from the centre of the top left one.
    normal : float
        Direction from dark to bright, [rad], from x towards y.
    half_length : float
        From the middle to either end, [pixel].
    half_width : float
        How far both sides are clear, [pixel].
    """

    x: float
    y: float
    normal: float
    half_length: float
    half_width: float

    @property
    def degrees(self) -> float:
        """Angle to the nearest side of the pixels, 0 to 45, [degree]."""
        turn = math.degrees(self.normal) % 90
        return min(turn, 90 - turn)


@dataclass(frozen=True)
class Strip:
    """
    Pixels about an edge.

    Parameters
    ----------
    line : Line
    light : array, shape (n,)
    d, t : array, shape (n,)
        Distance from the line (positive where it is bright) and along it from its middle, [pixel].
    bend : array, shape (4,)
        Where the edge really lies, as a polynomial of t over half the length, [pixel].
    """

    line: Line
    light: Array
    d: Array
    t: Array
    bend: Array

    @property
    def away(self) -> Array:
        """Distance of each pixel from the edge itself, [pixel]."""
        return self.d - np.polynomial.polynomial.polyval(self.t / self.line.half_length, self.bend)


def cut(light: NDArray[np.float32], line: Line) -> Strip:
    """
    Take the pixels about a line.

    Parameters
    ----------
    light : array, shape (height, width)
    line : Line

    Returns
    -------
    strip : Strip
        Of a rectangle that lies as the line does, cut at the picture's ends.
    """
    c, s = math.cos(line.normal), math.sin(line.normal)
    reach_x = abs(c) * line.half_width + abs(s) * line.half_length
    reach_y = abs(s) * line.half_width + abs(c) * line.half_length
    left, right = max(0, math.floor(line.x - reach_x)), min(light.shape[1], math.ceil(line.x + reach_x) + 1)
    top, bottom = max(0, math.floor(line.y - reach_y)), min(light.shape[0], math.ceil(line.y + reach_y) + 1)
    x = np.arange(left, right) - line.x
    y = (np.arange(top, bottom) - line.y)[:, None]
    d, t = x * c + y * s, y * c - x * s
    inside = (np.abs(d) <= line.half_width) & (np.abs(t) <= line.half_length)
    held = light[top:bottom, left:right][inside].astype(float)
    return Strip(line, held, d[inside], t[inside], np.zeros(BEND + 1))


def profile_of(knots: Knots, away: Array, light: Array) -> tuple[Array, Array, Array]:
    """
    The profile as a spline, its height and its slope at each pixel.

    Parameters
    ----------
    knots : Knots
    away, light : array, shape (n,)

    Returns
    -------
    coefficients : array, shape (size,)
    height, slope : array, shape (n,)
    """
    left, right = normal_equations(knots, away, light, np.zeros(len(away), dtype=np.intp), 1)
    coefficients = solved(left[0], right[0])
    first, s = knots.place(away)
    rows = np.stack([coefficients[first + i] for i in range(4)])
    slope = (basis(s, derivative=True) * rows).sum(axis=0) / knots.spacing
    return coefficients, (basis(s) * rows).sum(axis=0), slope


def solved(left: Array, right: Array) -> Array:
    """Solve normal equations that may lack pixels at their ends."""
    ridge = 1e-7 * np.trace(left) / len(left)
    second = np.diff(np.eye(len(left)), 2, axis=0)
    found: Array = np.linalg.solve(left + ridge * (second.T @ second) + 1e-12 * np.eye(len(left)), right)
    return found


def settle(strip: Strip, step: float, degree: int, steps: int = 12, tolerance: float = 0.003) -> Strip:
    """
    Move the edge to where the light says it is.

    Parameters
    ----------
    strip : Strip
    step : float
        Distance of the profile's knots, [pixel].
    degree : int
        Of the polynomial along the edge, up to 3.
    steps : int
        Most rounds.
    tolerance : float
        Settled when nothing moves by more, [pixel].

    Returns
    -------
    strip : Strip
        With another `bend`.
    """
    reach = strip.line.half_width
    t = strip.t / strip.line.half_length
    powers = np.vander(t, degree + 1, increasing=True)
    for _ in range(steps):
        away = strip.away
        use = np.abs(away) < reach
        _, height, slope = profile_of(Knots(reach, step), away[use], strip.light[use])
        rows = slope[:, None] * powers[use]
        over = strip.light[use] - height
        move = np.linalg.lstsq(rows.T @ rows, rows.T @ over, rcond=1e-12)[0]
        move = np.clip(move, -3 * step - 2, 3 * step + 2)
        bend = strip.bend.copy()
        bend[: degree + 1] -= move
        strip = replace(strip, bend=bend)
        if np.abs(move).max() < tolerance:
            break
    return strip
