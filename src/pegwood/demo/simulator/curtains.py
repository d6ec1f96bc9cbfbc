"""
A focal-plane shutter at one point of the gate: two edges run past, and each casts a soft shadow.

The curtain runs a little way in front of the film, so its edge cuts the cone of light from the lens bit by
bit: the shadow is gap / f-number wide. Times at a point come out as slit width over curtain speed; the shadow
lengthens the total time and so lowers the efficiency to w / (w + gap / N). Geometry, as `facts` carry it
(mark: memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from pegwood.demo.simulator.opening import Floats


def pupil_uncovered(edge: Floats, width: float) -> Floats:
    """
    Share of a round pupil that a straight edge has uncovered.

    Parameters
    ----------
    edge : array, shape (n,)
        How far the edge has run beyond the point on the film, [m].
    width : float
        Width of the shadow on the film, [m]; 0 is a hard edge.

    Returns
    -------
    share : array, shape (n,)
        0 to 1, [1]: the area of a circle up to a chord.
    """
    if width <= 0:
        return np.where(np.asarray(edge) > 0, 1.0, 0.0)
    x = np.clip(2 * np.asarray(edge, dtype=float) / width, -1.0, 1.0)
    return 0.5 + (np.arcsin(x) + x * np.sqrt(1 - x**2)) / math.pi


@dataclass(frozen=True, kw_only=True)
class Curtain:
    """
    One curtain's run over the gate.

    Attributes
    ----------
    speed_m_s : float
        Speed as it enters the gate, [m/s], above zero.
    acceleration_m_s2 : float
        What its spring still adds within the gate, [m/s2], at least zero.
    """

    speed_m_s: float = 2.6
    acceleration_m_s2: float = 0.0

    def __post_init__(self) -> None:
        if self.speed_m_s <= 0 or self.acceleration_m_s2 < 0:
            raise ValueError(
                f"Curtain at {self.speed_m_s} m/s, {self.acceleration_m_s2} m/s2. "
                "Expected a speed above zero and no braking."
            )

    def place(self, times: Floats) -> Floats:
        """Where the edge is, [m] from the start of the gate, at times after it entered, [s]."""
        t = np.asarray(times, dtype=float)
        # before it enters, it is drawn on at its entering speed: the run-up is not part of the gate
        return np.asarray(self.speed_m_s * t + 0.5 * self.acceleration_m_s2 * np.maximum(t, 0.0) ** 2)

    def arrives(self, place_m: float) -> float:
        """When the edge passes a place, [s] after it entered the gate."""
        if place_m <= 0 or self.acceleration_m_s2 == 0:
            return place_m / self.speed_m_s
        root = math.sqrt(self.speed_m_s**2 + 2 * self.acceleration_m_s2 * place_m)
        return 2 * place_m / (self.speed_m_s + root)


@dataclass(frozen=True, kw_only=True)
class FocalPlaneShutter:
    """
    Two curtains and the diode behind them.

    Attributes
    ----------
    first, second : Curtain
        The opening and the closing curtain.
    point_m : float
        Where the diode sits along the travel, [m] from the start of the gate.
    sensor_m : float
        The diode's length along the travel, [m]; 0 is a point.
    gap_m : float
        Curtain to film, [m].
    f_number : float
        Of the light that falls in, [1].
    gate_m : float
        Length of the gate along the travel, [m].
    """

    first: Curtain = Curtain()
    second: Curtain = Curtain()
    point_m: float = 0.018
    sensor_m: float = 0.0
    gap_m: float = 0.0
    f_number: float = 8.0
    gate_m: float = 0.036

    @property
    def shadow_m(self) -> float:
        """Width of the shadow of an edge on the film, gap over f-number, [m]."""
        return self.gap_m / self.f_number

    def fire(self, delay_s: float) -> CurtainFiring:
        """One firing; the second curtain enters the gate `delay_s` after the first, [s]."""
        return CurtainFiring(shutter=self, delay_s=delay_s)

    def delay_for(self, effective_s: float) -> float:
        """
        The delay that gives an effective time at the diode, [s]: arrival times differ by exactly that time.
        """
        return effective_s + self.first.arrives(self.point_m) - self.second.arrives(self.point_m)


@dataclass(frozen=True, kw_only=True)
class CurtainFiring:
    """One firing of a focal-plane shutter seen at one point; see `Opening`."""

    shutter: FocalPlaneShutter
    delay_s: float

    @property
    def begins_s(self) -> float:
        """The first curtain's shadow reaches the diode, [s]."""
        s = self.shutter
        return s.first.arrives(s.point_m - (s.sensor_m + s.shadow_m) / 2) * (1 - 1e-12) - 1e-9

    @property
    def ends_s(self) -> float:
        """The second curtain's shadow has left the diode, [s]."""
        s = self.shutter
        return self.delay_s + s.second.arrives(s.point_m + (s.sensor_m + s.shadow_m) / 2) + 1e-9

    def openness(self, times: Floats) -> Floats:
        """Mean over the diode of the uncovered pupil, [1]; see `Opening.openness`."""
        s = self.shutter
        t = np.asarray(times, dtype=float)
        first = s.first.place(t) - s.point_m
        second = s.second.place(t - self.delay_s) - s.point_m
        if s.sensor_m == 0:
            return np.maximum(pupil_uncovered(first, s.shadow_m) - pupil_uncovered(second, s.shadow_m), 0.0)
        if s.shadow_m == 0:  # hard edges over a diode of finite length: exact, no sum needed
            lit = np.clip(first / s.sensor_m + 0.5, 0, 1) - np.clip(second / s.sensor_m + 0.5, 0, 1)
            return np.maximum(lit, 0.0)
        spots = (np.arange(25) + 0.5) / 25 - 0.5  # midpoint rule along the diode
        light = np.zeros_like(t)
        for spot in spots * s.sensor_m:
            light += np.maximum(
                pupil_uncovered(first - spot, s.shadow_m) - pupil_uncovered(second - spot, s.shadow_m), 0.0
            )
        return light / spots.size
