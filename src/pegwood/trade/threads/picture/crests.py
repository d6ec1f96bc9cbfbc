"""The outside diameter of a thread and the angle of its flanks, from its edges laid turn over turn."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from pegwood.trade.threads.picture.edges import Edge
from pegwood.trade.threads.picture.outline import UnclearPicture

Array = NDArray[np.float64]

#: The edges of a screw seen square on run parallel; beyond this nothing here undoes the slant, [rad].
_SLANT = math.radians(1.5)
#: Blur beyond this, in pitches, rounds the crests away.
_BLUREST = 1 / 9
#: Where an edge is taken to lie is sure to this much, [pixel]; light and a camera's tone curve shift an
#: edge by this share of its blur besides, as a level of 40 or 60 % instead of 50 would.
_EDGE, _EDGE_OF_BLUR = 0.15, 0.25
#: What lighting and the lens make of the flanks, [degree].
_ANGLE_DEG = 1.0


@dataclass(frozen=True, kw_only=True)
class Crests:
    """
    The outside of a thread.

    Attributes
    ----------
    diameter, u_diameter : float
        Outside diameter over the crests, and its standard uncertainty as far as the edges show, [pixel].
    angle_deg, u_angle_deg : float, optional
        Angle between the flanks, [degree]; None where blur leaves too little of them.
    """

    diameter: float
    u_diameter: float
    angle_deg: float | None
    u_angle_deg: float


def crests_of(edges: Sequence[Edge], pitch: float, blur: float) -> Crests:
    """
    The outside of a thread from its two edges.

    Parameters
    ----------
    edges : sequence of two Edge
        Upper and lower edge.
    pitch : float
        Their pitch, [pixel].
    blur : float
        Standard deviation of the blur of the edges, [pixel].

    Raises
    ------
    UnclearPicture
        If it is too much blurred or seen at a slant.
    """
    if blur > _BLUREST * pitch:
        raise UnclearPicture(
            f"The picture is blurred: its edges are {2 * blur:.1f} pixels wide, a turn only {pitch:.0f}. "
            "Focus on the outline, hold the camera still, come nearer."
        )
    tops = [_tops(edge, pitch) for edge in edges]
    lines = [_line(places, heights) for places, heights in tops]
    converging = sum(slope for slope, _ in lines)
    if abs(converging) > _SLANT:
        raise UnclearPicture(
            f"The edges run together by {abs(math.degrees(converging)):.1f} degrees: the picture was taken "
            "at a slant. Lay the screw flat and hold the camera square over it."
        )
    turned = (lines[0][0] - lines[1][0]) / 2
    middle = float(np.mean([places.mean() for places, _ in tops]))
    across = sum(slope * middle + at_0 for slope, at_0 in lines)
    rests = [
        heights - slope * places - at_0 for (places, heights), (slope, at_0) in zip(tops, lines, strict=True)
    ]
    flat, rounded = _sunk(round(pitch, 1), round(blur, 2))
    statistics = sum(float(rest @ rest) / ((len(rest) - 2) * len(rest)) for rest in rests)
    shifted = 2 * (_EDGE + _EDGE_OF_BLUR * blur)  # both edges alike
    u = math.sqrt(statistics + shifted**2 / 3 + (flat - rounded) ** 2 / 3)
    diameter = across * math.cos(turned) + flat + rounded
    angle, u_angle = _angle(edges, pitch, blur)
    if angle is not None:
        angle -= _blunter(angle, pitch, diameter)
    return Crests(diameter=diameter, u_diameter=u, angle_deg=angle, u_angle_deg=u_angle)


def _tops(edge: Edge, pitch: float) -> tuple[Array, Array]:
    """Where each crest is and how high, over a sixteenth of a turn; without the outermost, often cut."""
    phase = np.angle(np.exp(2j * np.pi * edge.crests / pitch).mean()) / (2 * np.pi)
    turns = np.unique(np.rint(edge.crests / pitch - phase))[1:-1]
    places = pitch * (turns + phase)
    heights = [edge.out[abs(edge.place - place) <= max(pitch / 32, 0.5)].mean() for place in places]
    return places, np.array(heights)


def _line(places: Array, heights: Array) -> tuple[float, float]:
    """The line through the crests: slope, and height at zero. One worn or dirty crest does not turn it."""
    from scipy.stats import theilslopes

    found = theilslopes(heights, places)
    return float(found.slope), float(np.mean(heights - found.slope * places))


@lru_cache(maxsize=64)
def _sunk(pitch: float, blur: float) -> tuple[float, float]:
    """
    How far blur lets a crest's outline sink, [pixel], for a flat crest an eighth of the pitch wide and
    for a rounded one of BA, by blurring such a ridge.

    The outline was smoothed by a pixel before it was drawn; that blurs too.
    """
    from scipy.ndimage import gaussian_filter

    finer = 8
    around, below = np.meshgrid(
        np.arange(-int(pitch * finer / 2), int(pitch * finer / 2) + 1) / finer,
        np.arange(-int(6 * finer), int((0.5 * pitch + 2) * finer)) / finer,
    )
    whole = math.hypot(blur, 1.0) * finer
    sunk = []
    for angle, half_flat, radius in ((60.0, pitch / 16, 0.0), (47.5, 0.0, 0.1808 * pitch)):
        slope = math.tan(math.radians(angle / 2))
        if radius:
            tip = radius / math.sin(math.radians(angle / 2)) - radius
            ridge = abs(around) / slope - tip
            arc = radius - np.sqrt(np.maximum(radius**2 - around**2, 0))
            ridge = np.where(abs(around) < radius * math.cos(math.radians(angle / 2)), arc, ridge)
        else:
            ridge = np.maximum(abs(around) - half_flat, 0) / slope
        seen = gaussian_filter((below > ridge).astype(float), whole, mode=("nearest", "wrap"))
        middle = seen[:, seen.shape[1] // 2]
        at = int(np.argmax(middle >= 0.5))
        part = (0.5 - middle[at - 1]) / (middle[at] - middle[at - 1])
        sunk.append(float(below[at - 1, 0] + part / finer))
    return sunk[0], sunk[1]


def _angle(edges: Sequence[Edge], pitch: float, blur: float) -> tuple[float | None, float]:
    """The angle between the flanks, from their middle parts, all turns laid over each other."""
    if blur > 0.06 * pitch or pitch < 20:
        return None, 0.0
    half_angles = []
    for edge in edges:
        slant = np.polynomial.Polynomial.fit(edge.place, edge.out, 1)
        out = edge.out - slant(edge.place)
        phase = np.angle(np.exp(2j * np.pi * edge.crests / pitch).mean()) / (2 * np.pi)
        within = (edge.place / pitch - phase + 0.5) % 1.0 - 0.5
        high, low = np.quantile(out, 0.97), np.quantile(out, 0.03)
        middle = abs(out - (high + low) / 2) < 0.22 * (high - low)
        for sign in (1, -1):
            flank = middle & (sign * within > 0)
            if flank.sum() < 12:
                return None, 0.0
            # place against height: the height is the surer of the two only on a steep flank
            run = _slope(out[flank], sign * within[flank] * pitch)
            half_angles.append(math.degrees(math.atan(abs(run))))
    found = 2 * float(np.mean(half_angles))
    scatter = 2 * float(np.std(half_angles, ddof=1)) / math.sqrt(len(half_angles))
    return found, math.hypot(scatter, _ANGLE_DEG)


def _blunter(angle_deg: float, pitch: float, diameter: float) -> float:
    """
    By how much a thread's flanks look blunter from the side than in the section through its axis, [degree].

    The edge that is seen is where the flank turns away from the eye, a little before or behind the
    section: at an angle of atan(p / (2 pi r tan(half))) around the axis.
    """
    half = math.radians(angle_deg / 2)
    seen = []
    for radius in (diameter / 2 - 0.45 * pitch, diameter / 2 - 0.15 * pitch):
        around = math.atan(pitch / (2 * math.pi * radius * math.tan(half)))
        along = -radius * math.tan(half) + pitch * around / (2 * math.pi)
        seen.append((along, radius * math.cos(around)))
    (along_0, out_0), (along_1, out_1) = seen
    return 2 * math.degrees(math.atan((along_0 - along_1) / (out_1 - out_0))) - angle_deg


def _slope(x: Array, y: Array) -> float:
    """Slope of y over x where both are off: the longer axis of their cloud."""
    values, axes = np.linalg.eigh(np.cov(np.vstack([x, y])))
    return float(axes[1, int(np.argmax(values))] / axes[0, int(np.argmax(values))])
