"""
Whether the sides of all pictures bulge beyond the gate at the same height.

The gate's side is one straight line in every picture. Light that creeps round it fogs a little of the gap
beside it too: there the side of each picture stands out, at the same height in each. A part of a picture
that was hardly exposed stands back in that picture alone.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.transport.frames import Found

__all__ = ["bulge_of"]

Array = NDArray[np.float64]

_OUT_MM = np.arange(-1.3, 0.95, 0.08)
"""Places across a side, from inside the picture out into the gap, [mm]."""
_BANDS, _FEWEST_BANDS, _FEWEST_FRAMES = 12, 7, 3
_LEAST_DENSITY = 0.12
_SQUARE = 0.0087
"""How far a gate's side leans at most, [1]: half a degree (practice)."""


def bulge_of(density: Array, along: Array, across: Array, found: Found, across_mm: float) -> float:
    """
    How far the sides of all pictures stand out at some height against the rest of it.

    Parameters
    ----------
    density : array, shape (m, n)
        [1]
    along, across : array, shape (n,), (m,)
        Where, evenly spaced, [mm].
    found : Found
        The frames.
    across_mm : float
        Height of the pictures, [mm].

    Returns
    -------
    bulge : float
        At the side where it is more, [mm]; 0 where fewer than three frames tell.
    """
    parts = np.array_split(np.flatnonzero(np.abs(across) < across_mm / 2 - 0.3), _BANDS)
    bands = np.stack([np.median(density[part], axis=0) for part in parts])
    height = np.array([across[part].mean() for part in parts])
    best = 0.0
    for outward in (-1, 1):
        ends = [frame.at + (found.gate if outward > 0 else 0.0) for frame in found.frames]
        sides = [_side(bands, along, end, outward) for end in ends]
        told = np.array([one for one in sides if one is not None]).reshape(-1, _BANDS)
        known = np.isfinite(told).sum(axis=0) >= _FEWEST_FRAMES
        if known.sum() >= _FEWEST_BANDS:
            best = max(best, _stands_out(told[:, known], height[known]))
    return best


def _stands_out(sides: Array, height: Array) -> float:
    """Where most frames stand out, against where hardly any does."""
    usual, furthest = (np.nanpercentile(sides, share, axis=0) for share in (50, 80))
    lean = float(np.clip(np.polyfit(height, usual, 1)[0], -_SQUARE, _SQUARE)) * height
    return float(np.percentile(usual - lean, 85) - np.percentile(furthest - lean, 15))


def _side(bands: Array, along: Array, end: float, outward: int) -> Array | None:
    """How far out each band of a picture reaches by its half height, [mm]; NaN where it has none."""
    places = end + outward * _OUT_MM
    if places.min() < along[0] or places.max() > along[-1]:
        return None
    at = np.clip((places - along[0]) / (along[1] - along[0]), 0, len(along) - 1.001)
    low = at.astype(int)
    profile = bands[:, low] * (1 - at + low) + bands[:, low + 1] * (at - low)
    if not np.isfinite(profile).all():
        return None
    profile = profile - np.median(profile[:, _OUT_MM > 0.7])
    level = np.median(profile[:, _OUT_MM < -0.95], axis=1)
    over = profile >= level[:, None] / 2
    last = _OUT_MM[::-1][np.argmax(over[:, ::-1], axis=1)]
    return np.where((level > _LEAST_DENSITY) & over.any(axis=1), last, np.nan)
