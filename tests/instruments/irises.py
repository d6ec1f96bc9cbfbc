"""
Photographs of openings whose size is known, rendered without a line of the analysis.

The outline is an intersection of half-planes or of discs (curved blades). Every pixel the outline crosses is
sampled 8 by 8 times and averaged. Then light that falls off to one side and to the corners, blur, shot and
read noise, the curve of sRGB (and a telephone's own on top), 8 bits, and JPEG.
"""

from __future__ import annotations

import io
import math
from dataclasses import dataclass

import numpy as np
from PIL import Image
from scipy.ndimage import gaussian_filter

OVER = 8


@dataclass(frozen=True)
class Opening:
    """An outline: blade edges `n` (none for a circle), each at `reach` from the middle; `bow` bends them."""

    normals: np.ndarray
    reach: np.ndarray
    bow: float = 0.0  # radius of the blade's own edge; 0 is straight

    def outside(self, x: np.ndarray, y: np.ndarray) -> np.ndarray:
        """Distance from the nearest blade edge, positive outside (exact but beyond corners)."""
        worst = np.full(np.broadcast(x, y).shape, -np.inf)
        for angle, reach in zip(self.normals, self.reach, strict=True):
            c, s = math.cos(angle), math.sin(angle)
            if self.bow:
                away = np.hypot(x + (self.bow - reach) * c, y + (self.bow - reach) * s) - self.bow
            else:
                away = x * c + y * s - reach
            np.maximum(worst, away, out=worst)
        return worst

    def vertices(self, n: int = 40_000) -> np.ndarray:
        """Points of the outline, found along rays by bisection in closed form of the edges."""
        theta = np.arange(n) * 2 * math.pi / n
        best = np.full(n, np.inf)
        for angle, reach in zip(self.normals, self.reach, strict=True):
            cos = np.cos(theta - angle)
            if self.bow:  # |t u + (bow - reach) n| = bow
                b = self.bow - reach
                root = -b * cos + np.sqrt(np.maximum(b * b * cos**2 - b * b + self.bow**2, 0))
            else:
                root = np.where(cos > 1e-9, reach / np.where(cos > 1e-9, cos, 1), np.inf)
            best = np.minimum(best, root)
        return np.column_stack([best * np.cos(theta), best * np.sin(theta)])

    def area(self) -> float:
        """By the shoelace formula."""
        x, y = self.vertices().T
        return 0.5 * abs(float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))))

    def diameter(self) -> float:
        return math.sqrt(4 * self.area() / math.pi)

    def roundness(self) -> float:
        """Smallest over largest calliper width, by brute force over the directions."""
        points = self.vertices(4000)
        directions = np.arange(0, math.pi, math.pi / 1440)
        along = points @ np.stack([np.cos(directions), np.sin(directions)])
        widths = along.max(axis=0) - along.min(axis=0)
        return float(widths.min() / widths.max())


def circle(radius: float) -> Opening:
    return Opening(np.array([0.0]), np.array([radius]), bow=radius)


def polygon(
    n: int, radius: float, turned: float = 0.0, rng=None, uneven: float = 0.0, bow: float = 0.0
) -> Opening:
    """A regular polygon of circumradius `radius`; `uneven` is the scatter of reach and of direction."""
    angles = turned + np.arange(n) * 2 * math.pi / n
    reach = np.full(n, radius * math.cos(math.pi / n))
    if uneven:
        reach = reach * (1 + uneven * rng.standard_normal(n))
        angles = angles + uneven * rng.standard_normal(n)
    return Opening(angles, reach, bow=bow * radius)


def late_blade(n: int, radius: float, which: int, by: float, turned: float = 0.0) -> Opening:
    """A regular polygon of which one blade reaches in too far (`by` below zero: not far enough)."""
    one = polygon(n, radius, turned)
    reach = one.reach.copy()
    reach[which] -= by
    return Opening(one.normals, reach)


