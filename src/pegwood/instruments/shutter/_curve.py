"""The light curve of a firing, thinned for drawing: dense at the edges, sparse where nothing happens."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.shutter._firing import Draft
from pegwood.instruments.shutter._window import Side
from pegwood.instruments.shutter.results import Curve

__all__ = ["draw"]

_POINTS_EDGE = 150
_POINTS_FLAT = 60

Array = NDArray[np.float64]


def draw(d: Draft, levels: tuple[float, float], dt: float) -> Curve:
    """
    Light curve with its marks.

    Parameters
    ----------
    d : Draft
        The firing.
    levels : (float, float)
        Full-open level at opening and closing, scaled.
    dt : float
        Step of time, [s].

    Returns
    -------
    curve : Curve
        At most 400 points.
    """
    opening, closing = d.opening, d.closing
    zero = opening.dark
    last_light = max(closing.dark, d.bounce_end or closing.dark)
    reach_1, reach_2 = opening.span + 4, max(closing.span, last_light - closing.dark) + 4
    middle = 0.5 * (opening.half + closing.half)
    pieces = [
        _thin(
            d.window.opening,
            d.outline.dark_before,
            opening.dark - 0.5 * reach_1,
            min(opening.full + 0.5 * reach_1, middle),
            levels[0],
            _POINTS_EDGE,
        ),
        _thin(
            d.window.opening,
            d.outline.dark_before,
            min(opening.full + 0.5 * reach_1, middle),
            middle if d.window.is_whole else np.inf,
            levels[0],
            _POINTS_FLAT // 2,
        ),
        _thin(
            d.window.closing,
            d.outline.dark_after,
            middle if d.window.is_whole else -np.inf,
            max(closing.full - 0.5 * reach_2, middle),
            levels[1],
            _POINTS_FLAT // 2,
        ),
        _thin(
            d.window.closing,
            d.outline.dark_after,
            max(closing.full - 0.5 * reach_2, middle),
            last_light + 0.5 * reach_2,
            levels[1],
            _POINTS_EDGE,
        ),
    ]
    t = np.concatenate([p[0] for p in pieces])
    level = np.concatenate([p[1] for p in pieces])
    marks = {
        "first_light": 0.0,
        "half_open": (opening.half - zero) * dt,
        "fully_open": (opening.full - zero) * dt if d.has_plateau else None,
        "begins_to_close": (closing.full - zero) * dt if d.has_plateau else None,
        "half_closed": (closing.half - zero) * dt,
        "last_light": (last_light - zero) * dt,
    }
    return Curve(tuple(((t - zero) * dt).tolist()), tuple(level.tolist()), marks)


def _thin(
    side: Side, dark: float, start: float, stop: float, level: float, points: int
) -> tuple[Array, Array]:
    """At most so many means of the readings from start to stop."""
    low = int(np.clip(np.ceil(start - side.offset) if np.isfinite(start) else 0, 0, len(side.y)))
    high = int(np.clip(np.ceil(stop - side.offset) if np.isfinite(stop) else len(side.y), low, len(side.y)))
    m = high - low
    if m == 0:
        return np.zeros(0), np.zeros(0)
    step = -(-m // points)
    n = m // step
    y: Array = (side.y[low : low + n * step].reshape(n, step).mean(axis=1) - dark) / level
    t: Array = side.offset + low + step * np.arange(n, dtype=np.float64) + 0.5 * (step - 1)
    return t, y
