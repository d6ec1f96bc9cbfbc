"""
The area of a lit opening to a fraction of a pixel, by partial coverage.

A pixel on the edge is as much inside as its light stands between the dark and the light level of that very
place; the area is the sum. Blur carries light across the edge and takes as much away, so it does not change
the sum, whatever its shape: true only as long as the numbers are light. How far they are is told by the edge
itself, which an opening's blur makes alike to both sides: the mixture of the sRGB curve and plain numbers
that makes it so is found from the picture (`tone`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.iris.curve import Curve
from pegwood.instruments.iris.hole import Hole
from pegwood.instruments.iris.levels import Surface, fit_surface
from pegwood.instruments.iris.outline import Outline, trace
from pegwood.instruments.iris.practice import Practice
from pegwood.instruments.iris.tone import likeliest_tone
from pegwood.instruments.photographs import averaged_down
from pegwood.instruments.readings import RefusedReadings

__all__ = ["AreaInPixels", "measure_area"]

Array = NDArray[np.floating]
Light = NDArray[np.float32]

TOO_SOFT = 0.075
"""Widest blur of an edge, in radii: beyond it the edge reaches too far into the middle."""
WORK_AT = 640
"""Diameter up to which every pixel is used; larger openings are averaged down, [pixel]."""
_STEP = 0.25


@dataclass(frozen=True)
class AreaInPixels:
    """
    What the picture tells of the opening, in its own pixels.

    Parameters
    ----------
    area : float
        [pixel²].
    u_noise, u_level, u_tone, u_own : float
        Standard uncertainties of the area from noise, from the light level carried to the edge, from what
        curve the file was stored by, and from the camera's own on top of it, [pixel²].
    perimeter : float
        [pixel].
    blur : float
        Width of the edge as a normal curve's standard deviation, [pixel].
    tone, tone_u : float
        Share of plain numbers in the curve: 0 is sRGB's, 1 none at all, [-].
    contrast : float
        Light less dark level, of full scale, [-].
    noise : float
        Standard deviation of a pixel over the contrast, [-].
    unevenness : float
        Largest over smallest light level inside, less one, [-].
    outline : Outline
        The edge, in pixels of the picture.
    """

    area: float
    u_noise: float
    u_level: float
    u_tone: float
    u_own: float
    perimeter: float
    blur: float
    tone: float
    tone_u: float
    contrast: float
    noise: float
    unevenness: float
    outline: Outline


@dataclass(frozen=True)
class _Coverage:
    """How much of each pixel is inside, by one reading of its numbers."""

    share: Light
    light: Surface
    contrast: Light


def measure_area(
    light: Light, hole: Hole, lossy: bool, known: Practice, curve: Curve | None = None
) -> AreaInPixels:
    """
    Area of the opening.

    Parameters
    ----------
    light : array of float32, shape (height, width)
        The whole picture as light.
    hole : Hole
        Where the opening is.
    lossy : bool
        Whether the picture was stored with loss.
    known : Practice
        What is taken as given.
    curve : Curve, optional
        The camera's, where darker pictures told it.

    Returns
    -------
    area : AreaInPixels

    Raises
    ------
    RefusedReadings
        If there is no closed edge, or it is too soft.
    """
    cut = light[hole.top : hole.bottom, hole.left : hole.right]
    by = max(1, math.ceil(hole.diameter / WORK_AT))
    linear = averaged_down(cut if curve is None else curve.light(cut), by)
    middle = ((hole.x - hole.left + 0.5) / by - 0.5, (hole.y - hole.top + 0.5) / by - 0.5)
    radius = hole.diameter / by / 2
    rough = _roughly(linear, middle, radius)
    outline = trace(rough, middle)
    inside = outline.depth(linear.shape)
    if _blur(rough, inside) > TOO_SOFT * radius:
        raise RefusedReadings(
            "The edge is too soft for the size of the opening. Focus on the blades, or go nearer."
        )
    margin = 6.0
    for _ in range(2):
        by_light = _coverage(linear, inside, margin)
        outline = trace(by_light.share, outline.middle)
        inside = outline.depth(linear.shape)
        blur = _blur(by_light.share, inside)
        margin = min(max(4.0, 3.5 * blur + 1.5), 0.3 * radius)
    by_light = _coverage(linear, inside, margin)
    area, tone, tone_u, u_tone = _sum(by_light.share, inside, margin), 0.0, 0.0, 0.0
    edge_px = blur * outline.perimeter
    if curve is None:
        by_number = _coverage(averaged_down(_as_stored(cut), by), inside, margin)
        edges = _edges(by_light.share, by_number.share, inside, outline.angle(linear.shape), margin)
        tone, tone_u = likeliest_tone(edges, blur, lossy, known)
        more = _sum(by_number.share, inside, margin) - area
        area, u_tone = area + tone * more, abs(more) * tone_u
        u_own = known["tone.own_blurs"].value * edge_px
    else:
        _, read = _profile(averaged_down(cut, by), inside, margin)
        steps = _unsure_steps(read, curve, known["tone.step_u_ev"].value) * outline.perimeter
        u_own = math.hypot(steps, known["tone.told_blurs"].value * edge_px)
    near = np.abs(inside) <= margin
    dark_sd, light_sd = _noise(by_light.share, inside, margin)
    u_noise = math.sqrt(float(near.sum()) * (dark_sd**2 + light_sd**2) / 2)
    u_level = _u_level(linear, by_light, inside, margin)
    values = by_light.light.at(linear.shape)[inside > 0]
    scale = float(by * by)
    return AreaInPixels(
        area=area * scale,
        u_noise=u_noise * scale,
        u_level=u_level * scale,
        u_tone=u_tone * scale,
        u_own=u_own * scale,
        perimeter=outline.perimeter * by,
        blur=blur * by,
        tone=tone,
        tone_u=tone_u,
        contrast=float(np.median(by_light.contrast[inside > 0])),
        noise=float(by_light.share[inside > margin].std()),
        unevenness=float(values.max() / values.min() - 1),
        outline=outline.enlarged(by, hole.left, hole.top),
    )


def _as_stored(light: Light) -> Light:
    """The numbers behind the light, by the curve of sRGB; by table, since millions are asked for."""
    knots = np.linspace(0, 1, 16_385) ** 2  # closer together where the curve is steep
    table = np.where(knots <= 0.0031308, 12.92 * knots, 1.055 * knots ** (1 / 2.4) - 0.055).astype(np.float32)
    place = np.sqrt(np.clip(light, 0, 1))
    place *= np.float32(16_384)
    found: Light = table[(place + np.float32(0.5)).astype(np.int32)]
    return found


def _roughly(light: Light, middle: tuple[float, float], radius: float) -> Light:
    """Coverage with one dark and one light level for all: good enough to find the edge."""
    y, x = np.ogrid[: light.shape[0], : light.shape[1]]
    away = np.hypot(x - middle[0], y - middle[1])
    bright = float(np.median(light[away < 0.6 * radius]))
    dark = float(np.quantile(light[away > 1.15 * radius], 0.3))
    rough: Light = ((light - dark) / max(bright - dark, 1e-6)).astype(np.float32)
    return rough


def _coverage(values: Light, inside: Light, margin: float) -> _Coverage:
    ring = max(4.0, 0.12 * float(inside.max()))
    dark = fit_surface(values, (inside < -margin) & (inside > -margin - ring), degree=2, robust=True)
    light = fit_surface(values, inside > margin, degree=4 if inside.max() > 6 * margin else 2)
    ground = dark.at(values.shape)
    contrast = light.at(values.shape) - ground
    return _Coverage((values - ground) / np.maximum(contrast, np.float32(1e-6)), light, contrast)


def _sum(share: Light, inside: Light, margin: float) -> float:
    near = np.abs(inside) <= margin
    return float((inside > margin).sum()) + float(share[near].sum(dtype=float))


def _profile(share: Light, inside: Light, reach: float) -> tuple[Array, Array]:
    """Mean coverage over the depth, in steps of a quarter pixel from -reach to reach."""
    near = np.abs(inside) < reach
    n = round(2 * reach / _STEP)
    place = np.minimum(((inside[near] + reach) / _STEP).astype(int), n - 1)
    count = np.bincount(place, minlength=n)
    total = np.bincount(place, weights=share[near], minlength=n)
    depth = -reach + (np.arange(n) + 0.5) * _STEP
    return depth, np.where(count > 0, total / np.maximum(count, 1), np.nan)


def _blur(share: Light, inside: Light) -> float:
    """Standard deviation of the normal curve with the same way from 16 to 84 % as the edge."""
    depth, height = _profile(share, inside, min(14.0, 0.3 * float(inside.max())))
    good = np.isfinite(height)
    rising = np.maximum.accumulate(height[good])
    low, high = (float(np.interp(level, rising, depth[good])) for level in (0.1587, 0.8413))
    return max((high - low) / 2, 0.2)


def _edges(
    by_light: Light, by_number: Light, inside: Light, angle: Light, margin: float
) -> list[tuple[Array, Array]]:
    """The ramp at the edge by both readings of the numbers, in up to twelve sectors."""
    near = np.abs(inside) < margin + 1
    sector = (angle[near] * (12 / (2 * math.pi))).astype(int) % 12
    depth, light, number = inside[near], by_light[near], by_number[near]
    found: list[tuple[Array, Array]] = []
    for one in range(12):
        here = sector == one
        if here.sum() < 40 * margin:
            continue
        grid, first = _profile(light[here], depth[here], margin)
        _, second = _profile(number[here], depth[here], margin)
        good = np.isfinite(first)
        if good.mean() > 0.9:
            found.append(
                (np.interp(grid, grid[good], first[good]), np.interp(grid, grid[good], second[good]))
            )
    return found


def _unsure_steps(read: Array, curve: Curve, u_ev: float) -> float:
    """What uncertain steps between the exposures make of an edge's place, [pixel]; `read` runs across it."""
    read = read[np.isfinite(read)]
    ends = max(2, round(1 / _STEP))

    def inside(by: Curve) -> float:
        light = by.light(read.astype(np.float32)).astype(float)
        low, high = float(light[:ends].mean()), float(light[-ends:].mean())
        return float(((light - low) / (high - low)).sum()) * _STEP

    here = inside(curve)
    off = [
        inside(curve.off_by(n, u_ev)) - here for n in range(len(curve.true) - 1)
    ]  # the last is the measure
    return math.sqrt(sum(one**2 for one in off))


