"""Boxes of one size on rows, and lanes between them for lines that pass a row."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np

    FloatArray = np.ndarray[tuple[int, ...], np.dtype[np.float64]]
Point = tuple[float, float]
#: How often the rows are gone through, down and up again.
SWEEPS = 4
#: How much more than a box a lane keeps its place below the last: a long line should be straight.
LANE_STIFFNESS = 6.0


@dataclass(frozen=True)
class Sizes:
    """What is drawn how large, [px at 1:1]; a lane is the room for a line beside a box."""

    box: float = 184
    height: float = 88
    gap: float = 10
    lane: float = 14
    between: float = 40


@dataclass(frozen=True)
class LaidOut:
    """
    Where everything stands, [px].

    Attributes
    ----------
    boxes : tuple of (float, float)
        Left upper corner of each node's box.
    lines : tuple of tuple of (float, float)
        Of each edge the points gone through, from the lower edge of the one to the upper edge of the other;
        two for each row passed.
    width, height : float
        Of the whole.
    """

    boxes: tuple[Point, ...]
    lines: tuple[tuple[Point, ...], ...]
    width: float
    height: float


def lay_out(rows: Sequence[int], edges: Sequence[tuple[int, int]], sizes: Sizes) -> LaidOut:
    """
    Lay out a graph whose rows are settled.

    Parameters
    ----------
    rows : sequence of int, shape (n_nodes,)
        The row of each node, from 0.
    edges : sequence of (int, int)
        From a node to one in a lower row.

    Notes
    -----
    The order in each row, and the lanes among its boxes, are igraph's (Sugiyama, Tagawa and Toda 1981), which
    makes crossings few. igraph knows points only, and its columns would be drawn apart as far as the widest
    box: so how far across each stands is fitted here, near to what it hangs together with.
    """
    if not rows:
        return LaidOut((), (), 0.0, 0.0)
    import igraph  # some 70 ms, and most pages draw no picture

    graph = igraph.Graph(len(rows), list(edges), directed=True)
    layout, extended = graph.layout_sugiyama(layers=list(rows), return_extended_graph=True)
    at = [(float(x), round(y)) for x, y in layout]
    centre, width = _across(at, extended.get_edgelist(), len(rows), sizes)
    pitch = sizes.height + sizes.between
    top = [row * pitch for _, row in at]
    boxes = tuple((centre[n] - sizes.box / 2, top[n]) for n in range(len(rows)))
    via: list[dict[int, int]] = [{} for _ in edges]
    for link in extended.es:
        via[link["_original_eid"]][link.source] = link.target
    lines = []
    for (start, end), steps in zip(edges, via, strict=True):
        line = [(centre[start], top[start] + sizes.height)]
        passed = steps[start]
        while passed != end:
            line += [(centre[passed], top[passed]), (centre[passed], top[passed] + sizes.height)]
            passed = steps[passed]
        lines.append((*line, (centre[end], top[end])))
    return LaidOut(boxes, tuple(lines), width, max(top) + sizes.height)


def _across(
    at: Sequence[tuple[float, int]], links: Iterable[tuple[int, int]], boxes: int, sizes: Sizes
) -> tuple[list[float], float]:
    """The middle of each box and lane across, and how wide the whole is; the first `boxes` are boxes."""
    import numpy as np
    from scipy.optimize import isotonic_regression

    wide = np.where(np.arange(len(at)) < boxes, sizes.box, sizes.lane)
    stiff = np.where(np.arange(len(at)) < boxes, 1.0, LANE_STIFFNESS)
    beside: list[list[int]] = [[] for _ in at]
    for one, other in links:
        beside[one].append(other)
        beside[other].append(one)
    in_row: dict[int, list[int]] = {}
    for n in sorted(range(len(at)), key=lambda n: (at[n][0], n)):
        in_row.setdefault(at[n][1], []).append(n)
    middle = np.zeros(len(at))
    packed: dict[int, FloatArray] = {}
    for row, members in in_row.items():
        width = wide[members] + sizes.gap
        packed[row] = np.cumsum(width) - width / 2
        middle[members] = packed[row] - width.sum() / 2
    down = sorted(in_row)
    for row in SWEEPS * (down + down[::-1]):
        members = in_row[row]
        wanted = [np.mean(middle[beside[n]]) if beside[n] else middle[n] for n in members]
        # In the order of the row and so far apart, nearest to where each would stand: what is left when the
        # least distances are taken off only has to rise.
        fitted = isotonic_regression(np.array(wanted) - packed[row], weights=stiff[members])
        middle[members] = fitted.x + packed[row]
    first, last = (middle - wide / 2).min(), (middle + wide / 2).max()
    return [float(one) for one in (middle - first).round(1)], float(last - first)
