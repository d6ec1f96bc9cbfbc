"""
Where in a photograph the lit opening lies, and whether there is one at all.

The light is averaged down and cut at the level that parts dark from light best (N. Otsu 1979; memory). An
opening is a bright, filled, roughly round region that touches no border of the picture; whatever else looks
like one makes the choice a guess, and is refused.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.photographs import averaged_down
from pegwood.instruments.readings import RefusedReadings

__all__ = ["Hole", "find_hole"]

Light = NDArray[np.float32]

LOOK_AT = 560
"""Longer side of what is looked at, [pixel]."""
SMALLEST = 40
"""Diameter below which a tenth of a pixel is a quarter of a percent, [pixel]."""
_SOLID = 0.92
_STRETCHED = 0.6
_RIVAL = 0.1


@dataclass(frozen=True)
class Hole:
    """
    The part of a photograph with the opening in it.

    Parameters
    ----------
    top, left, bottom, right : int
        Rows and columns of the picture around it, with room for the dark ring, [pixel].
    x, y : float
        About its middle, in the picture, [pixel].
    diameter : float
        About its size, [pixel].
    crumbs : int
        Other bright spots that were passed over.
    """

    top: int
    left: int
    bottom: int
    right: int
    x: float
    y: float
    diameter: float
    crumbs: int


def find_hole(light: Light, name: str) -> Hole:
    """
    Find the one lit opening of a picture.

    Parameters
    ----------
    light : array of float32, shape (height, width)
        Relative luminance, 0 to 1.
    name : str
        What the picture is called in a refusal.

    Returns
    -------
    hole : Hole

    Raises
    ------
    RefusedReadings
        If there is none, more than one, it is cut by the picture's border or too small.
    """
    by = max(1, math.ceil(max(light.shape) / LOOK_AT))
    small = averaged_down(light, by)
    level = _level(small, name)
    bright = _regions(small > level)
    whole = [one for one in bright if not one.cut]
    holes = [one for one in whole if one.like_a_hole(by)]
    if not holes:
        _say_why(small, level, bright, by, name)
    first = holes[0]
    rivals = [one for one in whole if one is not first and one.area > _RIVAL * first.area]
    if rivals:
        raise RefusedReadings(
            f"{name}: {1 + len(rivals)} bright patches of like size: which one is the opening can't be told. "
            "Cover the others, or cut the picture to the opening and the dark around it."
        )
    if _patchiness(small, first) > 0.35:
        raise RefusedReadings(
            f"{name}: no evenly lit opening is seen. Light the lens from behind through a diffuser, "
            "everything else dark."
        )
    return _with_room(first, by, light.shape, len(whole) - 1, name)


@dataclass(frozen=True)
class _Region:
    area: float
    solidity: float
    stretched: float
    cut: bool
    box: tuple[int, int, int, int]
    middle: tuple[float, float]
    pixels: Any

    @property
    def diameter(self) -> float:
        return math.sqrt(4 * self.area / math.pi)

    def like_a_hole(self, by: int) -> bool:
        return (
            self.solidity >= _SOLID
            and self.stretched >= _STRETCHED
            and self.diameter >= 6
            and self.diameter * by >= 0.8 * SMALLEST
        )


def _level(small: Light, name: str) -> float:
    from skimage.filters import threshold_otsu

    low, high = (float(np.quantile(small, share)) for share in (0.02, 0.9995))
    if high - low < 0.02:
        raise RefusedReadings(
            f"{name}: nothing in it stands out: it is all one grey. Light the lens from behind and lock the "
            "exposure on the opening."
        )
    return float(threshold_otsu(small))


def _regions(mask: NDArray[np.bool_]) -> list[_Region]:
    """The connected parts, the largest first; single pixels are noise and left out."""
    from skimage.measure import label, regionprops

    labels = label(mask, connectivity=1)
    sizes = np.bincount(labels.ravel())
    sizes[0] = 0
    keep = [one for one in np.argsort(sizes)[::-1][:12] if sizes[one] >= 9]
    found = []
    for one in keep:
        (part,) = regionprops((labels == one).astype(np.uint8))
        top, left, bottom, right = part.bbox
        cut = top == 0 or left == 0 or bottom == mask.shape[0] or right == mask.shape[1]
        long = float(part.axis_major_length)
        stretched = float(part.axis_minor_length) / long if long > 0 else 0.0
        found.append(
            _Region(float(part.area), float(part.solidity), stretched, cut, (top, left, bottom, right),
                    (float(part.centroid[0]), float(part.centroid[1])), labels == one)
        )  # fmt: skip
    return found


def _patchiness(small: Light, hole: _Region) -> float:
    """Scatter inside the opening once a tilted plane is taken out, as a share of its mean."""
    rows, columns = np.nonzero(hole.pixels)
    plane = np.column_stack([np.ones(rows.size), rows, columns])
    values = small[rows, columns].astype(float)
    fit, *_ = np.linalg.lstsq(plane, values, rcond=None)
    return float((values - plane @ fit).std() / max(values.mean(), 1e-6))


def _say_why(small: Light, level: float, bright: list[_Region], by: int, name: str) -> None:
    if bright and not bright[0].cut and bright[0].solidity >= _SOLID and bright[0].diameter * by < SMALLEST:
        raise RefusedReadings(
            f"{name}: the opening is less than {SMALLEST} pixels across. Go nearer, or use a longer lens."
        )
    if any(not one.cut and one.like_a_hole(by) for one in _regions(small <= level)):
        raise RefusedReadings(
            f"{name}: a dark opening on a light ground. Light the lens from behind, so that the opening is "
            "bright and the blades are dark."
        )
    raise RefusedReadings(
        f"{name}: no lit opening is seen. It has to be one bright, filled patch with dark all around, not "
        "cut by the picture's edge: light the lens from behind through a diffuser."
    )


def _with_room(one: _Region, by: int, shape: tuple[int, ...], crumbs: int, name: str) -> Hole:
    diameter = one.diameter * by
    room = math.ceil(0.2 * diameter + 14)
    top, left, bottom, right = (edge * by for edge in one.box)
    if diameter < SMALLEST:
        raise RefusedReadings(
            f"{name}: the opening is only {diameter:.0f} pixels across, {SMALLEST} are needed. Go nearer."
        )
    if min(top, left, shape[0] - bottom, shape[1] - right) < 8 + 0.02 * diameter:
        raise RefusedReadings(f"{name}: the opening reaches the picture's edge. Leave dark all around it.")
    y, x = ((middle + 0.5) * by - 0.5 for middle in one.middle)
    return Hole(
        max(0, top - room), max(0, left - room), min(shape[0], bottom + room), min(shape[1], right + room),
        x, y, diameter, crumbs,
    )  # fmt: skip
