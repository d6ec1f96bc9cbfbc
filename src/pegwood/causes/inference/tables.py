"""
Tables over the states of signs, many side by side, and what a fault does to them.

A table has a leading axis of rows (cases that differ in a few numbers) and one flat axis over the states of
the open signs, the first sign slowest. There are only products and sums of what is not negative, so nothing
cancels.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
#: So many entries that lie together are moved by a product of matrices; more by slices.
TOGETHER = 16


@cache
def _eye(size: int) -> Floats:
    return np.eye(size)


def showing(shows: Sequence[float]) -> Floats:
    """
    Where a cause that is present moves each state: to the higher of it and what the cause shows.

    Returns
    -------
    moves : array, shape (states, states)
        From the state of the row to that of the column; nothing below the diagonal. Rows come to less than
        one where levels above those of the states are left out.
    """
    states = range(len(shows))
    return np.array([[sum(shows[: b + 1]) if a == b else shows[b] * (b > a) for b in states] for a in states])


def moved(table: Floats, after: int, moves: Floats) -> Floats:
    """
    The table with the states of one sign moved.

    Parameters
    ----------
    table : array, shape (rows, entries)
    after : int
        How many entries each state of the sign holds: the states of all signs behind it.
    moves : array, shape (states, states)
        From row to column; nothing below the diagonal, or, for the way back, nothing above it.
    """
    states = len(moves)
    if states * after <= TOGETHER:
        together = moves[:, np.newaxis, :, np.newaxis] * _eye(after)[:, np.newaxis, :]
        wide = table.reshape(-1, states * after)
        return (wide @ together.reshape(states * after, -1)).reshape(table.shape)
    parts = table.reshape(-1, states, after)
    to = np.empty_like(parts)
    for b in range(states):
        np.multiply(parts[:, b], moves[b, b], out=to[:, b])
        for a in range(states):
            if a != b and moves[a, b]:
                to[:, b] += parts[:, a] * moves[a, b]
    return to.reshape(table.shape)


def closed(table: Floats, after: int, weights: Floats) -> Floats:
    """
    The table summed over the states of one sign.

    Parameters
    ----------
    table : array, shape (rows, entries)
    after : int
    weights : array, shape (rows, states)
        What each state counts.
    """
    rows, states = weights.shape
    parts = table.reshape(rows, -1, states, after)
    if states * after <= TOGETHER:
        together = weights[:, :, np.newaxis, np.newaxis] * _eye(after)
        total: Floats = np.matmul(
            parts.reshape(rows, -1, states * after), together.reshape(rows, states * after, after)
        )
        return total.reshape(rows, -1)
    total = parts[:, :, 0] * weights[:, 0, np.newaxis, np.newaxis]
    for state in range(1, states):
        total += parts[:, :, state] * weights[:, state, np.newaxis, np.newaxis]
    return total.reshape(rows, -1)


def reopened(table: Floats, after: int, weights: Floats) -> Floats:
    """The transpose of `closed`: the table with the sign in it once more."""
    rows, states = weights.shape
    if states * after <= TOGETHER:
        together = _eye(after)[:, np.newaxis, :] * weights[:, np.newaxis, :, np.newaxis]
        together = together.reshape(rows, after, states * after)
        wider: Floats = np.matmul(table.reshape(rows, -1, after), together)
        return wider.reshape(rows, -1)
    parts = table.reshape(rows, -1, 1, after) * weights[:, np.newaxis, :, np.newaxis]
    return parts.reshape(rows, -1)


def side_by_side(each: Sequence[Floats], rows: int) -> Floats:
    """The states of several signs in one axis, the first slowest: (rows, product)."""
    together: Floats = np.ones((rows, 1))
    for one in each:
        together = (together[:, :, np.newaxis] * one[:, np.newaxis, :]).reshape(rows, -1)
    return together
