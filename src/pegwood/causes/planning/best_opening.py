"""
Which parts are worth laying open, for many cases at once.

Each part is worth something once it lies open and costs its own step; a part brings others along, each paid
once, so that what several share is shared. The best set is a greatest closure (Picard 1976; memory): it could
be had exactly as a least cut, a millisecond each. Here all cases are gone through together, by adding a part
with all it brings, or leaving one out with all that it is on the way to, as long as that gains; from what was
best before and from everything there is, whichever ends better. How far this stays behind the least cut is in
the tests.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
#: A gain below this is rounding, [min].
NOTHING = 1e-9


def best_opening(net_worth: Floats, brings: Bools, start: Bools | None = None) -> tuple[Floats, Bools]:
    """
    The sets that gain most.

    Parameters
    ----------
    net_worth : array, shape (n_cases, n_parts)
        What a part is worth once open, less the cost of its own step, [min].
    brings : array of bool, shape (n_parts, n_parts)
        `brings[i, j]`: j comes off when i is to.
    start : array of bool, shape (n_parts,), optional
        A set to begin with; nothing where it is not given.

    Returns
    -------
    gain : array, shape (n_cases,)
        [min]; 0 or more.
    opened : array of bool, shape (n_cases, n_parts)
    """
    down = brings.astype(np.float64)
    first = np.zeros(net_worth.shape[1]) if start is None else start.astype(np.float64)
    least = np.broadcast_to(first, net_worth.shape)
    # everything of any worth, with what it brings
    most = ((net_worth > 0).astype(np.float64) @ down > 0).astype(np.float64)
    low, high = _climbed(net_worth, down, least), _climbed(net_worth, down, most)
    gain_low, gain_high = (low * net_worth).sum(axis=1), (high * net_worth).sum(axis=1)
    opened = np.where((gain_high > gain_low + NOTHING)[:, np.newaxis], high, low) > 0
    gain = np.maximum(gain_low, gain_high)
    opened = np.where((gain > NOTHING)[:, np.newaxis], opened, False)
    return np.maximum(gain, 0.0), opened


def _climbed(net_worth: Floats, down: Floats, opened: Floats) -> Floats:
    """Sets that no single addition or omission makes better."""
    opened = opened.copy()
    ahead = np.arange(len(opened))
    while len(ahead):
        worth, now = net_worth[ahead], opened[ahead]
        added = (worth * (1 - now)) @ down.T
        left_out = -(worth * now) @ down
        best_added, best_left = added.argmax(axis=1), left_out.argmax(axis=1)
        rows = np.arange(len(ahead))
        gains, losses = added[rows, best_added], left_out[rows, best_left]
        adds, leaves = (gains >= losses) & (gains > NOTHING), (losses > gains) & (losses > NOTHING)
        now[adds] = np.maximum(now[adds], down[best_added[adds]])
        now[leaves] *= 1 - down[:, best_left[leaves]].T
        opened[ahead] = now
        ahead = ahead[adds | leaves]
    return opened
