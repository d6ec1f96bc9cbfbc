"""
Whether full light is cut off: by the converter, or by a stage before it that was driven to its stop.

Light only adds noise (shot noise). A stage at its stop lets none of the sensor's through, and what comes in
behind it keeps its top from being flat to the last digit.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.shutter._draft import Draft
from pegwood.instruments.shutter._fitting import Edge
from pegwood.instruments.shutter._noise import Noise, usual_sigma
from pegwood.instruments.shutter._window import Window

__all__ = ["is_clipped", "quiet_together", "variances"]

_QUIET, _QUIET_N = 0.5, 96  # scatter in the light over that in darkness; fewer readings show it too poorly
_PIECES, _FEW, _DARK_N = 8, 16, 2048

Array = NDArray[np.float64]


def is_clipped(window: Window, edges: tuple[Edge, Edge], plateau: Array, noise: Noise) -> bool:
    """
    Whether a firing shows by itself that its full light is cut off.

    Parameters
    ----------
    window : Window
        Readings.
    edges : (Edge, Edge)
        Opening and closing.
    plateau : array, shape (n,)
        Light when fully open, beside the opening edge, scaled; n may be 0.
    noise : Noise
        Of the channel, on the scale of this window.

    Returns
    -------
    is_clipped : bool
        True where the top is flat, or scatters less than half as much as the darkness before.
    """
    return _is_flat(window, *edges, noise) or _is_quiet(window, edges[0], plateau)


def variances(window: Window, opening: Edge, plateau: Array) -> tuple[float, float, int]:
    """
    How much full light scatters, and the darkness before it.

    Parameters
    ----------
    window, opening, plateau
        As for `is_clipped`.

    Returns
    -------
    lit, dark : float
        Variances, scaled.
    n : int
        Readings of full light; 0 where there are too few, or too coarse a converter, to say anything.
    """
    dark = _darkness(window, opening)
    if len(plateau) < _FEW or len(dark) < _QUIET_N:
        return 0.0, 0.0, 0
    in_darkness = usual_sigma(dark)
    if in_darkness <= 2 * window.resolution:
        return 0.0, 0.0, 0
    return usual_sigma(plateau) ** 2, in_darkness**2, len(plateau)


def quiet_together(drafts: Sequence[Draft]) -> bool:
    """
    Whether full light scatters far less than darkness, over all firings: each may be too short to show it.

    Parameters
    ----------
    drafts : sequence of Draft
        Firings of one channel.

    Returns
    -------
    quiet_together : bool
        True where the standard deviation is less than half.
    """
    seen = [d.quiet for d in drafts if d.has_plateau]
    count = sum(n for _, _, n in seen)
    lit, dark = (sum(one[k] * one[2] for one in seen) for k in (0, 1))
    return count >= _QUIET_N and lit < _QUIET**2 * dark


def _is_flat(window: Window, opening: Edge, closing: Edge, noise: Noise) -> bool:
    """True where the plateau is cut off by the converter."""
    side = window.opening
    low = max(0, math.floor(opening.half - side.offset))
    y = side.y[low : max(low + 1, math.ceil(closing.half - side.offset))]
    if not len(y):
        return False
    top = float(y.max())
    at_top = int(np.count_nonzero(y >= top - 0.5 * window.resolution))
    if window.clipped_at is not None and top >= window.clipped_at:
        return at_top >= 3
    # without a known full scale: a top as flat as no noisy reading is
    flat = at_top > max(8, 0.5 * len(y))
    return flat and noise.sigma > 2 * window.resolution


def _is_quiet(window: Window, opening: Edge, plateau: Array) -> bool:
    dark = _darkness(window, opening)
    if min(len(plateau), len(dark)) < _QUIET_N:
        return False
    in_darkness = usual_sigma(dark)
    # behind a capacitor the level may sag off the stop again: piece by piece
    pieces = np.array_split(plateau, max(1, min(_PIECES, len(plateau) // (2 * _QUIET_N))))
    quietest = min(usual_sigma(piece) for piece in pieces)
    return in_darkness > 2 * window.resolution and quietest < _QUIET * in_darkness


def _darkness(window: Window, opening: Edge) -> Array:
    side = window.opening
    stop = max(0, math.floor(opening.dark) - side.offset)
    return side.y[max(0, stop - _DARK_N) : stop]
