"""
Fog on bare film and in the pictures: how much density light has left where no picture is.

Bare film is seen at three kinds of place: between the perforations, at the film's very edges, and in the gaps
between frames. Where the holes are lit from behind and not burnt out they show the lamp itself, so that
a lamp that lights unevenly is divided out; else unevenness can be fog as well, and more is asked of it.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.filmstrip import Strip, sampled
from pegwood.instruments.filmstrip.finding import shrunk
from pegwood.instruments.filmstrip.projection import Projection
from pegwood.instruments.leaks.gate_edge import bulge_of
from pegwood.instruments.leaks.pictures import cells_of
from pegwood.instruments.transport.frames import Found

__all__ = ["Fog", "fog_of"]

Array = NDArray[np.float64]

_GRID_MM = 0.16
_SOFT_MM = 0.4  # the gate's own edges are soft
_BURNT = 0.985


@dataclass(frozen=True)
class Fog:
    """
    Density beyond that of the least fogged bare film.

    Parameters
    ----------
    along : array, shape (n,)
        Places between perforations, [mm] from the strip's left end.
    upper, lower : array, shape (n,)
        Fog there beside the upper and the lower edge, [-]; NaN where not seen.
    gap_at : array, shape (g,)
        Middles of the gaps, and of bare ends of the strip, [mm].
    gaps : array, shape (g, b)
        Fog in them, from the upper to the lower edge of the pictures.
    pictures : array, shape (frames, rows, columns)
        Density of each frame in cells of half a millimetre, over bare film.
    starts : array, shape (frames,)
        Left edges of the frames, [mm].
    gate : float
        Their width, [mm].
    bulge : float
        How far all their sides stand out at the same height, [mm].
    noise : float
        Standard deviation of a figure of `upper`, [-].
    lamp_known : bool
        Whether the lamp was divided out.
    length : float
        Of the strip, [mm].
    """

    along: Array
    upper: Array
    lower: Array
    gap_at: Array
    gaps: Array
    pictures: Array
    starts: Array
    gate: float
    bulge: float
    noise: float
    lamp_known: bool
    length: float


def fog_of(strip: Strip, found: Found, across_mm: float) -> Fog:
    """
    Measure fog wherever there is bare film.

    Parameters
    ----------
    strip : Strip
    found : Found
        Its frames; may be none.
    across_mm : float
        Height of the pictures, [mm].

    Returns
    -------
    fog : Fog
    """
    small, block = shrunk(
        strip.light, max(32, int(max(strip.light.shape) / max(1.0, strip.pixels_per_mm / 8)))
    )
    projection = _smaller(strip.projection, block)
    along = np.arange(strip.left_mm + 0.3, strip.right_mm - 0.3, _GRID_MM)
    across = np.arange(-17.2, 17.2 + _GRID_MM / 2, _GRID_MM)
    seen = sampled(small, projection, along, across)
    density, lamp_known = _density(strip, seen, along, across)
    inside = _inside(projection, along, across, small.shape)
    density = np.where(inside, density, np.nan)

    centres = strip.base.along
    rows = strip.apart_mm / 2
    upper = _beside(density, along, across, centres, -rows)
    lower = _beside(density, along, across, centres, rows)
    gap_at, gaps = _gaps(density, along, across, found, across_mm / 2, strip)
    pictures = _pictures(density, along, across, found, across_mm)
    everything = np.concatenate([upper, lower, gaps.ravel()])
    everything = everything[np.isfinite(everything)]
    least = float(np.percentile(everything, 12)) if len(everything) else 0.0
    jitter = np.concatenate([np.diff(upper), np.diff(lower)])
    jitter = jitter[np.isfinite(jitter)]
    # the quarter that changes least: where fog comes in bands the rest of it is no noise
    noise = float(np.percentile(np.abs(jitter), 25)) / 0.3186 / 1.41 if len(jitter) else 0.02
    starts = np.array([one.at for one in found.frames])
    return Fog(
        centres, upper - least, lower - least, gap_at, gaps - least, pictures - least, starts, found.gate,
        bulge_of(density, along, across, found, across_mm),
        min(max(noise, 0.002), 0.02), lamp_known, strip.right_mm,
    )  # fmt: skip


def _smaller(projection: Projection, block: float) -> Projection:
    middle = ((projection.middle[0] + 0.5) / block - 0.5, (projection.middle[1] + 0.5) / block - 0.5)
    return Projection(projection.matrix, projection.bend, middle, projection.half / block)


def _inside(projection: Projection, along: Array, across: Array, shape: tuple[int, ...]) -> NDArray[np.bool_]:
    x, y = projection.to_picture(along[None, :], across[:, None])
    return np.asarray((x >= 0) & (y >= 0) & (x <= shape[1] - 1) & (y <= shape[0] - 1))


def _density(strip: Strip, seen: NDArray[Any], along: Array, across: Array) -> tuple[Array, bool]:
    """Density with fog counted positive, over the lamp's light where that is known."""
    light = np.asarray(seen, dtype=float)
    ruler = strip.ruler
    holes = np.asarray(ruler.hole_light if ruler else [1.0], dtype=float)
    sign = 1.0 if strip.darker else -1.0
    known = strip.brighter or strip.inverted
    burnt = float((holes > _BURNT).mean())
    lamp: Array | float = float(np.median(holes)) if known else 1.0
    if ruler is not None and known and burnt < 0.25:
        at = strip.projection.to_film(ruler.at)
        lamp = _lamp(at, holes, along, across)
    elif known and burnt > 0.25:
        known = False
    return sign * -np.log10(np.clip(light, 1e-4, None) / lamp), known