def _noise(share: Light, inside: Light, margin: float) -> tuple[float, float]:
    """
    Noise of the coverage in the dark and in the light, per pixel, as it adds up over many.

    By sums over squares of eight: neighbours in a JPEG are not independent.
    """
    found = []
    for part in ((inside < -margin) & (inside > -2.5 * margin), (inside > margin) & (inside < 2.5 * margin)):
        deviation = np.where(part, share - (0 if inside[part].mean() < 0 else 1), 0)
        sums, counts = (
            averaged_down(deviation.astype(np.float32), 8) * 64,
            averaged_down(part.astype(np.float32), 8) * 64,
        )
        enough = counts > 20
        found.append(
            math.sqrt(float((sums[enough] ** 2).sum() / max(counts[enough].sum(), 1)))
            if enough.any()
            else 0.05
        )
    return found[0], found[1]


def _u_level(values: Light, chosen: _Coverage, inside: Light, margin: float) -> float:
    """What another, simpler surface of the light would make of the area."""
    other = fit_surface(values, inside > margin, degree=3 if inside.max() > 6 * margin else 1).at(
        values.shape
    )
    near = np.abs(inside) <= margin
    ours = chosen.light.at(values.shape)
    change = (other[near] / np.maximum(ours[near], 1e-6) - 1) * chosen.share[near]
    return abs(float(change.sum(dtype=float))) / math.sqrt(3)
