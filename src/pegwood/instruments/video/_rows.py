"""Rows of a frame are read one after another: how long that takes, from edges of light in the recording."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from pegwood.instruments.uncertainty import Component, Measured, combine
from pegwood.instruments.video._firings import Firing
from pegwood.instruments.video._trace import Trace

__all__ = ["row_sweep"]

_LEAST_FIRINGS = 3
_SURE = 0.15  # of a frame period, standard uncertainty: less is no estimate


def row_sweep(firings: Sequence[Firing], trace: Trace, height: int, period_s: float) -> Measured | None:
    """
    Time from the first to the last row of a frame.

    A row that is read later has seen more light after the shutter opens, and less after it closes: half the
    difference of both sums, strip by strip, is how much later it is read. What of an edge falls between two
    exposures averages out over firings.

    Parameters
    ----------
    firings : sequence of Firing
        Those that were timed.
    trace : Trace
        Where they come from.
    height : int
        Rows of the frame.
    period_s : float
        From frame to frame as captured, [s].

    Returns
    -------
    sweep : Measured or None
        Positive from the top of the stored picture to its foot, [s]; None where the firings don't show it.
        Curtains that run along the rows add their own travel.
    """
    usable = np.isfinite(trace.rows) & np.isfinite(trace.bands).all(axis=0)
    place = trace.rows[usable] / height
    if len(firings) < _LEAST_FIRINGS or len(place) < 3 or float(np.ptp(place)) <= 0:
        return None
    slopes = []
    for firing in firings:
        if firing.band_frames is None:
            continue
        later = 0.5 * (firing.band_frames[0] - firing.band_frames[1])[usable]
        if np.isfinite(later).all():
            slopes.append(float(np.polyfit(place, later, 1)[0]))
    if len(slopes) < _LEAST_FIRINGS:
        return None
    u = float(np.std(slopes, ddof=1)) / math.sqrt(len(slopes))
    if u > _SURE or abs(float(np.mean(slopes))) > 1.2:
        return None
    note = f"scatter of {len(slopes)} firings"
    part = Component("repeatability", u * period_s, len(slopes) - 1, "A", note)
    return combine(float(np.mean(slopes)) * period_s, [part])
