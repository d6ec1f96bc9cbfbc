"""Exposure values, and how bright what a meter sees must be for them."""

from __future__ import annotations

import math

from pegwood.trade.grounds import Ground

EV = Ground(
    "EV = log2(N^2/t); N^2/t = L S/K, N^2/t = E S/C (exposure functions of an open colour library)", "seen"
)
K_RANGE = Ground("ISO 2720:1974 as secondary pages quote it: K from 10.6 to 13.4 cd/m2", "seen")
C_RANGE = Ground("ISO 2720:1974 as secondary pages quote it: C 240 to 400 flat, 320 to 540 dome", "seen")

#: Constants of ISO 2720: the permitted ranges, cd/m2 and lx.
K_LIMITS = (10.6, 13.4)
C_FLAT = (240.0, 400.0)
C_DOME = (320.0, 540.0)


def exposure_value(stop: float, time_s: float) -> float:
    """EV of a stop and a time in s: log2(N^2/t)."""
    return math.log2(stop**2 / time_s)


def luminance(ev: float, k: float = 12.5, speed: float = 100.0) -> float:
    """
    Luminance that a reflected-light meter takes for an EV, cd/m2: K 2^EV / S.

    Parameters
    ----------
    k : float
        Calibration constant, cd/m2 s.
    speed : float
        ISO speed.
    """
    return k * 2**ev / speed


def illuminance(ev: float, c: float = 250.0, speed: float = 100.0) -> float:
    """Illuminance that an incident-light meter takes for an EV, lx: C 2^EV / S."""
    return c * 2**ev / speed
