"""
What lies under every picture alike: evidence for fog that comes with the frame, against pictures alone.

Light from a leak adds to a picture's own, E = P + F: where F is much no picture is thinner than it, and what
P changes by is washed out. Pictures differ from frame to frame, F comes with each. Shapes of F that a leak at
a side of the gate, or in front of it, can have are tried one by one, each at many strengths; each is weighed
by how likely it makes what is seen in all frames together, and the mean over all shapes is the place's
evidence (Bayes factor against no fog: a place that could be anything pays for it by itself). Neighbouring
cells of a picture are alike, so that each counts for a part of one only; what part is data (`places.toml`).
Sky along one edge of all pictures looks nearly so: it is weighed beside, as pictures without fog.

Of the film's curve nothing is asked but that more light makes it denser: densities are ranked, and the ranks
spread as the logarithm of exposure is in usual pictures (normal; practice).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

__all__ = ["Repeats", "cells_of", "repeats_of"]

Array = NDArray[np.float64]

_CELL_MM, _FINE = 2.0, 4
"""Side of a cell, [mm], and how many parts it has a side."""
_STEP = 0.3
_BELOW, _LEVELS = 8, 14
_WEAKEST = -1.4
"""Exposures of fog go by steps of 0.3 in their natural logarithm: over a middle grey's, the weakest at its
worst is -1.4; what is more than 8 steps below the worst is none."""
_SPREAD = 0.9
"""Standard deviation of the logarithm of exposure in usual pictures, 1.3 stops (practice)."""
_NO_FOG_IN_FRAME = 0.03
_KINDS = ("side", "inside", "sky")


@dataclass(frozen=True)
class Repeats:
    """
    Evidence that every picture carries the same fog.

    Parameters
    ----------
    side, inside : float
        For fog from a side of the gate, and for fog in front of it: natural logarithm of how many times
        likelier the pictures are with it than without, as it proved on drawn strips, [1].
    at : tuple of float
        Middle of the likeliest shape, from the frame's upper left corner, along and across, [mm].
    strength : float
        Its exposure at its worst over that of a middle grey, [1].
    frames : int
        In how many frames it was looked for.
    """

    side: float
    inside: float
    at: tuple[float, float]
    strength: float
    frames: int


def cells_of(across_mm: float, along_mm: float) -> tuple[int, int]:
    """Rows and columns into which a frame of that size is to be cut, half a millimetre each."""
    return _FINE * max(4, round(across_mm / _CELL_MM)), _FINE * max(6, round(along_mm / _CELL_MM))


def repeats_of(frames: Array, weights: Mapping[str, float]) -> Repeats:
    """
    Look for fog that all frames share.

    Parameters
    ----------
    frames : array, shape (n, rows, columns)
        Density of the frames, in as many cells as `cells_of` says, [1].
    weights : mapping of str to float
        `level` and `texture`: how much of one look a cell's density and its texture count for; `frame`: how
        much one frame can say at most. `scale`, `side`, `inside`, `sky`: what evidence is multiplied by and
        what is added to it, so that it comes true as often as it says. `sky_share`: how many strips have sky
        along one edge of all pictures. `most`: how far evidence is believed either way.

    Returns
    -------
    repeats : Repeats
        No evidence either way with fewer than two frames.
    """
    if len(frames) < 2:
        return Repeats(0.0, 0.0, (0.0, 0.0), 0.0, len(frames))
    tone = _ranked(frames)
    rows, columns = frames.shape[1] // _FINE, frames.shape[2] // _FINE
    cells = tone.reshape(len(tone), rows, _FINE, columns, _FINE).transpose(0, 1, 3, 2, 4)
    level = cells.mean(axis=(3, 4)).reshape(len(tone), -1)
    texture = _texture(cells).reshape(len(tone), -1)
    said = weights["level"] * _of_level(level) + weights["texture"] * _of_texture(level, texture)
    shapes = _shapes(rows, columns)
    # what each frame says of each shape at each strength: from the cells' own, by a product of matrices
    offered = np.stack([said[:, :, i : i + _LEVELS + 2] for i in range(_BELOW + 1)], axis=0)
    offered = offered.transpose(0, 2, 1, 3).reshape(-1, len(frames) * (_LEVELS + 2))
    told = (shapes.masks @ offered.astype(np.float32)).reshape(-1, len(frames), _LEVELS + 2).astype(float)
    # a frame has a little more or less of it than the next, or none
    each = np.stack(
        [told[:, :, :-2] + np.log(0.25), told[:, :, 1:-1] + np.log(0.5), told[:, :, 2:] + np.log(0.25)]
    )
    each = np.logaddexp.reduce(each, axis=0)
    each = np.logaddexp(each + np.log(1 - _NO_FOG_IN_FRAME), np.log(_NO_FOG_IN_FRAME))
    # and none can say more than so much: a burnt-out wall is even, too
    each = -np.logaddexp(-each, -weights["frame"])
    total = each.sum(axis=1)
    side, inside, sky = (
        weights["scale"] * float(np.logaddexp.reduce(part, axis=None) - np.log(part.size)) + weights[name]
        for part, name in ((total[shapes.kind == i], name) for i, name in enumerate(_KINDS))
    )
    # pictures without fog may all have sky at one edge; how many strips do is an estimate
    plain = float(np.logaddexp(np.log(1 - weights["sky_share"]), np.log(weights["sky_share"]) + sky))
    side, inside = side - plain, inside - plain
    part = np.where(shapes.kind[:, None] == (0 if side >= inside else 1), total, -np.inf)
    which, strength = np.unravel_index(int(np.argmax(part)), part.shape)
    at = (float(shapes.middles[which, 0]), float(shapes.middles[which, 1]))
    # believed no further than that against no fog; which of both it is stays as it was
    beyond = max(side, inside, weights["most"]) - weights["most"]
    side, inside = (max(one - beyond, -weights["most"]) for one in (side, inside))
    return Repeats(side, inside, at, float(np.exp(_WEAKEST + _STEP * strength)), len(frames))


def _ranked(frames: Array) -> Array:
    """Logarithm of exposure over its middle, from densities by their rank among all."""
    from scipy.ndimage import gaussian_filter1d
    from scipy.special import ndtri

    low, high = (float(one) for one in np.percentile(frames, [0.05, 99.95]))
    high = max(high, low + 0.05)
    edges = np.linspace(low - 0.3, high + 0.3, 601)
    count, _ = np.histogram(np.clip(frames, edges[0], edges[-1]), edges)
    # densities nearer to each other than their noise have the same rank
    soft = gaussian_filter1d(count.astype(float), 0.03 / (edges[1] - edges[0]), mode="constant") + 1e-9
    rank = (np.cumsum(soft) - soft / 2) / soft.sum()
    score = ndtri(np.clip(rank, 5e-4, 1 - 5e-4))
    return np.asarray(_SPREAD * np.interp(frames, (edges[1:] + edges[:-1]) / 2, score))


def _texture(cells: Array) -> Array:
    """Logarithm of what tone changes by within each cell, a slope across it taken off."""
    left = cells - cells.mean(axis=(3, 4), keepdims=True)
    lever = np.arange(_FINE) - (_FINE - 1) / 2
    lever = lever / np.sqrt(_FINE * (lever**2).sum())
    for one in (lever[:, None] * np.ones(_FINE), lever * np.ones((_FINE, 1))):
        left = left - (left * one).sum(axis=(3, 4), keepdims=True) * one
    return np.asarray(np.log(np.sqrt((left**2).sum(axis=(3, 4)) / (_FINE**2 - 3)) + 0.02))


@cache
def _levels() -> tuple[Array, Array]:
    """Tones, and the chance of each under fog of each exposure over that without fog, as logarithms."""
    from scipy.ndimage import gaussian_filter1d

    steps = _BELOW + _LEVELS + 2
    tone = np.arange(-4.5, 4.5, 0.05)
    grey = np.linspace(-4.0, 4.0, 4001)
    chance = np.exp(-(grey**2) / 2)

    def spread(fog: float) -> Array:
        seen = np.log(np.exp(_SPREAD * grey) + fog)
        count, _ = np.histogram(seen, np.append(tone, tone[-1] + 0.05) - 0.025, weights=chance)
        soft = gaussian_filter1d(count, 0.15 / 0.05, mode="constant")
        return np.asarray(soft / soft.sum())

    plain = spread(0.0)
    flat = 0.02 / len(tone)  # what no reckoning expects
    fogs = np.exp(_WEAKEST + _STEP * (np.arange(steps) - _BELOW - 1))
    return tone, np.stack([np.log((spread(fog) + flat) / (plain + flat)) for fog in fogs])


def _of_level(level: Array) -> Array:
    """What each cell's tone says for each exposure of fog, shape (n, cells, steps)."""
    tone, table = _levels()
    nearest = np.clip(np.rint((level - tone[0]) / (tone[1] - tone[0])), 0, len(tone) - 1).astype(int)
    return np.asarray(np.moveaxis(table[:, nearest], 0, -1))


