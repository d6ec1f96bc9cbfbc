"""What time stamps that stray from even steps leave open about an effective time."""

from __future__ import annotations

import math

import numpy as np

from pegwood.instruments.recordings import Recording
from pegwood.instruments.shutter._draft import Draft

__all__ = ["NOTE", "by_stamps"]

NOTE = (
    "stamps lie off even steps: when it was read, or when the clock was looked at? They do not tell: "
    "half way between both, give or take the other half"
)
_BESIDE = 3  # samples on either side of an edge


def by_stamps(
    d: Draft, levels: tuple[float, float], recording: Recording, channel: int
) -> tuple[float, float]:
    """
    What stamps leave open: a reading was made at its stamp, or at the even step it belongs to, or between.

    Readings are put where their stamps say. Were they made at even steps, each is off by the light's slope
    there times what its stamp strays by. Half of that is taken off; half of it may be wrong, reading by
    reading: of the two ends of an interval the middle is half of it away (standard deviation; practice).

    Parameters
    ----------
    d : Draft
        The firing.
    levels : (float, float)
        Full-open level beside the opening and the closing edge, scaled as in the draft.
    recording : Recording
        Where it comes from.
    channel : int
        Channel.

    Returns
    -------
    more, u : float
        To be added to the effective time, and the standard uncertainty of that, [sample].
    """
    more = variance = 0.0
    for edge, level in zip((d.opening, d.closing), levels, strict=True):
        start = max(0, math.floor(min(edge.dark, edge.full)) - _BESIDE)
        stop = min(recording.n_samples, math.ceil(max(edge.dark, edge.full)) + _BESIDE + 1)
        strays = recording.stray(start, stop)
        if strays is None or stop - start < 2:
            continue
        light = np.asarray(recording.read(start, stop)[:, channel], np.float64) / (level * d.pulse.height)
        off = np.gradient(light) * strays
        more += 0.5 * float(off.sum())
        # between stamps it was drawn straight, so that neighbours share what a stamp strays by
        variance += 0.25 * max(float(off @ off), float(off @ off + 2 * off[1:] @ off[:-1]))
    return more, math.sqrt(variance)
