"""A strip of 135 film found in a picture: its ruler, its ends, whether it is a negative, its bare base."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.filmstrip.ends import film_end
from pegwood.instruments.filmstrip.finding import find_rows
from pegwood.instruments.filmstrip.formats import Perforations
from pegwood.instruments.filmstrip.holes import Ruler, lay_ruler
from pegwood.instruments.filmstrip.projection import Projection
from pegwood.instruments.filmstrip.sampling import sampled
from pegwood.instruments.photographs import Photograph
from pegwood.instruments.photographs.opening import linear
from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.uncertainty import Component

__all__ = ["Base", "Strip", "read_strip"]

Kind = Literal["negative", "positive"]
Array = NDArray[np.float64]
_FEWEST_PIXELS_PER_MM = 4.0


@dataclass(frozen=True)
class Base:
    """
    Light through bare film between the perforations.

    Parameters
    ----------
    along : array, shape (n,)
        Where, [mm].
    upper, lower : array, shape (n,)
        Relative luminance beside the upper and the lower edge; NaN where it could not be seen.
    """

    along: Array
    upper: Array
    lower: Array

    def at(self, along: Array, across: Array, apart: float) -> NDArray[np.float32]:
        """Base light at places of the film, shape (across, along); `apart` is between the rows, [mm]."""
        from scipy.ndimage import median_filter

        ends = []
        for edge in (self.upper, self.lower):
            known = np.isfinite(edge)
            smooth = median_filter(edge[known], 5, mode="nearest")
            ends.append(np.interp(along, self.along[known], smooth))
        share = np.clip(across / apart + 0.5, -0.1, 1.1)[:, None]
        return np.asarray(ends[0] * (1 - share) + ends[1] * share, dtype=np.float32)


@dataclass(frozen=True)
class Strip:
    """
    A strip of perforated film in a picture; lengths along it count from its left end.

    Parameters
    ----------
    name : str
        What the picture is called.
    light : array, shape (height, width)
        The picture, turned if `turned`.
    projection : Projection
        From the picture to the film; across counts from the middle, down, [mm].
    ruler : Ruler or None
        The perforations it rests on; None of roll film.
    components : tuple of Component
        What is not known of the ruler, as shares of a length, [-].
    apart_mm : float
        Between the two rows in which bare film was looked at, [mm].
    film_m : float
        Width of the film, [m].
    source : str
        What the ruler is, and where its length comes from.
    brighter : bool
        Whether holes are brighter than the film.
    kind : "negative" or "positive"
        Whether pictures are darker or brighter than bare film as scanned.
    inverted : bool
        Whether the scan shows a negative as a positive; `light` is then that of the negative.
    base : Base
        Bare film.
    left_mm, right_mm : float
        Its ends, [mm]; `left_mm` is 0.
    sees_left, sees_right : bool
        Whether that end of the film is in the picture; if not it is the picture's border.
    turned : bool
        Whether the picture was turned a quarter: its top counts as left.
    clipped : float
        Share of the picture that is at the top of the scale.
    """

    name: str
    light: NDArray[np.float32]
    projection: Projection
    ruler: Ruler | None
    components: tuple[Component, ...]
    apart_mm: float
    film_m: float
    source: str
    brighter: bool
    kind: Kind
    inverted: bool
    base: Base
    left_mm: float
    right_mm: float
    sees_left: bool
    sees_right: bool
    turned: bool
    clipped: float

    @property
    def darker(self) -> bool:
        """Whether pictures are darker than bare film in `light`."""
        return self.kind == "negative" or self.inverted

    @property
    def pixels_per_mm(self) -> float:
        """In the middle of the strip."""
        return self.projection.scale_at((self.left_mm + self.right_mm) / 2)

    def seen(self, along: Array, across: Array) -> NDArray[np.float32]:
        """
        Light at places of the film.

        Parameters
        ----------
        along : array, shape (n,)
            [mm], evenly spaced.
        across : array, shape (m,)
            From the middle, down, [mm], evenly spaced.

        Returns
        -------
        light : array of float32, shape (m, n)
        """
        return sampled(self.light, self.projection, along, across)


def read_strip(photograph: Photograph, holes: Perforations) -> Strip:
    """
    Find a strip of 135 film.

    Parameters
    ----------
    photograph : Photograph
        The strip lies along the picture or upright in it, both rows of perforations to be seen.
    holes : Perforations
        The ruler.

    Returns
    -------
    strip : Strip

    Raises
    ------
    RefusedReadings
        If there are no two rows of perforations, or they are too small.
    """
    wide = photograph.shape[1] >= photograph.shape[0]
    for turned in (not wide, wide):
        light = np.ascontiguousarray(np.rot90(photograph.light)) if turned else photograph.light
        for rows in find_rows(light):
            ruler = lay_ruler(light, *rows, holes)
            if ruler is not None:
                return _strip(photograph, light, ruler, rows[2], holes, turned=turned)
    raise RefusedReadings(
        f"{photograph.name}: no two rows of perforations were found. Lay one strip of 135 film flat, "
        f"both edges "
        "and their holes in the picture, lit from behind; for roll film choose its format: 6x6 or another."
    )


def _strip(
    photograph: Photograph,
    light: NDArray[np.float32],
    ruler: Ruler,
    sign: int,
    holes: Perforations,
    *,
    turned: bool,
) -> Strip:
    projection = ruler.projection
    scale = projection.scale_at(1e3 * holes.pitch_m * float(np.median(ruler.number)))
    if scale < _FEWEST_PIXELS_PER_MM:
        raise RefusedReadings(
            f"{photograph.name}: the strip has only {scale:.1f} pixels to a millimetre; at least "
            f"{_FEWEST_PIXELS_PER_MM:g} are needed. Go closer, or scan finer."
        )
    inner = 500 * (holes.rows_m - holes.across_m) - 0.3  # bare film between holes and pictures
    pitch = 1e3 * holes.pitch_m
    lines = np.array([-inner, inner])
    ends = [
        film_end(light, projection, pitch * float(last), side, lines, None)
        for side, last in ((-1, ruler.number.min()), (1, ruler.number.max()))
    ]
    left = ends[0][0]
    base = _base(light, projection, ruler, holes)
    kind = _kind(light, projection, base, ruler, holes, sign)
    inverted = kind == "positive" and sign < 0
    if inverted:
        # edges blur in the negative's light: only there is an edge half-way where the light is
        light = turned_back(light)
        ruler = replace(ruler, hole_light=turned_back(ruler.hole_light).astype(float))
        base = _base(light, projection, ruler, holes)
    return Strip(
        photograph.name,
        light,
        projection.moved(left),
        ruler,
        holes.components,
        1e3 * holes.rows_m,
        holes.film_m,
        f"{len(ruler.number)} perforations of {1e3 * holes.pitch_m:.4f} mm ({holes.source})",
        sign > 0,
        kind,
        inverted,
        replace(base, along=base.along - left),
        0.0,
        ends[1][0] - left,
        ends[0][1],
        ends[1][1],
        turned,
        photograph.clipped,
    )


def turned_back(light: NDArray[Any]) -> NDArray[np.float32]:
    """Light of the negative behind a scan of inverted numbers (curve of sRGB, IEC 61966-2-1)."""
    table = np.linspace(0.0, 1.0, 16384)
    stored = 1 - np.where(table <= 0.0031308, 12.92 * table, 1.055 * table ** (1 / 2.4) - 0.055)
    place = (np.clip(light, 0, 1) * np.float32(16383) + np.float32(0.5)).astype(np.uint16)
    negative: NDArray[np.float32] = linear(stored.clip(0, 1)).astype(np.float32)[place]
    return negative


def _base(light: NDArray[Any], projection: Projection, ruler: Ruler, holes: Perforations) -> Base:
    """Half-way between two perforations, in both rows."""
    from scipy.ndimage import map_coordinates

    pitch = 1e3 * holes.pitch_m
    along = pitch * (np.arange(int(ruler.number.min()), int(ruler.number.max())) + 0.5)
    patch_along, patch_across = np.linspace(-0.85, 0.85, 11), np.linspace(-1.1, 1.1, 11)
    edges = []
    for row in (-0.5, 0.5):
        across = 1e3 * holes.rows_m * row
        x, y = projection.to_picture(
            along[:, None, None] + patch_along[:, None], across + patch_across[None, None, :]
        )
        seen = map_coordinates(light, [y, x], order=1, mode="nearest")
        middle = np.asarray(np.median(seen.reshape(len(along), -1), axis=1), dtype=np.float64)
        outside = (x.min(axis=(1, 2)) < 0) | (y.min(axis=(1, 2)) < 0)
        outside |= (x.max(axis=(1, 2)) > light.shape[1] - 1) | (y.max(axis=(1, 2)) > light.shape[0] - 1)
        middle[outside] = np.nan
        edges.append(middle)
    return Base(np.asarray(along, dtype=np.float64), edges[0], edges[1])


def _kind(
    light: NDArray[Any], projection: Projection, base: Base, ruler: Ruler, holes: Perforations, sign: int
) -> Kind:
    """Whether exposed film is darker than bare film."""
    along = np.linspace(base.along[0], base.along[-1], 600)
    across = np.linspace(-9.0, 9.0, 60)
    seen = sampled(light, projection, along, across)
    ratio = np.log(
        np.clip(seen, 1e-4, None) / np.clip(base.at(along, across, 1e3 * holes.rows_m), 1e-4, None)
    )
    told = ratio[np.abs(ratio) > 0.2]
    if len(told) > 0.02 * ratio.size:
        return "negative" if np.median(np.sign(told)) < 0 else "positive"
    bright = float(np.median(ruler.hole_light))
    film = float(np.nanmedian(np.concatenate([base.upper, base.lower])))
    return "negative" if sign > 0 and film > 0.2 * bright else "positive"
