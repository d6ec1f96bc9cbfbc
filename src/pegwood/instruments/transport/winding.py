"""
Film winding up on a spool.

Film of thickness h wound on a core of diameter d fills a ring: ``pi (D^2 - d^2) / 4 = h L`` for a length L,
and ``(D - d) / 2 h`` turns. (An Archimedean spiral, whose arc differs from this by less than a tenth of a
millimetre on a whole roll. Plane geometry.)
"""

from __future__ import annotations

import math

__all__ = ["wound_diameter", "wound_turns"]


def wound_diameter(core_m: float, thickness_m: float, length_m: float) -> float:
    """
    Diameter of a spool with so much film on it.

    Parameters
    ----------
    core_m, thickness_m, length_m : float
        [m]

    Returns
    -------
    diameter : float
        [m]
    """
    return math.sqrt(core_m**2 + 4 * thickness_m * length_m / math.pi)


def wound_turns(core_m: float, thickness_m: float, from_m: float, to_m: float) -> float:
    """
    Turns of the spool while film from one length to another is wound up.

    Parameters
    ----------
    core_m, thickness_m : float
        [m]
    from_m, to_m : float
        Lengths wound before and after, [m].

    Returns
    -------
    turns : float
    """
    before = wound_diameter(core_m, thickness_m, from_m)
    after = wound_diameter(core_m, thickness_m, to_m)
    # (after - before) / (2 h), written so that it holds for the thinnest film
    return 2 * (to_m - from_m) / (math.pi * (after + before))
