"""The way back: from what was really done to a whole camera, with nothing left over."""

from __future__ import annotations

from pegwood.anatomy.rebuilding.leftovers import Forgotten, Leftover, forgotten_under, leftovers
from pegwood.anatomy.rebuilding.needs import Glueing, Lubricate
from pegwood.anatomy.rebuilding.shims import ShimHere, shim_at
from pegwood.anatomy.rebuilding.way_back import Adjustment, BackStep, StillCuring, WayBack, way_back

__all__ = [
    "Adjustment",
    "BackStep",
    "Forgotten",
    "Glueing",
    "Leftover",
    "Lubricate",
    "ShimHere",
    "StillCuring",
    "WayBack",
    "forgotten_under",
    "leftovers",
    "shim_at",
    "way_back",
]
