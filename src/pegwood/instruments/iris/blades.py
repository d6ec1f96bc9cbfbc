"""
The blades behind an opening's edge: how many, how far each reaches in, and which is out of its place.

A corner is where the edge turns more than around it. Between two corners lies one blade's edge, taken as a
shallow curve. All blades of a diaphragm are moved by one ring, so their edges lie equally far from a common
middle; the one that does not is found by leaving each out in turn.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.iris.outline import Outline
from pegwood.instruments.iris.practice import Practice

__all__ = ["Blade", "Blades", "calliper_widths", "find_blades"]

Array = NDArray[np.floating]

_POINTS = 720
_LEAST_TURN = math.radians(5)
MOST = 20
"""More corners than that are a circle or noise."""


@dataclass(frozen=True)
class Blade:
    """
    One blade's edge.

    Parameters
    ----------
    direction : float
        Where its middle lies from the middle of the opening: clockwise from upright, 0 to 2π, [rad].
    reach : float
        Distance of its edge from the middle of the opening, [pixel].
    reach_u : float
        Standard uncertainty of that, [pixel].
    inward : float
        How much farther in it reaches than the others' places ask for, [pixel].
    turned : float
        How far its edge is turned from where it belongs, [rad].
    bow : float
        Curvature of its edge times the opening's radius: 0 straight, 1 part of the circle, [-].
    out_of_place : bool
        Whether it is late or bent.
    """

    direction: float
    reach: float
    reach_u: float
    inward: float
    turned: float
    bow: float
    out_of_place: bool

    @property
    def hour(self) -> int:
        """Where it lies as on the face of a clock, 1 to 12."""
        return round(math.degrees(self.direction) / 30) % 12 or 12


@dataclass(frozen=True)
class Blades:
    """
    What the edge tells of the blades.

    Parameters
    ----------
    edges : tuple of Blade
        Clockwise; empty where they can't be told apart.
    why_not : str
        Why they can't; empty where they can.
    corners : array, shape (n_blades, 2)
        Where neighbouring edges meet, x and y, [pixel].
    """

    edges: tuple[Blade, ...]
    why_not: str
    corners: Array


def calliper_widths(points: Array) -> tuple[float, float]:
    """
    Smallest and largest distance between two parallel lines that touch a shape (calliper or Feret diameters).

    Parameters
    ----------
    points : array, shape (n, 2)
        Points of its edge.

    Returns
    -------
    smallest, largest : float
        In the unit of the points.
    """
    angles = np.arange(0, math.pi, math.pi / 720)
    along = points @ np.stack([np.cos(angles), np.sin(angles)])
    widths = along.max(axis=0) - along.min(axis=0)
    return float(widths.min()), float(widths.max())


def find_blades(outline: Outline, diameter: float, blur: float, edge_u: float, known: Practice) -> Blades:
    """
    Tell the blades apart.

    Parameters
    ----------
    outline : Outline
        The edge.
    diameter, blur : float
        Of the opening and of its edge, [pixel].
    edge_u : float
        How well one place of the edge is known, [pixel].
    known : Practice
        From where on a blade is out of its place.

    Returns
    -------
    blades : Blades
    """
    points = _evenly(outline)
    step = outline.perimeter / _POINTS
    reach = float(np.clip(2 * blur + 2.5, outline.perimeter / 110, outline.perimeter / 34))
    turn = _turning(points, max(2, round(reach / step)))
    corners, why_not = _corners(turn, step, reach)
    none = np.empty((0, 2))
    if why_not:
        return Blades((), why_not, none)
    sides = []
    keep_off = max(2, round(1.3 * reach / step))
    for first, last in zip(corners, [*corners[1:], corners[0] + _POINTS], strict=True):
        inner = np.arange(first + keep_off, last - keep_off + 1)
        if inner.size < 6:
            return Blades((), "two corners lie too near each other to be those of two blades", none)
        sides.append(_side(points[inner % _POINTS], np.asarray(outline.middle), edge_u))
    rest = max(one.rest for one in sides)
    if rest > max(0.006 * diameter, 4 * edge_u):
        return Blades((), "between the corners the edge is too ragged for a blade's", none)
    return Blades(_judged(sides, diameter, known), "", _meetings(sides))


@dataclass(frozen=True)
class _Side:
    normal: float  # direction of its outward normal, clockwise from the right, [rad]
    distance: float
    u: float
    bow: float
    rest: float
    centre: Array
    along: Array
    outward: Array
    curve: tuple[float, float, float]  # powers of the way along, outwards of the centre, [pixel]
    half: float

    def above(self, points: Array) -> Array:
        """How far points lie outside this edge, continued beyond its ends."""
        x, y = (points - self.centre) @ self.along, (points - self.centre) @ self.outward
        return y - (self.curve[0] + self.curve[1] * x + self.curve[2] * x * x)

    def continued(self, beyond: Array) -> Array:
        """Points of this edge from its last seen one on, `beyond` in shares of its half length."""
        x = self.half * (1 + beyond)
        y = self.curve[0] + self.curve[1] * x + self.curve[2] * x * x
        return self.centre + np.outer(x, self.along) + np.outer(y, self.outward)


def _evenly(outline: Outline) -> Array:
    """Points at even steps along the edge, a little smoothed."""
    closed = np.vstack([outline.points, outline.points[:1]])
    length = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    at = np.arange(_POINTS) * length[-1] / _POINTS
    return np.column_stack([np.interp(at, length, closed[:, i]) for i in (0, 1)])


def _turning(points: Array, half: int) -> Array:
    """How far the edge's direction turns from `half` steps before to `half` steps after each point, [rad]."""
    chord = np.roll(points, -half, axis=0) - points
    heading = np.unwrap(np.arctan2(chord[:, 1], chord[:, 0]))
    turn = heading - np.roll(heading, half)
    wrapped: Array = (turn + math.pi) % (2 * math.pi) - math.pi
    return wrapped