def _of_texture(level: Array, texture: Array) -> Array:
    """The same of each cell's texture: fog leaves (E - F) / E of it."""
    steps = _BELOW + _LEVELS + 2
    fog = np.exp(_WEAKEST + _STEP * (np.arange(steps) - _BELOW - 1))
    usual = float(np.median(texture))
    spread = max(1.48 * float(np.median(np.abs(texture - usual))), 0.3)
    exposure = np.exp(level)[:, :, None]
    left = np.clip((exposure - fog) / exposure, 0.0, 1.0)
    expected = 0.5 * np.log(left**2 + 0.15**2) - 0.5 * np.log(1 + 0.15**2)
    off = (texture - usual)[:, :, None]
    return np.asarray(np.clip((off**2 - (off - expected) ** 2) / (2 * spread**2), -2.5, 2.5))


@dataclass(frozen=True)
class _Shapes:
    """
    Shapes of fog in a frame.

    `masks` has a row for each; its columns are cells, once for each step below the worst. `kind` is its place
    in `_KINDS`, `middles` where it is, [mm].
    """

    masks: NDArray[np.float32]
    kind: NDArray[np.int64]
    middles: Array


@cache
def _shapes(rows: int, columns: int) -> _Shapes:
    u, v = ((np.arange(count) + 0.5) * _CELL_MM for count in (columns, rows))
    along_mm, across_mm = columns * _CELL_MM, rows * _CELL_MM
    made: list[tuple[Array, int, float, float]] = []
    for reach in (1.5, 3.0, 5.0, 8.0):
        for gone, end in ((u, 0.0), (along_mm - u, along_mm)):
            along = np.exp(-gone / reach) / np.exp(-1.0 / reach)
            made.append((np.ones((rows, 1)) * along, 0, end, across_mm / 2))
            for centre in np.arange(1.5, across_mm - 1.4, 3.0):
                for high in (2.5, 5.5):
                    made.append((_bell(v - centre, high)[:, None] * along, 0, end, float(centre)))
    for place in np.arange(8.0, along_mm - 7.9, 2.5):
        for centre in np.arange(4.0, across_mm - 3.9, 2.0):
            a, b = u[None, :] - place, v[:, None] - centre
            for long, short, turns in ((3.0, 3.0, 1), (5.0, 5.0, 1), (6.5, 3.2, 4), (9.0, 4.0, 4)):
                for turn in np.arange(turns) * np.pi / 4:
                    one, other = a * np.cos(turn) + b * np.sin(turn), b * np.cos(turn) - a * np.sin(turn)
                    made.append((_bell(one, long) * _bell(other, short), 1, float(place), float(centre)))
    # sky along a short side, as in pictures taken upright, is left out: it looks too much like a gate's leak
    for gone in (v, across_mm - v):
        for deep in (0.2, 0.35, 0.5, 0.65):
            edge = 1 / (1 + np.exp((gone - deep * across_mm) / 1.5))
            made.append((edge[:, None] * np.ones((1, columns)), 2, 0.0, 0.0))
    steps = np.rint(np.log(np.clip([one[0] for one in made], 1e-9, None)) / _STEP).reshape(len(made), -1)
    steps = np.minimum(steps, 0)
    masks = np.concatenate([steps == i - _BELOW for i in range(_BELOW + 1)], axis=1)
    return _Shapes(
        masks.astype(np.float32), np.array([one[1] for one in made]), np.array([one[2:] for one in made])
    )


def _bell(x: Array, width: float) -> Array:
    return np.asarray(np.exp(-((x / width) ** 2) / 2))