def coverage(opening: Opening, shape: tuple[int, int], at: tuple[float, float]) -> np.ndarray:
    """Share of every pixel that lies inside, rows by columns."""
    y, x = np.mgrid[: shape[0], : shape[1]].astype(float)
    x -= at[0]
    y -= at[1]
    away = opening.outside(x, y)
    share = (away < 0).astype(float)
    rows, columns = np.nonzero(np.abs(away) < 1.0)
    steps = (np.arange(OVER) + 0.5) / OVER - 0.5
    dx, dy = np.meshgrid(steps, steps)
    inside = opening.outside(x[rows, columns][:, None] + dx.ravel(), y[rows, columns][:, None] + dy.ravel())
    share[rows, columns] = (inside < 0).mean(axis=1)
    return share


@dataclass(frozen=True)
class Taking:
    """How a picture is taken."""

    light: float = 0.6
    dark: float = 0.01
    blur: float = 1.2
    noise: float = 0.01
    vignetting: float = 0.15  # lost at the picture's corner
    gradient: float = 0.1  # from one side of the picture to the other
    towards: float = 0.7
    tone: float = 1.0  # a telephone's own power on top of sRGB
    quality: int | None = 70  # of JPEG; None for PNG
    own: str = ""  # a telephone's own curve on top of sRGB, one of CURVES
    plain: bool = False  # numbers stored as they are, without sRGB's curve


def s_curve(share: float):
    """Contrast about the middle: part of 3 u² - 2 u³, the cubic that is level at both ends."""
    return lambda u: (1 - share) * u + share * (3 * u * u - 2 * u**3)


def pivoted(power: float, pivot: float):
    """Odds raised to a power, the same at the pivot: darker below it, brighter above."""
    c = (pivot / (1 - pivot)) ** (power - 1)
    return lambda u: u**power / (u**power + c * (1 - u) ** power)


#: What a telephone may do to the numbers of sRGB, 0 to 1: powers, contrast, contrast about another middle,
#: shadows lifted, highlights rolled off.
CURVES = {
    "": lambda u: u,
    "power 0.9": lambda u: u**0.9,
    "power 1.1": lambda u: u**1.1,
    "power 1.2": lambda u: u**1.2,
    "contrast 0.3": s_curve(0.3),
    "contrast 0.6": s_curve(0.6),
    "contrast 0.9": s_curve(0.9),
    "pivot 0.35": pivoted(1.3, 0.35),
    "pivot 0.65": pivoted(1.3, 0.65),
    "lifted": lambda u: u + 0.25 * u * (1 - u) ** 2,
    "shoulder": lambda u: np.where(u < 0.6, u, 0.6 + 0.4 * np.tanh(u / 0.4 - 1.5)),
}


def encoded(light: np.ndarray) -> np.ndarray:
    light = np.clip(light, 0, 1)
    return np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)


def fall_off(shape: tuple[int, int], how: Taking) -> np.ndarray:
    y, x = np.mgrid[: shape[0], : shape[1]].astype(float)
    half = math.hypot(*shape) / 2
    x, y = (x - (shape[1] - 1) / 2) / half, (y - (shape[0] - 1) / 2) / half
    lost = 1 - (1 + (x * x + y * y) * ((1 - how.vignetting) ** -0.5 - 1)) ** -2
    return (1 - lost) * (1 + how.gradient * (x * math.cos(how.towards) + y * math.sin(how.towards)))


def photographed(opening, shape, at, how: Taking, rng) -> io.BytesIO:
    """A picture's file, in memory."""
    share = coverage(opening, shape, at)
    light = how.dark + (how.light - how.dark) * share
    return stored(light * fall_off(shape, how), how, rng)


def stored(light: np.ndarray, how: Taking, rng) -> io.BytesIO:
    light = gaussian_filter(light, how.blur) if how.blur else light
    if how.noise:  # half of it shot noise, at full light
        light = light + how.noise * np.sqrt(0.2 + 0.8 * np.clip(light, 0, None)) * rng.standard_normal(
            light.shape
        )
    light = np.clip(light, 0, 1) ** how.tone
    values = light if how.plain else CURVES[how.own](encoded(light))
    image = Image.fromarray(np.rint(255 * np.clip(values, 0, 1)).astype(np.uint8))
    file = io.BytesIO()
    if how.quality is None:
        image.save(file, "PNG", compress_level=1)
    else:
        image.convert("RGB").save(file, "JPEG", quality=how.quality)
    file.seek(0)
    return file
