"""Between which outside diameters a screw is made: the classes of the standards, for screws as bought."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

from pegwood.trade.grounds import Ground


class Limits(NamedTuple):
    """
    The lowest and the highest outside diameter that a class allows.

    Attributes
    ----------
    low_m, high_m : float
        The limits, [m].
    ground : Ground
        What they rest on.
    """

    low_m: float
    high_m: float
    ground: Ground


ISO_6G = Ground(
    "ISO 965-1, class 6g by its formulae for deviation and tolerance, checked against an open table",
    "seen",
)
ISO_6H = Ground("ISO 965-2: the medium class is 6h up to M1.4; tolerance as for 6g", "memory")
ISO_1501 = Ground(
    "ASME B1.10M, limits of size as printed in Machinery's Handbook, 31st edition, table 5", "seen"
)
UNIFIED_2A = Ground(
    "ASME B1.1, class 2A: 0.060 p^(2/3) inch under the allowance, checked against its table", "seen"
)
BA_NORMAL = Ground("BS 93:1951 as printed in Machinery's Handbook, 31st edition, p. 2115", "seen")
A_FIFTH = Ground("no limits known: taken as a fifth of the pitch under the name, as BA's", "practice")


def _iso_6g(d: float, p: float) -> tuple[float, float]:
    """ISO 965-1: es = -(15 + 11 p) um for g; tolerance of grade 6 below it; p in mm."""
    high = d - (15 + 11 * p) * 1e-3
    return high - _grade_6(p), high


def _iso_6h(d: float, p: float) -> tuple[float, float]:
    return d - _grade_6(p), d


def _grade_6(p: float) -> float:
    """ISO 965-1: Td = 180 p^(2/3) - 3.15 / sqrt(p) um."""
    return 0.180 * math.pow(p, 2 / 3) - 0.00315 / math.sqrt(p)


def _iso_1501(d: float, p: float) -> tuple[float, float]:
    """ASME B1.10M: from the name down by 0.12 p + 0.006 mm."""
    return d - (0.12 * p + 0.006), d


def _unified_2a(d: float, p: float) -> tuple[float, float]:
    """
    ASME B1.1, in inches: the major diameter's tolerance is 0.060 p^(2/3); the allowance is 0.3 of the
    effective diameter's, 0.0015 d^(1/3) + 0.0015 sqrt(length) + 0.015 p^(2/3), the length taken as 9 p.
    """
    d_in, p_in = d / 25.4, p / 25.4
    allowance = 0.3 * (0.0015 * d_in ** (1 / 3) + 0.0015 * math.sqrt(9 * p_in) + 0.015 * p_in ** (2 / 3))
    high = d_in - allowance
    return (high - 0.060 * p_in ** (2 / 3)) * 25.4, high * 25.4


def _ba(d: float, p: float) -> tuple[float, float]:
    """BS 93: up to no. 10 an allowance of 0.025 mm and 0.20 p, from no. 11 none and 0.25 p; p in mm."""
    if p >= 0.35:
        return d - 0.025 - 0.20 * p, d - 0.025
    return d - 0.25 * p, d


def _a_fifth(d: float, p: float) -> tuple[float, float]:
    return d - 0.2 * p, d


#: ISO 965-2's medium class is 6h up to M1.4 and 6g above, [m].
_LARGEST_6H_M = 1.41e-3

#: Each from diameter and pitch in millimetres to lowest and highest diameter in millimetres.
CLASSES: dict[str, tuple[Callable[[float, float], tuple[float, float]], Ground]] = {
    "iso 6g": (_iso_6g, ISO_6G),
    "iso 6h": (_iso_6h, ISO_6H),
    "iso 1501": (_iso_1501, ISO_1501),
    "2A": (_unified_2a, UNIFIED_2A),
    "ba": (_ba, BA_NORMAL),
    "a fifth of the pitch": (_a_fifth, A_FIFTH),
}


def limits_of(name: str, diameter_m: float, pitch_m: float) -> Limits:
    """
    The limits of a size.

    Parameters
    ----------
    name : str
        A key of `CLASSES`.
    diameter_m, pitch_m : float
        The size by name, [m].

    Raises
    ------
    ValueError
        If there is no such class.
    """
    if name not in CLASSES:
        raise ValueError(f"{name!r} is no class of limits. Expected one of: {', '.join(CLASSES)}.")
    if name == "iso 6g" and diameter_m < _LARGEST_6H_M:
        name = "iso 6h"
    rule, ground = CLASSES[name]
    low, high = rule(diameter_m * 1e3, pitch_m * 1e3)
    return Limits(low * 1e-3, high * 1e-3, ground)
