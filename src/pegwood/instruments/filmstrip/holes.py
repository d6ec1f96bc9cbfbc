"""
Perforations to a fraction of a pixel, and the ruler they make.

The middle of a hole is half-way between its two edges, each taken where the light stands half-way between
hole and film: blur moves both alike, so the middle stays. Only the straight part of each side is used; the
corners are round.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.filmstrip.finding import Row
from pegwood.instruments.filmstrip.formats import Perforations
from pegwood.instruments.filmstrip.projection import Array, Projection, fit_projection

__all__ = ["Ruler", "lay_ruler"]

_FEWEST = 6
_LONGEST_GAP = 5


@dataclass(frozen=True)
class Ruler:
    """
    What the perforations tell of a picture.

    Parameters
    ----------
    projection : Projection
        From the picture to the film.
    covariance : array, shape (9, 9)
        Of the projection's figures.
    number : array of int, shape (n,)
        Which holes were used, counted along the film.
    row : array of int, shape (n,)
        0 in the upper row, 1 in the lower one.
    at : array, shape (n, 2)
        Their middles, [pixel].
    left_mm : array, shape (n, 2)
        How far each lies from where the projection has it, [mm].
    hole_light : array, shape (n,)
        Light in the middle of each hole.
    scatter_mm : float
        Standard deviation of `left_mm` along the film, [mm].
    """

    projection: Projection
    covariance: Array
    number: NDArray[np.int64]
    row: NDArray[np.int64]
    at: Array
    left_mm: Array
    hole_light: Array
    scatter_mm: float


def lay_ruler(light: NDArray[Any], upper: Row, lower: Row, sign: int, holes: Perforations) -> Ruler | None:
    """
    Measure every perforation there is and fit the camera to them.

    Parameters
    ----------
    light : array, shape (height, width)
        Relative luminance.
    upper, lower : Row
        Where they are, coarsely.
    sign : int
        1 where holes are brighter than the film, -1 where darker.
    holes : Perforations
        Their sizes and distances.

    Returns
    -------
    ruler : Ruler or None
        None where too few of them can be measured.
    """
    number = np.concatenate([upper.number, lower.number])
    row = np.repeat([0, 1], [len(upper.number), len(lower.number)])
    at = np.concatenate([upper.at, lower.at])
    shape = (light.shape[0], light.shape[1])
    found = _fitted(at, number, row, holes, shape)
    bright = np.empty(0)
    for _ in range(3):
        if found is None:
            return None
        number, row = _reached(found[0], number, holes, shape)
        at, bright, good = _measured(light, found[0], number, row, sign, holes)
        number, row, at, bright = number[good], row[good], at[good], bright[good]
        number, row, at, bright = _unbroken(number, row, at, bright)
        found = _fitted(at, number, row, holes, shape)
    if found is None:
        return None
    projection, left, covariance, used = found
    scatter = float(np.sqrt((left[used, 0] ** 2).sum() / max(int(used.sum()) - 5, 1)))
    return Ruler(projection, covariance, number[used], row[used], at[used], left[used], bright[used], scatter)


def _film(number: NDArray[np.int64], row: NDArray[np.int64], holes: Perforations) -> Array:
    return np.stack(
        [1e3 * holes.pitch_m * number, 1e3 * holes.rows_m * (row - 0.5)],
        axis=-1,
    )


def _fitted(
    at: Array, number: NDArray[np.int64], row: NDArray[np.int64], holes: Perforations, shape: tuple[int, int]
) -> tuple[Projection, Array, Array, NDArray[np.bool_]] | None:
    film = _film(number, row, holes)
    used = np.ones(len(at), dtype=bool)
    for _ in range(4):
        if min((used & (row == r)).sum() for r in (0, 1)) < _FEWEST:
            return None
        projection, left, covariance = fit_projection(at, film, shape, used.astype(float))
        off = np.hypot(*left.T)
        fresh = off < max(5 * float(np.median(off[used])), 0.02)
        if (fresh == used).all():
            break
        used = fresh
    return projection, left, covariance, used


def _reached(
    projection: Projection,
    number: NDArray[np.int64],
    holes: Perforations,
    shape: tuple[int, int],
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """All holes that lie in the picture, near those that were found."""
    low, high = int(number.min()), int(number.max())
    numbers = np.arange(low - 24, high + 25)
    both = np.concatenate([numbers, numbers])
    rows = np.repeat([0, 1], len(numbers))
    film = _film(both, rows, holes)
    x, y = projection.to_picture(film[:, 0], film[:, 1])
    inside = (x > 2) & (y > 2) & (x < shape[1] - 3) & (y < shape[0] - 3)
    return both[inside], rows[inside]


def _measured(
    light: NDArray[Any],
    projection: Projection,
    number: NDArray[np.int64],
    row: NDArray[np.int64],
    sign: int,
    holes: Perforations,
) -> tuple[Array, Array, NDArray[np.bool_]]:
    """Middles in the picture, [pixel], light in them, and which of them are holes."""
    film = _film(number, row, holes)
    good = np.ones(len(film), dtype=bool)
    shift = np.zeros_like(film)
    wide, tall = 1e3 * holes.along_m, 1e3 * holes.across_m
    bright = np.zeros(len(film))
    for _ in range(2):
        scale = projection.scale_at(float(np.median(film[:, 0])))
        step = min(0.6 / scale, 0.15)
        along = np.arange(-2.2, 2.2 + step, step)
        short = np.linspace(-0.75, 0.75, 9)
        profile = _sampled(light, projection, film + shift, along[:, None], short[None, :]).mean(axis=2)
        middle, width, level, ok = _between(sign * profile, along, 0.5 * wide, 1.5)
        good = ok & (np.abs(width - wide) < 0.35)
        shift[:, 0] += np.where(good, middle, 0)
        bright = sign * level
        across = np.arange(-2.2, 2.2 + step, step)
        profile = _sampled(light, projection, film + shift, short[:, None] * 0.6, across[None, :]).mean(
            axis=1
        )
        middle, width, _, ok = _between(sign * profile, across, 0.5 * tall, 1.75, needs_both=False)
        good &= ok & (np.abs(width - tall) < 0.5)
        shift[:, 1] += np.where(good, middle, 0)
        good &= np.abs(shift).max(axis=1) < 0.9
    place = film + shift
    x, y = projection.to_picture(place[:, 0], place[:, 1])
    inside = (x > 1) & (y > 1) & (x < light.shape[1] - 2) & (y < light.shape[0] - 2)
    return np.stack([x, y], axis=1), bright, good & inside


def _sampled(light: NDArray[Any], projection: Projection, film: Array, along: Array, across: Array) -> Array:
    """Light around places of the film, shape (n, along, across)."""
    from scipy.ndimage import map_coordinates

    x, y = projection.to_picture(film[:, 0, None, None] + along, film[:, 1, None, None] + across)
    return np.asarray(map_coordinates(light, [y, x], order=1, mode="nearest"), dtype=float)


def _between(
    profile: Array, at: Array, half: float, base_from: float, *, needs_both: bool = True
) -> tuple[Array, Array, Array, NDArray[np.bool_]]:
    """Middle and width of a high stretch of each profile, its level, and whether it is one."""
    core = np.abs(at) < 0.45 * half
    level = np.median(profile[:, core], axis=1)
    edges, bases = [], []
    for side in (-1, 1):
        lying = side * at
        base = np.median(profile[:, (lying >= base_from)], axis=1)
        if not needs_both:  # on the inner side the picture begins soon: the film's least is next to the hole
            beside = (lying > half + 0.15) & (lying < half + 0.65)
            base = np.median(profile[:, beside], axis=1)
        bases.append(base)
        half_way = (level + base) / 2
        outward = np.flatnonzero(lying >= 0)[:: (1 if side > 0 else -1)]
        below = profile[:, outward] < half_way[:, None]
        first = below.argmax(axis=1)
        known = below.any(axis=1) & (first > 0)
        first = np.where(known, first, 1)
        rows = np.arange(len(profile))
        inner, outer = profile[rows, outward[first - 1]], profile[rows, outward[first]]
        share = np.clip((inner - half_way) / np.where(inner > outer, inner - outer, 1), 0, 1)
        place = at[outward[first - 1]] + share * (at[outward[first]] - at[outward[first - 1]])
        edges.append(np.where(known, place, np.nan))
    left, right = edges
    contrast = level - np.maximum(*bases)
    size = np.abs(level) + np.abs(np.maximum(*bases))
    within = np.abs(profile[:, core] - level[:, None]).max(axis=1)
    good = np.isfinite(left) & np.isfinite(right) & (contrast > 0.04 * size) & (within < 0.6 * contrast)
    good &= np.abs(bases[0] - bases[1]) < 0.8 * contrast if needs_both else True
    middle = np.nan_to_num((left + right) / 2)
    return middle, np.nan_to_num(right - left), level, good


def _unbroken(
    number: NDArray[np.int64], row: NDArray[np.int64], at: Array, bright: Array
) -> tuple[NDArray[np.int64], NDArray[np.int64], Array, Array]:
    """The longest stretch without a hole of several perforations in it: beyond lies another film, or none."""
    known = np.unique(number)
    if not len(known):
        return number, row, at, bright
    parts = np.split(known, np.flatnonzero(np.diff(known) > _LONGEST_GAP) + 1)
    longest = max(parts, key=len)
    kept = (number >= longest[0]) & (number <= longest[-1])
    return number[kept], row[kept], at[kept], bright[kept]
