"""
Photographs of slanted edges whose MTF is known in closed form; shares nothing with the analysis.

A point-spread function that is the same in all directions blurs a straight edge; the edge's profile follows
from the MTF by its sine transform, ``E(x) = 1/2 + 1/pi * integral of MTF(f) sin(2 pi f x) / f df``. Each
pixel is the mean of 8 by 8 points of it, which is the pixel aperture. Light falls off to the corners and
rises to one side, noise comes on top, and the picture is stored on the curve of sRGB.
"""

from __future__ import annotations

import io
import math
from dataclasses import dataclass, field
from functools import cache

import numpy as np
from PIL import Image
from scipy.optimize import brentq
from scipy.special import j1, ndtr

OVER = 8


@dataclass(frozen=True)
class Blur:
    """A Gaussian of `sigma`, a perfect lens of `wave` = lambda N, a blur disc of radius `disc`, [pixel]."""

    sigma: float = 0.0
    wave: float = 0.0
    disc: float = 0.0

    def mtf(self, f):
        """Of the lens alone; `f` in cycles per pixel."""
        f = np.asarray(f, dtype=float)
        out = np.exp(-2 * (np.pi * self.sigma * f) ** 2)  # Gaussian, closed form
        if self.wave:  # round pupil without aberration, closed form: standards, section 5
            x = np.clip(f * self.wave, 0, 1)
            out = out * (2 / np.pi) * (np.arccos(x) - x * np.sqrt(1 - x * x))
        if self.disc:  # transform of an even disc
            z = 2 * np.pi * f * self.disc
            out = out * np.where(z > 1e-9, 2 * j1(np.maximum(z, 1e-9)) / np.maximum(z, 1e-9), 1.0)
        return out

    def with_pixel(self, f, degrees):
        """And of the square pixel, along the normal of an edge at that angle to a pixel side."""
        turn = math.radians(degrees)
        return self.mtf(f) * np.abs(np.sinc(f * math.cos(turn)) * np.sinc(f * math.sin(turn)))

    def mtf50(self, degrees):
        """Where it falls to a half, [cycles/pixel]."""
        return brentq(lambda f: float(self.with_pixel(f, degrees)) - 0.5, 1e-6, 0.95)

    def profile(self):
        """Distances, [pixel], and the share of full light there."""
        return _profile(self)

    def reckoned(self):
        """The same, not kept."""
        if not (self.wave or self.disc):  # closed form: the normal distribution
            x = np.linspace(-12, 12, 1601) * max(self.sigma, 1e-9)
            return x, ndtr(x / max(self.sigma, 1e-9))
        top = min(
            [4.0]
            + ([1 / self.wave] if self.wave else [])
            + ([1.2 / self.sigma] if self.sigma else [])
            + ([12.0] if self.disc else [])
        )
        x = np.concatenate([np.arange(0, 24, 0.04), np.geomspace(24, 900, 300)])
        nodes, weights = np.polynomial.legendre.leggauss(64)
        panels = 120
        edges = np.linspace(0, top, panels + 1)
        f = (edges[:-1, None] + (nodes + 1) * np.diff(edges)[:, None] / 2).ravel()
        w = np.tile(weights, panels) * top / panels / 2 * self.mtf(f) / f
        right = np.empty_like(x)
        for i in range(0, len(x), 500):
            right[i : i + 500] = np.sin(2 * np.pi * x[i : i + 500, None] * f) @ w / np.pi
        return np.concatenate([-x[:0:-1], x]), 0.5 + np.concatenate([-right[:0:-1], right])


@cache
def _profile(blur):
    return blur.reckoned()


@dataclass(frozen=True)
class Scene:
    """An edge through the middle (moved by `aside`), its normal turned `degrees` from the rows' direction."""

    blur: Blur = field(default_factory=lambda: Blur(1.0))
    degrees: float = 5.0
    width: int = 240
    height: int = 200
    dark: float = 0.08
    bright: float = 0.75
    noise: float = 0.004
    slope: float = 0.0
    vignette: float = 0.0
    bow: float = 0.0
    aside: float = 0.0
    bar: float = 0.0
    square: float = 0.0

    def light(self, rng=None):
        """Linear light of each pixel; 1 is white."""
        # sub-pixel positions are the same in every pixel; done column by column of sub-pixels to save memory
        share = np.zeros((self.height, self.width))
        steps = (np.arange(OVER) + 0.5) / OVER - 0.5
        turn = math.radians(self.degrees)
        x = np.arange(self.width) - (self.width - 1) / 2 - self.aside
        y = np.arange(self.height) - (self.height - 1) / 2
        xs, es = self.blur.profile()
        for dy in steps:
            for dx in steps:
                xx, yy = np.meshgrid(x + dx, y + dy)
                d = xx * math.cos(turn) + yy * math.sin(turn)
                t = -xx * math.sin(turn) + yy * math.cos(turn)
                if self.square:
                    half = self.square / 2
                    one = (1 - self._step(d - half)) * self._step(d + half)
                    two = (1 - self._step(t - half)) * self._step(t + half)
                    share += 1 - one * two
                    continue
                d = d - self.bow * (t / self.height * 2) ** 2
                if self.bar:
                    share += self._step(d) * (1 - self._step(d - self.bar))
                else:
                    share += np.interp(d, xs, es)
        share /= OVER**2
        xx, yy = np.meshgrid(x / self.width, y / self.height)
        lamp = (1 + self.slope * (xx + 0.5 * yy)) * (1 - self.vignette * 2 * (xx**2 + yy**2))
        light = (self.dark + (self.bright - self.dark) * share) * lamp
        if rng is not None and self.noise:
            light = light + rng.normal(0, 1, light.shape) * self.noise * np.sqrt(
                0.3 + 0.7 * light / self.bright
            )
        return light

    def _step(self, d):
        return np.interp(d, *self.blur.profile())

    def picture(self, rng, quality=70, across=False):
        """As a file: JPEG of that quality, PNG where it is None; `across` lays the edge along the rows."""
        stored = encoded(self.light(rng))
        return kept(stored.T if across else stored, quality)


def encoded(light):
    """Eight bits on the curve of sRGB (IEC 61966-2-1)."""
    v = np.clip(light, 0, 1)
    v = np.where(v <= 0.0031308, 12.92 * v, 1.055 * v ** (1 / 2.4) - 0.055)
    return np.rint(255 * v).astype(np.uint8)


def kept(stored, quality=70):
    """The file's bytes."""
    held = io.BytesIO()
    image = Image.fromarray(np.ascontiguousarray(stored))
    if quality is None:
        image.save(held, "PNG")
    else:
        image.save(held, "JPEG", quality=quality)
    held.seek(0)
    return held
