"""
Photographs of a lens's glass in side light whose marks are known, rendered without a line of the analysis.

A mount with notches and dots around a dark disc; marks are discs, ellipses and threads, drawn by
sampling every
pixel near their edge 8 by 8 times. Then blur, noise, sRGB, JPEG.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.ndimage import map_coordinates

from instruments.irises import OVER, Taking, stored

MIDDLE, RADIUS, SHAPE = (260.0, 210.0), 150.0, (420, 520)


@dataclass(frozen=True)
class Spot:
    """An ellipse: middle and half axes in pixels, turned, and how much light it scatters."""

    x: float
    y: float
    a: float
    b: float
    turned: float
    light: float

    def outside(self, x, y):
        """Roughly the distance from its edge, negative inside; zero exactly on it."""
        c, s = math.cos(self.turned), math.sin(self.turned)
        u, v = ((x - self.x) * c + (y - self.y) * s) / self.a, (-(x - self.x) * s + (y - self.y) * c) / self.b
        return (np.hypot(u, v) - 1) * min(self.a, self.b)


@dataclass(frozen=True)
class Scene:
    """What is photographed."""

    spots: tuple[Spot, ...] = ()
    ground: float = 0.01  # light of the clean glass, haze included
    gradient: float = 0.3  # of that light over the glass
    mount: float = 0.12
    seed: int = 7
    radius: float = RADIUS

    @property
    def middle(self):
        return MIDDLE[0] * self.radius / RADIUS, MIDDLE[1] * self.radius / RADIUS

    @property
    def shape(self):
        return round(SHAPE[0] * self.radius / RADIUS), round(SHAPE[1] * self.radius / RADIUS)

    def part(self, within=0.97):
        """Which pixels are glass."""
        y, x = np.mgrid[: self.shape[0], : self.shape[1]]
        return np.hypot(x - self.middle[0], y - self.middle[1]) < within * self.radius


def share_inside(shape, outside):
    """Share of every pixel that is inside, from a function of the distance to an edge."""
    y, x = np.mgrid[: shape[0], : shape[1]].astype(float)
    away = outside(x, y)
    share = (away < 0).astype(float)
    rows, columns = np.nonzero(np.abs(away) < 1.5)
    steps = (np.arange(OVER) + 0.5) / OVER - 0.5
    dx, dy = np.meshgrid(steps, steps)
    share[rows, columns] = (
        outside(x[rows, columns][:, None] + dx.ravel(), y[rows, columns][:, None] + dy.ravel()) < 0
    ).mean(axis=1)
    return share


@lru_cache(maxsize=8)
def marks_of(spots, shape=SHAPE):
    """Light of the marks where the strongest counts, and the share of each pixel any of them covers."""
    light, covered = np.zeros(shape), np.zeros(shape)
    for one in spots:
        half = int(max(one.a, one.b)) + 4
        top, left = max(0, int(one.y) - half), max(0, int(one.x) - half)
        part = (slice(top, min(shape[0], int(one.y) + half)), slice(left, min(shape[1], int(one.x) + half)))
        inside = share_inside(
            light[part].shape, lambda x, y, one=one, left=left, top=top: one.outside(x + left, y + top)
        )
        light[part] = np.maximum(light[part], inside * one.light)
        covered[part] = np.maximum(covered[part], inside)
    return light, covered


def true_share(spots, radius=RADIUS):
    """Share of the glass that marks cover, [%]."""
    scene = Scene(spots, radius=radius)
    _, covered = marks_of(spots, scene.shape)
    inside = scene.part()
    return 100 * float(covered[inside].sum() / inside.sum())


@lru_cache(maxsize=2)
def mount_of(mount, seed, radius):
    """Light of what is around the glass: a ring with notches and engraving."""
    scene = Scene(radius=radius)
    y, x = np.mgrid[: scene.shape[0], : scene.shape[1]].astype(float)
    x, y = x - scene.middle[0], y - scene.middle[1]
    away, turned = np.hypot(x, y), np.arctan2(y, x)
    rng = np.random.default_rng(seed)
    seen = mount * (1 + 0.3 * np.cos(turned - 1))
    for at in rng.uniform(-math.pi, math.pi, 26):  # notches and engraving
        wide = rng.uniform(0.01, 0.05)
        off = np.abs((turned - at + math.pi) % (2 * math.pi) - math.pi)
        low, high = sorted(rng.uniform(1.06, 1.38, 2))
        seen = seen + 0.15 * ((off < wide) & (away > low * radius) & (away < high * radius))
    seen.setflags(write=False)  # it is kept
    return seen


@lru_cache(maxsize=8)
def light_of(scene: Scene) -> np.ndarray:
    """The scene as light, before any camera."""
    y, x = np.mgrid[: scene.shape[0], : scene.shape[1]].astype(float)
    x, y = x - scene.middle[0], y - scene.middle[1]
    away = np.hypot(x, y)
    glass = scene.ground * (1 + scene.gradient * x / scene.radius)
    light, _ = marks_of(scene.spots, scene.shape)
    rim = np.clip(away - scene.radius + 0.5, 0, 1)
    seen = (1 - rim) * (glass + light) + rim * mount_of(scene.mount, scene.seed, scene.radius)
    seen.setflags(write=False)  # it is kept
    return seen


def moved(light: np.ndarray, middle, shift=(0.0, 0.0), turned=0.0) -> np.ndarray:
    """The scene as a camera sees it that stands a little elsewhere: turned about the glass and shifted."""
    y, x = np.mgrid[: light.shape[0], : light.shape[1]].astype(float)
    u, v = x - middle[0] - shift[0], y - middle[1] - shift[1]
    c, s = math.cos(turned), math.sin(turned)
    return map_coordinates(
        light, [middle[1] + s * u + c * v, middle[0] + c * u - s * v], order=3, mode="nearest"
    )


def some_spots(rng, n, least=3.0, most=14.0, light=(0.05, 0.3), radius=RADIUS):
    """Marks here and there within the glass."""
    spots, middle = [], Scene(radius=radius).middle
    for _ in range(n):
        r, at = radius * 0.88 * math.sqrt(rng.uniform()), rng.uniform(0, 2 * math.pi)
        a = rng.uniform(least, most)
        spots.append(
            Spot(middle[0] + r * math.cos(at), middle[1] + r * math.sin(at), a, a * rng.uniform(0.4, 1),
                 rng.uniform(0, math.pi), rng.uniform(*light))
        )  # fmt: skip
    return tuple(spots)


def taken(scene: Scene, rng, how: Taking | None = None, exposure=1.0, shift=(0.0, 0.0), turned=0.0, dark=0.0):
    """The picture's file; `dark` is what the camera writes where there is no light."""
    how = how or Taking(blur=1.0, noise=0.004)
    return stored(exposure * moved(light_of(scene), scene.middle, shift, turned) + dark, how, rng)
