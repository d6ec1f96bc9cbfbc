"""
Pictures of screws whose size is known, for the reading of pictures to be tried on.

The outline is that of a helicoid seen from the side: at every place along the axis the outermost point
over all angles around it, not the section through the axis. Nothing here is taken from the code under
test.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

Array = NDArray[np.float64]

#: Angle between flanks, depth of thread and width of the flat crest, in pitches (rounded: radius).
PROFILES = {
    "metric": (60.0, 0.6134, 1 / 8, 0.0),
    "whitworth": (55.0, 0.6403, 0.0, 0.1373),
    "ba": (47.5, 0.6, 0.0, 0.1808),
    "loewenherz": (53.13, 0.75, 1 / 8, 0.0),
}


def section(place: Array, profile: str) -> Array:
    """How far the thread's section lies under the crest, by the place within a turn, both in pitches."""
    angle, depth, flat, radius = PROFILES[profile]
    half = np.radians(angle / 2)
    away = np.abs((place + 0.5) % 1.0 - 0.5)  # from the middle of the crest
    if radius:
        tip = radius / np.sin(half) - radius  # how far the sharp crest stands above the round one
        under = away / np.tan(half) - tip
        round_until = radius * np.cos(half)
        arc = radius - np.sqrt(np.maximum(radius**2 - away**2, 0))
        under = np.where(away < round_until, arc, under)
    else:
        under = (away - flat / 2) / np.tan(half)
    return np.clip(under, 0.0, depth)


def edges(
    x: Array, diameter: float, pitch: float, profile: str, phase: float, level_deg: float = 0.0
) -> tuple[Array, Array]:
    """
    The upper and lower edge of the screw seen from the side, at even places along its axis.

    The outermost of a cloud of points on the helicoid; with `level_deg` one end of it lies nearer to the eye.
    """
    step = x[1] - x[0]
    along = np.arange(x[0] - diameter, x[-1] + diameter, step / 2)[:, None]
    around = np.radians(np.arange(-45.0, 46.0))[None, :]
    level = np.radians(level_deg)
    found = []
    for start in (0.0, np.pi):
        turned = along - pitch * (around + start) / (2 * np.pi) - phase * pitch
        radius = diameter / 2 - pitch * section(turned / pitch, profile)
        seen_at = along * np.cos(level) + np.cos(start) * radius * np.sin(around) * np.sin(level)
        place = np.rint((seen_at - x[0]) / step).astype(int)
        inside = (place >= 0) & (place < len(x))
        edge = np.full(len(x), -np.inf)
        np.maximum.at(edge, place[inside], (radius * np.cos(around))[inside])
        found.append(edge)
    return found[0], -found[1]


def draw(
    diameter: float,
    pitch: float,
    *,
    profile: str = "metric",
    length: float | None = None,
    mm_per_px: float = 0.01,
    turned_deg: float = 0.0,
    blur_px: float = 0.8,
    noise: float = 0.01,
    phase: float = 0.0,
    head: bool = True,
    taper_deg: float = 0.0,
    level_deg: float = 0.0,
    ground: float = 0.9,
    screw: float = 0.1,
    glints: bool = False,
    seed: int = 0,
) -> Array:
    """
    A picture of a screw, brightness from 0 to 1; sizes in millimetres.

    `level_deg` lifts one end towards the eye; `taper_deg` lets the two edges run together, as a picture
    taken at a slant does; `glints` puts light streaks on the turns, as a lamp from above does.
    """
    length = 12 * pitch if length is None else length
    head_long, head_wide = 0.5 * diameter, 1.8 * diameter
    finer = 3
    step = mm_per_px / finer
    reach = np.hypot(length + 2 * head_long, head_wide) + 40 * mm_per_px
    count = int(reach / mm_per_px) * finer
    axis = (np.arange(count) - count / 2 + 0.5) * step
    across, along = np.meshgrid(axis, axis, indexing="ij")
    cos, sin = np.cos(np.radians(turned_deg)), np.sin(np.radians(turned_deg))
    x, y = along * cos + across * sin, -along * sin + across * cos
    places = np.linspace(-length / 2, length / 2, int(length / step) + 1)
    up, low = edges(places, diameter, pitch, profile, phase, level_deg)
    lean = np.tan(np.radians(taper_deg / 2)) * places
    up, low = up - lean, low + lean
    inside = (np.abs(x) < length / 2) & (y < np.interp(x, places, up)) & (y > np.interp(x, places, low))
    if head:
        inside |= (x <= -length / 2) & (x > -length / 2 - head_long) & (np.abs(y) < head_wide / 2)
    picture = np.where(inside, screw, ground)
    if glints:
        streak = (
            inside & (np.abs(y - 0.15 * diameter) < 0.08 * diameter) & (np.sin(2 * np.pi * x / pitch) > 0)
        )
        picture = np.where(streak, ground, picture)
    coarse = picture.reshape(count // finer, finer, count // finer, finer).mean(axis=(1, 3))
    coarse = ndimage.gaussian_filter(coarse, blur_px) if blur_px else coarse
    rng = np.random.default_rng(seed)
    noisy = np.clip(coarse + rng.normal(0, noise, coarse.shape), 0, 1)
    return np.round(noisy * 255) / 255
