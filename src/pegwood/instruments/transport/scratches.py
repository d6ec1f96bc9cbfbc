"""
Scratches along the travel: lines that stay at one place across the film through gaps and pictures alike.

Every millimetre of film votes: its rows against their neighbours across the film. A picture's own lines
vote in one place and not in the next; a scratch votes everywhere.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Scratch", "find_scratches"]

Array = NDArray[np.float64]

_BLOCK_MM = 1.0
_NEIGHBOURS_MM = 0.9
_LEAST_DENSITY = 0.004
_LEAST_SHARE = 0.72
_KEEP_OFF_MM = 0.5


@dataclass(frozen=True)
class Scratch:
    """
    A line along the film.

    Parameters
    ----------
    at : float
        From the film's middle, down, [mm].
    width : float
        Where it is half as strong, the picture's blur included, [mm].
    density : float
        What it adds to the density; negative where it is brighter, [-].
    share : float
        Share of the strip's length it was seen on, [-].
    """

    at: float
    width: float
    density: float
    share: float


def find_scratches(light: NDArray[np.float32], along: Array, across: Array, half_mm: float) -> list[Scratch]:
    """
    Lines along the travel within the pictures' height.

    Parameters
    ----------
    light : array, shape (m, n)
        Light, straightened; over that of bare film or not.
    along : array, shape (n,)
        [mm].
    across : array, shape (m,)
        From the film's middle, down, [mm].
    half_mm : float
        Half the pictures' height, [mm]: their own edges are kept off.

    Returns
    -------
    scratches : list of Scratch
        From the upper edge down.
    """
    from scipy.ndimage import median_filter

    step = float(along[1] - along[0])
    block = max(1, round(_BLOCK_MM / step))
    count = light.shape[1] // block
    if count < 12:
        return []
    blocks = light[:, : count * block].reshape(len(light), count, block).mean(axis=2)
    density = -np.log10(np.clip(blocks, 1e-3, None))
    down = float(across[1] - across[0])
    window = max(5, 2 * round(_NEIGHBOURS_MM / down / 2) + 1)
    line = density - median_filter(density, (window, 1), mode="nearest")
    usual = np.median(line, axis=1)
    spread = 1.48 * np.median(np.abs(line - usual[:, None]), axis=1)
    error = 1.25 * spread / np.sqrt(count) + 1e-5
    share = (np.sign(line) == np.sign(usual)[:, None]).mean(axis=1)
    inside = np.abs(across) < half_mm - _KEEP_OFF_MM
    told = inside & (np.abs(usual) > np.maximum(_LEAST_DENSITY, 5 * error)) & (share > _LEAST_SHARE)
    told &= np.abs(usual) > 4 * 1.48 * np.median(np.abs(usual[inside]))
    found = []
    places = np.flatnonzero(told)
    for part in np.split(places, np.flatnonzero(np.diff(places) > 1) + 1) if len(places) else []:
        top = int(part[np.abs(usual[part]).argmax()])
        weight = np.abs(usual[part])
        at = float((weight * across[part]).sum() / weight.sum())
        around = np.abs(across - at) < _NEIGHBOURS_MM
        width = down * float(
            (np.abs(usual) * (np.sign(usual) == np.sign(usual[top])))[around].sum() / np.abs(usual[top])
        )
        found.append(Scratch(at, width, float(usual[top]), float(share[top])))
    # a strong line leaves a faint one of the other sign beside it: blur and JPEG
    return [
        one
        for one in found
        if not any(abs(o.at - one.at) < 0.5 and abs(o.density) > abs(one.density) for o in found)
    ]
