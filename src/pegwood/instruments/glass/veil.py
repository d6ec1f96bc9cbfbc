"""
Veiling glare from a photograph of a black patch on a bright ground.

Light that wanders in the lens falls into the image of the patch. Its luminance over that of the white around
it is the glare (outline of ISO 9358; memory). A camera behind the lens adds its own, so a second picture,
taken with the same camera through a lens known to be clean or through none, is taken off.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.glass.practice import Practice
from pegwood.instruments.photographs import Photograph, averaged_down
from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.uncertainty import Component, Measured, combine

__all__ = ["Patch", "Veil", "find_patch", "measure_veil"]

Light = NDArray[np.float32]

_LOOK_AT = 400
_CLIPPED = 0.005


@dataclass(frozen=True)
class Patch:
    """
    The black patch as a rectangle of a picture: left, top, width and height, [pixel].

    Raises
    ------
    RefusedReadings
        If it is smaller than 12 pixels.
    """

    left: float
    top: float
    width: float
    height: float

    def __post_init__(self) -> None:
        if not all(map(math.isfinite, (self.left, self.top))) or not min(self.width, self.height) >= 12:
            raise RefusedReadings(
                "A black patch of less than 12 pixels can't be read. Write X,Y,W,H in pixels."
            )


@dataclass(frozen=True)
class Veil:
    """
    Veiling glare.

    Parameters
    ----------
    glare : Measured
        Of the lens, [%]; what the camera adds is taken off where it was told.
    with_camera : Measured
        As photographed, [%].
    camera : Measured or None
        The camera's own, [%].
    patch : Patch
        Where black was read.
    """

    glare: Measured
    with_camera: Measured
    camera: Measured | None
    patch: Patch


def find_patch(light: Light, name: str) -> Patch:
    """
    Find the one dark patch on a bright ground.

    Parameters
    ----------
    light : array of float32, shape (height, width)
        The picture.
    name : str
        What it is called in a refusal.

    Returns
    -------
    patch : Patch

    Raises
    ------
    RefusedReadings
        If there is none, or more than one.
    """
    from skimage.filters import threshold_otsu
    from skimage.measure import label, regionprops

    by = max(1, math.ceil(max(light.shape) / _LOOK_AT))
    small = averaged_down(light, by)
    if float(np.quantile(small, 0.95) - np.quantile(small, 0.001)) < 0.1:
        raise RefusedReadings(
            f"{name}: no black patch on a bright ground is seen. Say where: left, top, width and height in "
            "pixels."
        )
    dark = small < threshold_otsu(small)
    parts = [
        one
        for one in regionprops(label(dark, connectivity=1))
        if one.area >= 30
        and one.solidity > 0.85
        and min(one.bbox[0], one.bbox[1], small.shape[0] - one.bbox[2], small.shape[1] - one.bbox[3]) > 1
    ]
    parts.sort(key=lambda one: -one.area)
    if not parts or float(dark.mean()) > 0.5:
        raise RefusedReadings(
            f"{name}: no black patch on a bright ground is seen. Say where: left, top, width and height in "
            "pixels."
        )
    if len(parts) > 1 and parts[1].area > 0.1 * parts[0].area:
        raise RefusedReadings(
            f"{name}: more than one dark patch is seen. Say which: left, top, width and height, in pixels."
        )
    top, left, bottom, right = (by * one for one in parts[0].bbox)
    return Patch(left, top, right - left, bottom - top)


def measure_veil(
    photograph: Photograph,
    *,
    patch: Patch | None = None,
    own: Photograph | None = None,
    own_patch: Patch | None = None,
    known: Practice,
) -> Veil:
    """
    Veiling glare of a lens.

    Parameters
    ----------
    photograph : Photograph
        Through the lens: a black hole or patch amid white, white not clipped.
    patch : Patch, optional
        Where the patch is; found if not told.
    own : Photograph, optional
        The same with the camera alone: its own glare and dark level.
    own_patch : Patch, optional
        Where the patch is in that; found if not told.
    known : Practice
        What is taken as given.

    Returns
    -------
    veil : Veil

    Raises
    ------
    RefusedReadings
        If there is no such patch, or white is clipped.
    """
    chosen = patch or find_patch(photograph.light, photograph.name)
    with_camera = _index(photograph, chosen, known, dark_known=own is not None)
    if own is None:
        return Veil(with_camera, with_camera, None, chosen)
    camera = _index(own, own_patch or find_patch(own.light, own.name), known, dark_known=True)
    both = [
        Component(f"{one.name}, {which}", one.u, one.df, one.kind, one.note, one.source, one.mark)
        for which, figure in (("through the lens", with_camera), ("camera alone", camera))
        for one in figure.budget
        if one.name != "camera's curve"
    ]
    # one camera, one curve: what it does to both pictures it does alike
    curve = abs(_line(with_camera, "camera's curve").u - _line(camera, "camera's curve").u)
    shared = _line(with_camera, "camera's curve")
    both.append(Component(shared.name, curve, note=shared.note, source=shared.source, mark=shared.mark))
    return Veil(combine(with_camera.value - camera.value, both), with_camera, camera, chosen)


def _index(photograph: Photograph, patch: Patch, known: Practice, dark_known: bool) -> Measured:
    light, name = photograph.light, photograph.name
    margin = known["veil.patch_margin"].value
    core = _cut(light, patch, -margin)
    if core.size < 30:
        raise RefusedReadings(
            f"{name}: the black patch is not in the picture, or too small in it. Go nearer."
        )
    wide, near = _cut(light, patch, known["veil.ring"].value), _cut(light, patch, 0.12)
    n = wide.size - near.size
    if n < 50:
        raise RefusedReadings(f"{name}: there is no white around the black patch. Leave some all around.")
    clipped = float((wide > 0.995).sum() - (near > 0.995).sum()) / n
    if clipped > _CLIPPED:
        raise RefusedReadings(
            f"{name}: {100 * clipped:.0f} % of the white is at the top of the scale. Expose less, so "
            f"that white is "
            "light grey."
        )
    white = (float(wide.sum(dtype=float)) - float(near.sum(dtype=float))) / n
    black = float(core.mean(dtype=float))
    if white < 0.1 or black > 0.6 * white:
        raise RefusedReadings(
            f"{name}: black and white hardly differ there. Photograph a black hole in a bright white ground."
        )
    percent = 100 * black / white
    dark, tone = known["veil.dark_u"], known["tone.u_rel"]
    sides = _sides(light, patch, known["veil.ring"].value)
    uneven = float(np.std(sides, ddof=1)) / 2 / white
    grain = float(core.std()) / math.sqrt(core.size / 64)
    lines = [
        Component("noise", 100 * grain / white, math.inf, "A", "in the patch, neighbours taken as one"),
        Component("white", percent * uneven, 3, "A", "scatter of its four sides"),
        tone.component("camera's curve", percent * abs(math.log(max(black, 1e-6) / white)) * tone.value,
                       "a power about sRGB's; dark parts feel it most"),
    ]  # fmt: skip
    if not dark_known:
        lines.append(dark.component("dark level", 100 * dark.value / white, "no picture told it"))
    return combine(percent, lines)


def _line(measured: Measured, name: str) -> Component:
    return next(one for one in measured.budget if one.name == name)


def _cut(light: Light, patch: Patch, wider: float) -> Light:
    """The patch, made wider on every side by a share of its size."""
    x, y = wider * patch.width, wider * patch.height
    left, top = max(0, round(patch.left - x)), max(0, round(patch.top - y))
    right, bottom = round(patch.left + patch.width + x), round(patch.top + patch.height + y)
    return light[top : max(bottom, top), left : max(right, left)]


def _sides(light: Light, patch: Patch, ring: float) -> list[float]:
    """Mean of the white above, below, left and right of the patch."""
    w, h = ring * patch.width, ring * patch.height
    x, y = patch.left, patch.top
    places = [
        (x, y - h, patch.width, 0.75 * h),
        (x, y + patch.height + 0.25 * h, patch.width, 0.75 * h),
        (x - w, y, 0.75 * w, patch.height),
        (x + patch.width + 0.25 * w, y, 0.75 * w, patch.height),
    ]
    found = []
    for left, top, width, height in places:
        part = light[
            max(0, round(top)) : max(0, round(top + height)),
            max(0, round(left)) : max(0, round(left + width)),
        ]
        if part.size:
            found.append(float(part.mean(dtype=float)))
    return found if len(found) > 1 else [*found, *found]
