"""The light curve of a firing, thinned for drawing: dense at the edges, sparse where nothing happens."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.shutter._draft import Draft, Points
from pegwood.instruments.shutter._fitting import Edge
from pegwood.instruments.shutter._window import Side
from pegwood.instruments.shutter.results import Curve

__all__ = ["draw", "thin"]

_POINTS_EDGE = 150
_POINTS_FLAT = 30

Array = NDArray[np.float64]


def thin(one: Side, two: Side, edges: tuple[Edge, Edge], bounce_end: float | None, is_whole: bool) -> Points:
    """
    Thin a light curve to at most 360 points.

    Parameters
    ----------
    one, two : Side
        Light above the dark level around the opening and the closing edge.
    edges : (Edge, Edge)
        Opening and closing.
    bounce_end : float or None
        End of a bounce, [sample].
    is_whole : bool
        True where both sides are the same readings.

    Returns
    -------
    points : Points
        The thinned curve.
    """
    opening, closing = edges
    last_light = max(closing.dark, bounce_end or closing.dark)
    reach = (opening.span + 4, max(closing.span, last_light - closing.dark) + 4)
    middle = 0.5 * (opening.half + closing.half)
    flat_from = min(opening.full + 0.5 * reach[0], middle)
    flat_to = max(closing.full - 0.5 * reach[1], middle)
    pieces = [
        _means(one, opening.dark - 0.5 * reach[0], flat_from, _POINTS_EDGE),
        _means(one, flat_from, middle if is_whole else one.offset + len(one.y), _POINTS_FLAT),
        _means(two, middle if is_whole else two.offset, flat_to, _POINTS_FLAT),
        _means(two, flat_to, last_light + 0.5 * reach[1], _POINTS_EDGE),
    ]
    t = np.concatenate([piece[0] for piece in pieces])
    y = np.concatenate([piece[1] for piece in pieces])
    return Points(t, y, len(pieces[0][0]) + len(pieces[1][0]))


def _means(side: Side, start: float, stop: float, points: int) -> tuple[Array, Array]:
    """At most so many means of neighbouring readings from start to stop."""
    low = min(max(int(np.ceil(start)) - side.offset, 0), len(side.y))
    high = min(max(int(np.ceil(stop)) - side.offset, low), len(side.y))
    if high == low:
        return np.zeros(0), np.zeros(0)
    step = -(-(high - low) // points)
    n = (high - low) // step
    y: Array = side.y[low : low + n * step].reshape(n, step).mean(axis=1)
    t: Array = side.offset + low + step * np.arange(n, dtype=np.float64) + 0.5 * (step - 1)
    return t, y


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
        At most 360 points.
    """
    opening, closing, points = d.opening, d.closing, d.points
    zero = opening.dark
    last_light = max(closing.dark, d.bounce_end or closing.dark)
    level = np.concatenate(
        (points.y[: points.n_opening] / levels[0], points.y[points.n_opening :] / levels[1])
    )
    marks = {
        "first_light": 0.0,
        "half_open": (opening.half - zero) * dt,
        "fully_open": (opening.full - zero) * dt if d.has_plateau else None,
        "begins_to_close": (closing.full - zero) * dt if d.has_plateau else None,
        "half_closed": (closing.half - zero) * dt,
        "last_light": (last_light - zero) * dt,
    }
    return Curve(tuple(((points.t - zero) * dt).tolist()), tuple(level.tolist()), marks)
