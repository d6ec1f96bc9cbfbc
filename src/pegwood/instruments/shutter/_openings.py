"""Where behind capacitors light is constant: the darkness beside each firing, and the steps of its edges."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.recordings import Recording
from pegwood.instruments.shutter._noise import usual_sigma
from pegwood.instruments.shutter._scan import Envelope
from pegwood.instruments.shutter._steady import Known

__all__ = ["BOUNCE_S", "FEWEST_BINS", "LEAST_DARK_S", "LEAST_STEP_S", "base_of", "openings_in", "steps_of"]

BOUNCE_S = 0.05  # for so long blades may reopen
FEWEST_BINS = 8
LEAST_DARK_S, LEAST_STEP_S = 0.02, 0.04
_OPENS, _ARMED = 0.3, 0.15  # of the highest swing: an opening begins; another may begin
_FALLS = 0.05  # of the highest swing: blades that close again
_GUARD_BEFORE_S, _GUARD_AFTER_S = 1.5e-3, 4e-3  # between an edge and what is taken for darkness
_GENTLE_S = 0.03  # the longest foot of an edge:
_FOOT_BINS, _FOOT, _CLEAR = 2, 0.002, 3.0  # it falls by more than this share of the swing in so many bins
_DARK_S = 0.5  # of darkness on either side, at the most
_BEGINS_BINS = 60
_EDGE_S = 0.02  # after which an edge is taken to be over
_STEP_S = 0.5  # of steady light beside an edge, at the most


def base_of(envelope: Envelope) -> float:
    """
    What the dark input settles at: as the record begins, for later it may be open more than closed.

    Parameters
    ----------
    envelope : Envelope
        From the first pass.

    Returns
    -------
    base : float
        In the unit of the readings.
    """
    first = envelope.mean[:_BEGINS_BINS]
    whole = float(envelope.high.max() - envelope.low.min())
    return float(np.median(first if float(np.ptp(first)) < 0.1 * whole else envelope.mean))


def openings_in(envelope: Envelope, recording: Recording, dark_s: float = _DARK_S) -> list[Known]:
    """
    Where the light leaves darkness with a swing, and where it came back to it.

    Parameters
    ----------
    envelope : Envelope
        From the first pass.
    recording : Recording
        What it was made of.
    dark_s : float
        Darkness on either side, at the most, [s].

    Returns
    -------
    dark : list of Known
        The darkness before and after each firing, in order of time.
    """
    base, bin_samples = base_of(envelope), envelope.bin_samples
    up, down = envelope.high - base, base - envelope.low
    highest = float(max(up.max(), down.max()))
    starts = np.flatnonzero(np.maximum(up, down) > 0.5 * highest)
    if highest <= 0 or not len(starts):
        return []
    is_up = bool(up[starts[0]] >= down[starts[0]])
    swing, back = (up, down) if is_up else (down, up)
    light = envelope.mean if is_up else -envelope.mean
    bounce = round(BOUNCE_S * recording.sample_rate_hz / bin_samples)
    opens = _openings(swing, float(swing.max()), bounce)
    reach = round(_GENTLE_S * recording.sample_rate_hz / bin_samples)
    edges: list[tuple[int, int]] = []
    for first, beyond in pairwise([*opens, len(swing)]):  # none, where it is up all the time
        least = _ARMED * float(swing.max())
        after = back[first:beyond]
        if float(after.max()) > least:
            closed = first + int(after.argmax())
        else:
            closed = first + _down_again(swing[first:beyond], least, bounce)
        closed = _bounced(light[:beyond], closed, bounce, _FALLS * float(swing.max()))
        begun = max(edges[-1][1], first - reach) if edges else max(0, first - reach)
        foot = _foot(light[begun:first][::-1], float(swing.max()))
        fades = _foot(light[closed + 1 : min(beyond, closed + 1 + reach)], float(swing.max()))
        edges.append((first - foot, closed + 1 + fades))
    edges = [(opens * bin_samples, closed * bin_samples) for opens, closed in edges]
    return _with_darkness(edges, recording, dark_s)


def steps_of(dark: Known, rate: float, most_s: float = _STEP_S) -> list[Known]:
    """
    Both edges of a firing as steps between darkness and steady light; none where it is too short.

    Parameters
    ----------
    dark : Known
        The darkness beside it.
    rate : float
        Samples per second, [Hz].
    most_s : float
        Steady light beside each, at the most, [s].

    Returns
    -------
    steps : list of Known
        Opening and closing.
    """
    opened, closes = dark.left + round(_EDGE_S * rate), dark.right - round(_EDGE_S * rate)
    lit = min((closes - opened) // 2, round(most_s * rate))
    if lit < LEAST_STEP_S * rate:
        return []
    return [
        Known(dark.start, dark.left, opened, opened + lit, lit=1),
        Known(closes - lit, closes, dark.right, dark.stop, lit=0),
    ]


def _down_again(swing: NDArray[np.floating], least: float, bounce: int) -> int:
    """Last bin above `least` before it stays down for as long as blades bounce."""
    above = np.flatnonzero(swing > least)
    gaps = np.flatnonzero(np.diff(above) > bounce)
    return int(above[gaps[0]] if len(gaps) else above[-1])


def _foot(light: NDArray[np.floating], highest: float) -> int:
    """For how many bins the light still falls away from an edge: a gentle one begins before it is seen."""
    n = len(light) // _FOOT_BINS
    if n < 2:
        return 0
    means = light[: n * _FOOT_BINS].reshape(n, _FOOT_BINS).mean(axis=1)
    noisy = _CLEAR * usual_sigma(light.astype(np.float64)) / math.sqrt(_FOOT_BINS)
    still = np.flatnonzero(means[:-1] - means[1:] < max(_FOOT * highest, noisy))
    return int(still[0] if len(still) else n - 1) * _FOOT_BINS


def _bounced(light: NDArray[np.floating], closed: int, bounce: int, falls: float) -> int:
    """Last bin in which light falls as when blades that reopened close: a capacitor lets it only rise."""
    after = light[closed + 1 : closed + 1 + bounce]
    if len(after) < FEWEST_BINS:
        return closed
    noisy = 6 * math.sqrt(2) * usual_sigma(after.astype(np.float64))
    falling = np.flatnonzero(after[2:] - after[:-2] < -max(falls, noisy))
    return closed + 1 + int(falling[-1]) + 2 if len(falling) else closed


def _openings(swing: NDArray[np.floating], highest: float, bounce: int) -> list[int]:
    """Bins in which it swings up, after it was down for longer than blades bounce."""
    clear = np.flatnonzero((swing > _OPENS * highest) | (swing < _ARMED * highest))
    up = swing[clear] > _OPENS * highest
    up[1:] &= ~up[:-1]
    opens: list[int] = []
    lit = swing > _ARMED * highest
    for at in clear[up].tolist():
        began = opens[-1] if opens else at
        dark = began + np.flatnonzero(~lit[began:at])
        closed = np.flatnonzero(lit[began : dark[-1]]) if len(dark) else dark
        if opens and (not len(closed) or at - (began + closed[-1]) <= bounce):
            continue
        opens.append(at)
    return opens


def _with_darkness(edges: list[tuple[int, int]], recording: Recording, dark_s: float) -> list[Known]:
    rate, n = recording.sample_rate_hz, recording.n_samples
    before, after, dark = (round(s * rate) for s in (_GUARD_BEFORE_S, _GUARD_AFTER_S, dark_s))
    least = round(LEAST_DARK_S * rate)
    found = []
    for i, (opens, closed) in enumerate(edges):
        start = (edges[i - 1][1] + opens) // 2 if i else 0
        stop = (closed + edges[i + 1][0]) // 2 if i + 1 < len(edges) else n
        one = Known(
            max(start, opens - before - dark),
            opens - before,
            closed + after,
            min(stop, closed + after + dark),
        )
        if one.left - one.start >= least and one.stop - one.right >= least:
            found.append(one)
    return found
