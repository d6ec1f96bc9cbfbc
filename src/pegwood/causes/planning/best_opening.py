"""
Which parts are worth laying open.

Each part is worth something once it lies open and costs its own step; a part brings others along, each paid
once, so that what several share is shared. The best set is a greatest closure, had exactly as a least cut
(Picard 1976; memory) in milliseconds. What every answer to every look would change it to are hundreds of
cases near the one there is: these are gone through together, by adding a part with all it brings, or leaving
one out with all that it is on the way to, as long as that gains; once from the set there is, and once from
that with all whose worth has risen. How far this stays behind the least cut is in the tests.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.sparse.csgraph import breadth_first_order, maximum_flow

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
#: A gain below this is rounding, [min].
NOTHING = 1e-9
#: A cut is found in whole numbers: of so many to the minute.
FINENESS = 1000
#: More than all parts together are worth, as one of these.
ALL_OF_IT = 1 << 30


def best_opening(net_worth: Floats, brings: Bools) -> tuple[float, Bools]:
    """
    The set that gains most.

    Parameters
    ----------
    net_worth : array, shape (n_parts,)
        What a part is worth once open, less the cost of its own step, [min].
    brings : array of bool, shape (n_parts, n_parts)
        `brings[i, j]`: j comes off when i is to.

    Returns
    -------
    gain : float
        [min]; 0 or more.
    opened : array of bool, shape (n_parts,)
    """
    size = len(net_worth)
    opened = np.zeros(size, dtype=bool)
    # what is no worth itself, and on the way to nothing that is, cannot be in it
    asked = np.flatnonzero(brings[net_worth > 0].any(axis=0))
    if not len(asked):
        return 0.0, opened
    worth = np.rint(net_worth[asked] * FINENESS).astype(np.int64)
    count = len(asked)
    source, sink = count, count + 1
    of, to = np.nonzero(brings[np.ix_(asked, asked)] & ~np.eye(count, dtype=bool))
    gains, costs = np.flatnonzero(worth > 0), np.flatnonzero(worth < 0)
    rows = np.concatenate([np.full(len(gains), source), costs, of])
    columns = np.concatenate([gains, np.full(len(costs), sink), to])
    room = np.concatenate([worth[gains], -worth[costs], np.full(len(of), ALL_OF_IT)])
    graph = csr_array((room.astype(np.int32), (rows, columns)), shape=(count + 2, count + 2))
    left = graph - maximum_flow(graph, source, sink).flow
    left.data = np.maximum(left.data, 0)
    left.eliminate_zeros()
    reached = breadth_first_order(left, source, return_predecessors=False)
    opened[[asked[n] for n in reached if n < count]] = True
    gain = float(net_worth[opened].sum())
    return (gain, opened) if gain > NOTHING else (0.0, np.zeros(size, dtype=bool))


def best_openings(net_worth: Floats, brings: Bools, start: Bools, raised: Bools) -> Floats:
    """
    What the best sets gain in many cases near one.

    Parameters
    ----------
    net_worth : array, shape (n_cases, n_parts)
        As above.
    brings : array of bool, shape (n_parts, n_parts)
    start : array of bool, shape (n_parts,)
        The best set of the case they are near.
    raised : array of bool, shape (n_cases, n_parts)
        Parts that are worth more than there.

    Returns
    -------
    gain : array, shape (n_cases,)
        [min]; 0 or more.
    """
    gains = np.zeros(len(net_worth))
    pays = net_worth > 0
    # what pays in no case, and is on the way to nothing that does, cannot be in any of the sets
    asked = np.flatnonzero(start | brings[pays.any(axis=0)].any(axis=0))
    rows = np.flatnonzero(pays.any(axis=1))
    if not len(rows):
        return gains
    down = brings[np.ix_(asked, asked)].astype(np.float64)
    worth = net_worth[np.ix_(rows, asked)]
    least = np.tile(start[asked].astype(np.float64), (len(rows), 1))
    raises = raised[np.ix_(rows, asked)].astype(np.float64)
    most = np.maximum(least, (raises @ down > 0).astype(np.float64))
    found = [(_climbed(worth, down, one) * worth).sum(axis=1) for one in (least, most)]
    gains[rows] = np.maximum(np.maximum(*found), 0.0)
    return gains


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
