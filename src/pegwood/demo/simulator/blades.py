"""
A leaf shutter from its geometry: straight-edged blades that swing apart in front of a round opening.

Each of the n blades shows one straight edge; together the edges bound a regular polygon that grows from
nothing. What the light sees is that polygon cut by the round opening of the lens or its stop. Blades driven
by a spring of constant torque gain speed evenly; with viscous drag (oil) they come to a steady speed.
Elementary mechanics and plane geometry.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from pegwood.demo.simulator.opening import Floats, truth_of


def clear_area(apothem: Floats, radius: float, blades: int) -> Floats:
    """
    Area of a regular polygon that a concentric circle cuts off.

    Parameters
    ----------
    apothem : array, shape (n,)
        Distance of each blade's edge from the axis, [m]; zero or less is closed.
    radius : float
        Radius of the round opening, [m].
    blades : int
        Number of blades, hence of the polygon's sides, at least 3.

    Returns
    -------
    area : array, shape (n,)
        Clear area, [m2].
    """
    a = np.clip(np.asarray(apothem, dtype=float), 0.0, radius)
    half_angle = math.pi / blades
    polygon = blades * a**2 * math.tan(half_angle)
    # corners reach beyond the circle: the circle less one segment behind every edge
    segment = radius**2 * np.arccos(a / radius) - a * np.sqrt(np.maximum(radius**2 - a**2, 0.0))
    cut = math.pi * radius**2 - blades * segment
    return np.asarray(np.where(a <= radius * math.cos(half_angle), polygon, cut))


def swing(share: Floats, drag: float) -> Floats:
    """
    How far a driven blade has come, from rest at 0 to its stop at 1.

    Constant drive against drag proportional to speed: x'' = drive - drag x', in closed form.

    Parameters
    ----------
    share : array, shape (n,)
        Share of the stroke's duration gone by, [1]; held to 0..1.
    drag : float
        Drag rate times the stroke's duration, [1]: 0 gains speed evenly, a large number runs at a steady
        speed.

    Returns
    -------
    way : array, shape (n,)
        Share of the way covered, [1].
    """
    s = np.clip(np.asarray(share, dtype=float), 0.0, 1.0)
    if drag < 1e-6:
        return np.asarray(s**2)
    return np.asarray((s + np.expm1(-drag * s) / drag) / (1 + math.expm1(-drag) / drag))


def slowed_by_drag(drag: float) -> float:
    """Duration of a dragged stroke over that of the free one under the same drive, [1]."""
    if drag < 1e-3:  # the formula below subtracts near equals here; its series does not
        return 1 + drag / 6
    return drag / math.sqrt(2 * (drag + math.expm1(-drag)))


@dataclass(frozen=True, kw_only=True)
class LeafShutter:
    """
    A leaf shutter and the stop behind it.

    Attributes
    ----------
    blades : int
        Number of blades, [1].
    clear_radius_m : float
        Radius at which the blades leave the full opening free, [m].
    stop_radius_m : float
        Radius of the working aperture, [m]; at most `clear_radius_m`.
    opening_stroke_s, closing_stroke_s : float
        From rest at one end to the other end, [s].
    drag : float
        See `swing`, [1].
    overlap : float
        How far the blades lie across each other when shut, in clear radii, [1].
    spare : float
        How far they swing beyond the clear opening, in clear radii, [1].
    restitution : float
        Speed after over speed before they strike the closed stop, [1]. At the open end the latch catches
        them.
    """

    blades: int = 5
    clear_radius_m: float = 0.008
    stop_radius_m: float = 0.008
    opening_stroke_s: float = 2.5e-3
    closing_stroke_s: float = 2.5e-3
    drag: float = 0.0
    overlap: float = 0.15
    spare: float = 0.10
    restitution: float = 0.0

    def __post_init__(self) -> None:
        if self.blades < 3:
            raise ValueError(f"A shutter of {self.blades} blades cannot close a round hole: at least 3.")
        if not 0 < self.stop_radius_m <= self.clear_radius_m:
            raise ValueError(
                f"Stop radius {self.stop_radius_m} m. Expected above zero, at most the clear radius "
                f"{self.clear_radius_m} m."
            )
        if not 0 <= self.restitution < 1:
            raise ValueError(f"Restitution {self.restitution}: from 0 to below 1.")

    def fire(self, dwell_s: float) -> LeafFiring:
        """One firing; `dwell_s` runs from the release of the opening to that of the closing stroke, [s]."""
        return LeafFiring(shutter=self, dwell_s=max(dwell_s, self.opening_stroke_s))

    def dwell_for(self, effective_s: float) -> float:
        """
        The dwell that gives an effective time, [s].

        Never less than the opening stroke: blades that must reach the open end before they turn have a
        shortest time, and a speed marked shorter than that stays too long on the real shutter too.
        """
        return self.opening_stroke_s + max(0.0, effective_s - _shortest_effective_s(self))


@lru_cache(maxsize=64)
def _shortest_effective_s(shutter: LeafShutter) -> float:
    """Effective time of a firing without any pause at the open end, [s]."""
    return truth_of(shutter.fire(0.0), points=40_001).effective_s


@dataclass(frozen=True, kw_only=True)
class LeafFiring:
    """One firing of a leaf shutter; see `Opening`."""

    shutter: LeafShutter
    dwell_s: float

    @property
    def begins_s(self) -> float:
        """The release, [s]."""
        return 0.0

    @property
    def ends_s(self) -> float:
        """All bounces over, [s]."""
        e = self.shutter.restitution
        rebounds = 2 * e / (1 - e) * self.shutter.closing_stroke_s
        return self.dwell_s + self.shutter.closing_stroke_s + rebounds

    def openness(self, times: Floats) -> Floats:
        """Clear area over that of the working aperture, [1]; see `Opening.openness`."""
        s = self.shutter
        full = math.pi * s.stop_radius_m**2
        return clear_area(self._edge(np.asarray(times, dtype=float)), s.stop_radius_m, s.blades) / full

    def _edge(self, times: Floats) -> Floats:
        """Distance of the blades' edges from the axis, [m]; negative while they overlap."""
        s = self.shutter
        travel = s.overlap + 1 + s.spare
        opened = swing(times / s.opening_stroke_s, s.drag)
        closing = times - self.dwell_s
        way = np.where(closing < 0, opened, 1 - swing(closing / s.closing_stroke_s, s.drag))
        way += self._rebound(closing - s.closing_stroke_s)
        return s.clear_radius_m * (travel * way - s.overlap)

    def _rebound(self, times: Floats) -> Floats:
        """
        Height of the bounces off the closed stop, in strokes: parabolas, each e**2 as high as the one before.
        """
        way = np.zeros_like(times)
        begins, e = 0.0, self.shutter.restitution
        rise = e
        while rise > 0.05:  # lower bounces stay below 0.0025 of the stroke, far inside any overlap
            lasts = 2 * rise * self.shutter.closing_stroke_s
            share = (times - begins) / lasts
            inside = (share >= 0) & (share <= 1)
            way[inside] = 4 * rise**2 * share[inside] * (1 - share[inside])
            begins, rise = begins + lasts, rise * e
        return way
