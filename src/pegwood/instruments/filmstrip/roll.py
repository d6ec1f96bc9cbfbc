"""
A strip of roll film: no perforations, so the pictures' own width across the film is the ruler.

The long edges of all pictures lie on two parallel lines. How the lines converge in the picture tells how the
camera stood, how far apart they are tells the scale. What they cannot tell is how far the camera looked
at the film from above or below: that stays in the budget.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.filmstrip.ends import film_end
from pegwood.instruments.filmstrip.finding import shrunk
from pegwood.instruments.filmstrip.formats import FilmFormat, picture_width_u
from pegwood.instruments.filmstrip.long_edges import long_edges, righted
from pegwood.instruments.filmstrip.projection import Projection
from pegwood.instruments.filmstrip.sampling import sampled
from pegwood.instruments.filmstrip.strip import Base, Strip
from pegwood.instruments.photographs import Photograph
from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.uncertainty import Component

__all__ = ["read_roll"]

Array = NDArray[np.float64]

_MARGIN_MM = 0.75
"""Where bare film is looked at beside the pictures: further out of the 2.5 mm things are printed."""
_PARTS = 32
_NOT_SQUARE = Component(
    "camera not square to the film", 8.0e-4, note="3 degrees from above or below shorten the ruler so much",
    source="held by hand over a light table; a scanner has none of it", mark="practice",
)  # fmt: skip


@dataclass(frozen=True)
class _Lines:
    """Two parallel lines in the small picture: rows at one column, slope, and the small picture's pixel."""

    top: float
    bottom: float
    slope: float
    column: float
    block: float


def read_roll(photograph: Photograph, film: FilmFormat, image_width_m: float | None = None) -> Strip:
    """
    Find a strip of roll film.

    Parameters
    ----------
    photograph : Photograph
        The strip lies along the picture or upright in it, some bare film to be seen beside the pictures.
    film : FilmFormat
    image_width_m : float, optional
        Width of the pictures across the film where it was measured, [m]; else the
        format's, with what it may be off.

    Returns
    -------
    strip : Strip

    Raises
    ------
    RefusedReadings
        If no two long edges of pictures are found, or the width is none.
    """
    if image_width_m is not None and not 0.04 <= image_width_m <= 0.065:
        raise RefusedReadings(
            f"{1e3 * image_width_m:g} mm is no width of a picture on roll film: about 56 mm. Measure "
            f"across the film."
        )
    wide_mm = 1e3 * (image_width_m or film.across_m)
    wide = photograph.shape[1] >= photograph.shape[0]
    for turned in (not wide, wide):
        light = np.ascontiguousarray(np.rot90(photograph.light)) if turned else photograph.light
        for start, darker in _inmost(_starts(light), light, wide_mm):
            strip = _strip(photograph, light, start, darker, film, image_width_m, turned=turned)
            if strip is not None:
                return strip
    raise RefusedReadings(
        f"{photograph.name}: no row of pictures with bare film on both sides was found. Lay one strip of "
        f"roll film "
        "flat on a light table, its long edges in the picture; for 135 film choose the format 135."
    )


def _starts(light: NDArray[Any]) -> list[tuple[_Lines, bool]]:
    """
    Where the pictures' long edges may be, and whether pictures are darker than bare film there.

    The picture in upright strips, each averaged along the film, is laid over itself at many angles; at
    the right one the edges of all strips fall together.
    """
    from scipy.ndimage import gaussian_filter1d
    from scipy.signal import find_peaks

    small, block = shrunk(light)
    tone = np.sqrt(np.clip(small, 0, None))
    height, width = tone.shape
    parts = np.array_split(np.arange(width), _PARTS)
    profile = np.stack([tone[:, part].mean(axis=1) for part in parts])
    step = gaussian_filter1d(profile, 1.5, axis=1, order=1)
    at = np.array([part.mean() for part in parts]) - (width - 1) / 2
    rows = np.arange(height)
    best = (0.0, 0.0, np.zeros(height))
    for slope in np.tan(np.radians(np.arange(-9.0, 9.01, 0.2))):
        laid = np.stack([np.interp(rows + slope * x, rows, one) for x, one in zip(at, step, strict=True)])
        mean = laid.mean(axis=0)
        if (score := float((mean**2).sum())) > best[0]:
            best = (score, float(slope), mean)
    _, slope, mean = best
    limit = max(0.12 * float(np.abs(mean).max()), 0.002)
    out = []
    for darker in (True, False):
        way = -1 if darker else 1
        tops, _ = find_peaks(way * mean, height=limit)
        bottoms, _ = find_peaks(-way * mean, height=limit)
        for top in tops:
            for bottom in bottoms:
                if bottom - top < 0.12 * min(height, width):
                    continue
                value = float(min(abs(mean[top]), abs(mean[bottom]))) * (bottom - top)
                out.append((value, _Lines(float(top), float(bottom), slope, (width - 1) / 2, block), darker))
    out.sort(key=lambda one: -one[0])
    return [(lines, darker) for _, lines, darker in out[:12]]