def _corners(turn: Array, step: float, reach: float) -> tuple[list[int], str]:
    from scipy.ndimage import uniform_filter1d
    from scipy.signal import find_peaks

    smooth = uniform_filter1d(turn, max(3, round(0.6 * reach / step)), mode="wrap")
    jitter = 1.4826 * float(np.median(np.abs(turn - smooth)))
    thrice = np.tile(smooth, 3)
    peaks, found = find_peaks(thrice, prominence=math.radians(2), distance=max(4, round(1.2 * reach / step)))
    here = (peaks >= _POINTS) & (peaks < 2 * _POINTS)
    peaks, height = peaks[here] - _POINTS, found["prominences"][here]
    need = max(_LEAST_TURN, 6 * jitter, 0.35 * float(height.max()) if height.size else 0.0)
    strong = height >= need
    weak = height[~strong]
    n = int(strong.sum())
    if n < 3:
        reason = (
            "the edge has no corners: the blades are drawn back behind a round rim, or bent to a circle"
            if n == 0
            else f"the edge has only {n} corner{'s' if n > 1 else ''}: round, and something hangs into it"
        )
        return [], reason
    if n > MOST:
        return [], f"the edge has {n} corners or more, as noise makes them"
    if weak.size and weak.max() > 0.6 * height[strong].min():
        return [], "some corners are too faint to tell them from ripples of the edge"
    corners = sorted(int(one) for one in peaks[strong])
    gaps = np.diff([*corners, corners[0] + _POINTS])
    if gaps.max() > 2.6 * gaps.min():
        return [], "the corners lie too unevenly for blades that are all alike"
    return corners, ""


