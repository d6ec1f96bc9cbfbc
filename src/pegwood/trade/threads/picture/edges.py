"""The two edges of a screw's outline as curves along its axis, and which part of them is thread."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.trade.threads.picture.outline import Outline, UnclearPicture

Array = NDArray[np.float64]

#: Places along the axis at which an edge is known, [pixel].
STEP = 0.5
#: Fewer crests than this on an edge are too few to tell the pitch from.
FEWEST_CRESTS = 6
#: How far a turn's spacing may lie from its neighbours', as a share.
_UNEVEN = 0.2


@dataclass(frozen=True, kw_only=True)
class Edge:
    """
    One edge of the thread, outwards positive.

    Attributes
    ----------
    place : array, shape (n_places,)
        Along the axis, evenly spaced, [pixel].
    out : array, shape (n_places,)
        How far it stands out from the axis, [pixel].
    crests : array, shape (n_crests,)
        Where its crests are, [pixel].
    """

    place: Array
    out: Array
    crests: Array


def edges_of(outline: Outline) -> tuple[Edge, Edge]:
    """
    Both edges over their threaded part.

    Raises
    ------
    UnclearPicture
        If an edge has no even run of crests, or too short a one.
    """
    halves = [_half(outline, sign) for sign in (1.0, -1.0)]
    return _thread(*halves[0]), _thread(*halves[1])


def _half(outline: Outline, sign: float) -> tuple[Array, Array]:
    """One side of the outline as a curve; where it folds back, at head and tip, the outermost counts."""
    side = outline.across * sign > 0
    along, out = outline.along[side], outline.across[side] * sign
    first, last = along.min(initial=np.inf), along.max(initial=-np.inf)
    if last - first < 30 or len(along) < 30:
        raise UnclearPicture("The screw is too small in the picture. Come nearer, or use a longer lens.")
    bins = np.rint((along - first) / STEP).astype(int)
    outermost = np.full(bins.max() + 1, -np.inf)
    np.maximum.at(outermost, bins, out)
    known = np.isfinite(outermost)
    place = first + STEP * np.arange(len(outermost))
    # contour points lie about a pixel apart; between them the edge is straight
    order = np.argsort(along)
    curve = np.interp(place, along[order], out[order])
    folded = known & (outermost > curve + 2)
    return place, np.where(folded, outermost, curve)


def _thread(place: Array, out: Array) -> Edge:
    """The longest even run of crests on an edge."""
    from scipy.signal import find_peaks

    width = float(np.median(out))
    crests, kept = find_peaks(out, prominence=max(1.5, 0.03 * width), distance=max(2, round(3 / STEP)))
    run = _longest_run(place[crests], kept["prominences"])
    if run is None:
        raise UnclearPicture(
            f"Fewer than {FEWEST_CRESTS} even turns are to be seen. Show more of the thread, nearer and "
            "sharper; a worn, dirty or shining thread shows best against a lamp, as a shadow."
        )
    chosen = place[crests][run]
    if len(chosen) > FEWEST_CRESTS:  # the outermost turns are often cut into by head and tip
        chosen = chosen[1:] if len(chosen) == FEWEST_CRESTS + 1 else chosen[1:-1]
    inside = (place >= chosen[0]) & (place <= chosen[-1])
    return Edge(place=place[inside], out=out[inside], crests=chosen)


def _longest_run(places: Array, heights: Array) -> slice | None:
    """Neighbouring crests that are alike in height and spacing; None where there are too few."""
    best, start = slice(0, 0), 0
    for end in range(2, len(places) + 1):
        while end - start > 2 and not _even(places[start:end], heights[start:end]):
            start += 1
        if end - start > best.stop - best.start and _even(places[start:end], heights[start:end]):
            best = slice(start, end)
    return best if best.stop - best.start >= FEWEST_CRESTS else None


def _even(places: Array, heights: Array) -> bool:
    spacing = np.diff(places)
    middle, height = np.median(spacing), np.median(heights)
    return bool((abs(spacing / middle - 1) < _UNEVEN).all() and (heights > 0.5 * height).all())