def _inmost(starts: list[tuple[_Lines, bool]], light: NDArray[Any], wide: float) -> list[tuple[_Lines, bool]]:
    """Those with pictures within and something even outside; the film's own edges come last."""
    rows = []
    for start, darker in starts:
        projection = _first(start, light.shape, wide)
        low, high = _reach(projection, light.shape)
        if high > low and _is_row(light, projection, low, high, wide):
            rows.append((start, darker))

    def holds_another(one: _Lines) -> bool:
        span = one.bottom - one.top
        return any(
            other.top >= one.top
            and other.bottom <= one.bottom
            and 1.015 < span / (other.bottom - other.top) < 1.18
            for other, _ in rows
        )

    return sorted(rows, key=lambda row: holds_another(row[0]))


def _strip(
    photograph: Photograph,
    light: NDArray[np.float32],
    start: _Lines,
    darker: bool,
    film: FilmFormat,
    image_width_m: float | None,
    *,
    turned: bool,
) -> Strip | None:
    wide = 1e3 * (image_width_m or film.across_m)
    projection = _first(start, light.shape, wide)
    low, high = _reach(projection, light.shape)
    if high - low < 0.6 * 1e3 * film.along_m:
        return None
    apart = wide + 2 * _MARGIN_MM
    tilt = read_u = 0.0
    for _ in range(3):
        lines = long_edges(light, projection, low, high, wide)
        if lines is None:
            return None
        read_u = lines[4]
        projection, tilt = righted(projection, lines, wide, light.shape)
        low, high = _reach(projection, light.shape)
    base = _base(light, projection, low, high, apart)
    middle = (low + high) / 2
    across = np.array([s * (wide / 2 + _MARGIN_MM) for s in (-1, 1)])
    left, sees_left = film_end(light, projection, middle, -1, across, low)
    right, sees_right = film_end(light, projection, middle, 1, across, high)
    components = [
        picture_width_u()
        if image_width_m is None
        else Component("picture width", 2e-3, note="measured by calliper"),
        _NOT_SQUARE,
        Component("picture width read", read_u / wide, note="agreement along the long edges"),
        Component("camera turned", 0.5 * (1 - math.cos(tilt)), note="half of what was put right for it"),
    ]
    inside = (base.along > left) & (base.along < right)
    base = Base(base.along[inside] - left, base.upper[inside], base.lower[inside])
    return Strip(
        photograph.name, light, projection.moved(left), None, tuple(components), apart, (wide + 5.2) * 1e-3,
        f"pictures {wide:g} mm wide across the film ({film.source})",
        not darker, "negative" if darker else "positive",
        False, base, 0.0, right - left, sees_left, sees_right, turned, photograph.clipped,
    )  # fmt: skip


def _first(start: _Lines, shape: tuple[int, ...], wide: float) -> Projection:
    """Turned and scaled so that the two lines lie half the pictures' width from the middle."""
    top, bottom = (
        (np.array([start.column, row]) + 0.5) * start.block - 0.5 for row in (start.top, start.bottom)
    )
    middle, half = ((shape[1] - 1) / 2, (shape[0] - 1) / 2), shape[1] / 2
    angle = math.atan(start.slope)
    scale = wide / ((bottom[1] - top[1]) * math.cos(angle)) * half
    centre = ((top + bottom) / 2 - middle) / half
    turn = np.array([[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]]) * scale
    matrix = np.eye(3)
    matrix[:2, :2] = turn
    matrix[:2, 2] = -turn @ centre
    return Projection(matrix, 0.0, middle, half)


def _reach(projection: Projection, shape: tuple[int, ...]) -> tuple[float, float]:
    """How much of the film's middle line is in the picture, [mm]."""
    along = np.arange(-900.0, 900.0, 0.25)
    x, y = projection.to_picture(along, np.zeros_like(along))
    inside = (x >= 0) & (x <= shape[1] - 1) & (y >= 0) & (y <= shape[0] - 1)
    depth = np.linalg.inv(projection.matrix)
    inside &= depth[2, 0] * along + depth[2, 2] > 0.2 * depth[2, 2]
    seen = along[inside]
    return (float(seen[0]), float(seen[-1])) if len(seen) else (0.0, 0.0)


def _is_row(light: NDArray[Any], projection: Projection, low: float, high: float, wide: float) -> bool:
    """Whether pictures lie within the lines and something even outside of them."""
    along = np.linspace(low + 0.05 * (high - low), high - 0.05 * (high - low), 400)
    changes = []
    for inner in (True, False):
        for sign in (-1, 1):
            shift = np.linspace(-2.0, -0.6, 5) if inner else np.linspace(0.4, 1.0, 4)
            across = np.sort(sign * (wide / 2 + shift))
            line = sampled(light, projection, along, across).mean(axis=0)
            low_end, middle, high_end = np.percentile(line, [15, 50, 85])
            changes.append(float((high_end - low_end) / max(middle, 1e-3)))
    return min(changes[:2]) > 1.6 * max(changes[2:]) and min(changes[:2]) > 0.05


def _base(light: NDArray[Any], projection: Projection, low: float, high: float, apart: float) -> Base:
    """Bare film beside the pictures, every 4 mm; what is printed there is passed over by the median."""
    along = np.arange(low + 1.0, high - 1.0, 4.0)
    edges = []
    for sign in (-1, 1):
        across = sign * apart / 2 + np.linspace(-0.25, 0.25, 5)
        line = sampled(light, projection, np.arange(along[0] - 1, along[-1] + 1, 0.25), across)
        place = np.arange(along[0] - 1, along[-1] + 1, 0.25)
        edges.append(np.array([np.median(line[:, np.abs(place - one) < 2.0]) for one in along], dtype=float))
    return Base(along, edges[0], edges[1])