def _side(points: Array, middle: Array, edge_u: float) -> _Side:
    centre = points.mean(axis=0)
    along = points[-1] - points[0]
    along = along / np.hypot(*along)
    outward = np.array([along[1], -along[0]])
    if outward @ (centre - middle) < 0:
        outward = -outward
    x, y = (points - centre) @ along, (points - middle) @ outward
    half = float(np.abs(x).max())
    design = np.column_stack([np.ones(x.size), x / half, (x / half) ** 2 - 1 / 3])
    values, *_ = np.linalg.lstsq(design, y, rcond=None)
    rest = float(np.std(y - design @ values))
    lean = math.atan2(values[1] / half, 1.0)
    normal = math.atan2(outward[1], outward[0])
    turned = np.array([math.cos(normal), math.sin(normal)]) - math.sin(lean) * along
    bow = -2 * float(values[2]) / half**2
    # neighbouring points share their noise over a pixel or two
    u = math.hypot(rest, edge_u) / math.sqrt(max(half, 1.0))
    bent = float(values[2]) / half**2
    base = float(values[0] - values[2] / 3 - (centre - middle) @ outward)
    return _Side(
        math.atan2(turned[1], turned[0]), float(values[0]), u, bow * float(values[0]), rest,
        centre, along, outward, (base, float(values[1]) / half, bent), half,
    )  # fmt: skip


def _judged(sides: list[_Side], diameter: float, known: Practice) -> tuple[Blade, ...]:
    n = len(sides)
    normal = np.unwrap([one.normal for one in sides])
    distance = np.array([one.distance for one in sides])
    design = np.column_stack([np.ones(n), np.cos(normal), np.sin(normal)])
    belongs = np.arange(n) * (2 * math.pi / n) * (1 if normal[-1] > normal[0] else -1)
    off, turned, odd = _left_out(design, distance, normal - belongs)
    far, skew = known["blade.out_rel"].value * diameter, math.radians(known["blade.turned_deg"].value)
    found = []
    for i, one in enumerate(sides):
        sure = abs(off[i]) > far + 2 * one.u or abs(turned[i]) > skew + 4 * one.u / (0.2 * diameter)
        late = sure and (i == odd or _apart(off, turned, odd, i, far, skew))
        found.append(
            Blade((one.normal + math.pi / 2) % (2 * math.pi), one.distance, one.u, float(-off[i]),
                  float(turned[i]), one.bow, bool(late))
        )  # fmt: skip
    return tuple(found)


def _left_out(design: Array, distance: Array, angle: Array) -> tuple[Array, Array, int]:
    """Each blade's place against that of the others, the most odd one left out of the reckoning."""
    n = len(distance)
    best, rests = 0, []
    for i in range(n):
        others = np.delete(np.arange(n), i)
        fit, *_ = np.linalg.lstsq(design[others], distance[others], rcond=None)
        size = float(distance.mean())
        rests.append(
            float(((distance - design @ fit)[others] ** 2).sum())
            + size**2 * float(((angle[others] - np.median(angle[others])) ** 2).sum()) / 4
        )
    best = int(np.argmin(rests))
    others = np.delete(np.arange(n), best)
    if n >= 5:
        fit, *_ = np.linalg.lstsq(design[others], distance[others], rcond=None)
        off = distance - design @ fit
    else:  # three or four sides always fit some middle: only their mean is left
        off = distance - np.median(distance)
    return off, angle - float(np.median(angle[others])), best


def _apart(off: Array, turned: Array, odd: int, i: int, far: float, skew: float) -> bool:
    """Whether a second blade is out by itself."""
    return bool(
        abs(off[i]) > max(far, 0.5 * abs(off[odd])) or abs(turned[i]) > max(skew, 0.5 * abs(turned[odd]))
    )


def _meetings(sides: list[_Side]) -> Array:
    """Where each edge, continued in its own curve, meets the next; those that do not are left out."""
    corners = []
    for one, other in zip(sides, [*sides[1:], sides[0]], strict=True):
        way = one.continued(np.linspace(0, 2, 201))
        above = other.above(way)
        crossed = np.flatnonzero((above[:-1] < 0) & (above[1:] >= 0))
        if crossed.size:
            i = int(crossed[0])
            corners.append(way[i] + (way[i + 1] - way[i]) * (above[i] / (above[i] - above[i + 1])))
    return np.array(corners).reshape(-1, 2)