def _lamp(at: Array, light: Array, along: Array, across: Array) -> Array:
    """A smooth surface through the light of the holes, one that reaches over the whole strip."""
    scale = max(float(np.ptp(at[:, 0])) / 2, 1.0)
    centre = float(at[:, 0].mean())

    def terms(x: Array, y: Array) -> Array:
        u, v = (x - centre) / scale, y / 14.0
        return np.stack([np.ones_like(u), u, u**2, u**3, u**4, v, u * v, u**2 * v], axis=-1)

    design, value = terms(at[:, 0], at[:, 1]), np.log(np.clip(light, 1e-4, None))
    kept = np.ones(len(value), dtype=bool)
    for _ in range(3):
        fit = np.linalg.lstsq(design[kept], value[kept], rcond=None)[0]
        off = np.abs(value - design @ fit)
        kept = off < max(4 * float(np.median(off)), 0.01)
    ends = [terms(along, np.full_like(along, v)) @ fit for v in (-14.0, 14.0)]
    share = (across / 28.0 + 0.5)[:, None]
    return np.asarray(np.exp(ends[0] * (1 - share) + ends[1] * share))


def _beside(density: Array, along: Array, across: Array, centres: Array, middle: float) -> Array:
    """Fog between perforations; the film's very edge is left alone, for it carries the factory's printing."""
    between = np.abs(across - middle) < 1.0
    out = []
    for centre in centres:
        patch = density[np.ix_(between, np.abs(along - centre) < 0.75)]
        out.append(_usual(patch) if patch.size and np.isfinite(patch).all() else np.nan)
    return np.array(out)


def _usual(patch: Array) -> float:
    """
    Mean of the middle half: dust does not count.

    A median would jump from step to step of the picture's numbers, which are coarse where film is dark.
    """
    values = np.sort(patch[np.isfinite(patch)])
    quarter = len(values) // 4
    return float(values[quarter : len(values) - quarter].mean()) if len(values) else np.nan


def _gaps(
    density: Array, along: Array, across: Array, found: Found, half: float, strip: Strip
) -> tuple[Array, Array]:
    """Fog between frames and at bare ends of the strip, in twelve parts across."""
    spans = []
    frames = found.frames
    if frames:
        if strip.sees_left:
            spans.append((0.3, frames[0].at))
        spans += [(a.at + found.gate, b.at) for a, b in pairwise(frames)]
        if strip.sees_right:
            spans.append((frames[-1].at + found.gate, strip.right_mm - 0.3))
    parts = np.array_split(np.flatnonzero(np.abs(across) < half - 0.3), 12)
    at, out = [], []
    for low, high in spans:
        if high - low < 0.9:
            continue
        edge = min(0.4, (high - low) / 3)
        columns = (along > max(low + edge, high - 8)) & (along < min(high - edge, low + 8))
        if columns.sum() < 2:
            columns = (along > low + edge) & (along < high - edge)
        if not columns.any():
            continue
        at.append((low + high) / 2)
        out.append([_usual(density[np.ix_(part, np.flatnonzero(columns))]) for part in parts])
    return np.array(at), np.array(out).reshape(-1, 12)


def _pictures(density: Array, along: Array, across: Array, found: Found, across_mm: float) -> Array:
    """Every frame that is whole in the picture, in cells of half a millimetre, each a mean."""
    rows, columns = cells_of(across_mm, found.gate)
    whole = np.zeros((len(across) + 1, len(along) + 1))
    whole[1:, 1:] = np.nan_to_num(density).cumsum(axis=0).cumsum(axis=1)
    y = (across_mm - 2 * _SOFT_MM) * (np.arange(rows + 1) / rows - 0.5)
    i = np.searchsorted(across, y)
    out = []
    for frame in found.frames:
        x = frame.at + _SOFT_MM + (found.gate - 2 * _SOFT_MM) * np.arange(columns + 1) / columns
        j = np.searchsorted(along, x)
        if frame.at < -0.5 or j[-1] >= len(along):
            continue
        if not np.isfinite(density[i[0] : i[-1], j[0] : j[-1]]).all():
            continue
        held = whole[np.ix_(i, j)]
        held = np.diff(np.diff(held, axis=0), axis=1)
        out.append(held / (np.diff(i)[:, None] * np.diff(j)[None, :]))
    return np.array(out).reshape(-1, rows, columns)
