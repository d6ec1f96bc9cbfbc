"""
Whether an input behind capacitors was driven to its stop.

Behind a capacitor steady light sags. What comes out of a stage at its stop stands still instead, whatever
noise comes in behind it; and what it cuts off is missing in every integral from then on.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.shutter._draft import Draft
from pegwood.instruments.shutter._restored import Restored
from pegwood.instruments.shutter._window import Window

__all__ = ["AT_ITS_STOP", "Top", "at_a_stop", "top_of"]

AT_ITS_STOP = (
    "the input was driven to its stop while the light was on, and behind capacitors what is cut off there is "
    "missing from all that follows: turn the gain or the lamp down"
)

_BEGINS = 0.05  # of an edge, behind where it is fully open
_AT_LEAST = 0.12  # of an edge: a shoulder that still rises may hold against the sag for less
_LONGEST_S = 0.1
_SHORTEST = 8  # samples
_GROWS = 1.3
_STILL, _SAGS = 2.5, 12.0  # standard uncertainties of a slope: none seen, and what there should be
_SAME = 4.0  # standard uncertainties: one stop is one level,
_BELOW = 0.03  # and nothing comes near it that sags as it should

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Top:
    """What came in just behind an opening edge: its mean, how uncertain it is, and whether it stood still."""

    level: float
    u: float
    stands: bool


def top_of(recording: Restored, channel: int, d: Draft, window: Window) -> Top | None:
    """
    Whether the readings as they came stand still behind an opening edge where steady light would sag.

    Parameters
    ----------
    recording : Restored
        With the light put back.
    channel : int
        Channel.
    d : Draft
        A firing.
    window : Window
        Its light, put back.

    Returns
    -------
    top : Top or None
        None where it is open for too short a time to tell.
    """
    opening, closing, side = d.opening, d.closing, window.opening
    first = math.ceil(opening.full + _BEGINS * opening.span)
    last = min(math.floor(closing.full - _BEGINS * closing.span), side.offset + len(side.y))
    n = min(last - first, round(_LONGEST_S * recording.sample_rate_hz))
    if n < _SHORTEST:
        return None
    coupling = recording.couplings[channel]
    came = recording.inner.read(first, first + n)[:, channel].astype(np.float64)
    came -= coupling.base if coupling is not None else 0.0
    # what the capacitors took: for light that stays, the readings fall by just that
    light = side.y[first - side.offset : first - side.offset + n] * d.pulse.height * d.pulse.sign
    taken = came - light
    noise = d.noise.scaled(d.pulse.height)
    m = float(max(_SHORTEST, math.ceil(_AT_LEAST * opening.span)))
    at_first = min(round(m), n)
    while m <= n:
        length = round(m)
        of_mean = math.sqrt(noise.of_sum(length)) / length
        of_slope = of_mean / math.sqrt((length**2 - 1) / 12)
        if abs(_slope(came[:length])) < _STILL * of_slope and abs(_slope(taken[:length])) > _SAGS * of_slope:
            return Top(float(np.mean(came[:length])), of_mean, stands=True)
        m *= _GROWS
    of_mean = math.sqrt(noise.of_sum(at_first)) / at_first
    return Top(float(np.mean(came[:at_first])), of_mean, stands=False)


def at_a_stop(tops: Sequence[Top | None]) -> list[bool]:
    """
    Which firings of a channel were driven to a stop, by what all of them show.

    Parameters
    ----------
    tops : sequence of Top or None
        One for each.

    Returns
    -------
    at_a_stop : list of bool
        For each. A stop is one level that nothing passes: where those that stand do so at different levels,
        are the fewer, or another firing goes as high, it was the light that held against the sag.
    """
    stopped = [top for top in tops if top is not None and top.stands]
    moving = [top for top in tops if top is not None and not top.stands]
    if not stopped or len(stopped) < len(moving):
        return [False] * len(tops)
    stop = float(np.median([top.level for top in stopped]))
    is_one = all(abs(top.level - stop) < _SAME * max(top.u, *(t.u for t in stopped)) for top in stopped)
    passed = any(abs(top.level) > (1 - _BELOW) * abs(stop) and top.level * stop > 0 for top in moving)
    return [is_one and not passed and top is not None and top.stands for top in tops]


def _slope(y: Array) -> float:
    """Of a straight line by least squares, per reading."""
    k = np.arange(len(y)) - (len(y) - 1) / 2
    return float(k @ y) / float(k @ k)
