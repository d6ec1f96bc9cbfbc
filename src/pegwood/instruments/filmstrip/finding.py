"""
Perforations in a picture, coarsely: small, equal blotches in two parallel, evenly spaced rows.

A blotch is what a morphological opening (bright holes) or closing (dark ones) takes away: with a bar that
is longer than a hole and lies along the film, and thin enough for the band of film the holes lie in, so
that the band stays. Nothing is asked of the light itself, so a table lit unevenly does not matter (grey-
scale top-hat: Serra, Image Analysis and Mathematical Morphology; memory).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["Row", "find_rows", "shrunk"]

Array = NDArray[np.float64]

WORK_SIDE = 1300
_BARS = (28, 60, 120, 16)
"""Lengths of the bar in the small picture, [pixel]: 2.3 to 7 mm of film; each serves scales within 3 : 1."""
_STEPS = (0.04, 0.10, 0.25, 0.16, 0.065, 0.36)
_ROWS_OVER_PITCH = 28.17 / 4.7498
_FEWEST_IN_ROW = 6
_MOST_BLOTCHES = 4000
"""More than that is noise or grain, no film."""
_ENOUGH = 24
"""Holes in both rows with which the rest is found by measuring where they ought to be."""


@dataclass(frozen=True)
class Row:
    """
    One row of perforations.

    Parameters
    ----------
    number : array of int, shape (n,)
        Which hole it is, counted along the row; holes that were not found are left out.
    at : array, shape (n, 2)
        Its middle, x and y, [pixel of the whole picture].
    """

    number: NDArray[np.int64]
    at: Array


def shrunk(light: NDArray[Any], side: int = WORK_SIDE) -> tuple[NDArray[np.float32], float]:
    """
    A small picture, each pixel the mean of what it covers, and how many pixels of the whole one its side is.

    Parameters
    ----------
    light : array, shape (height, width)
    side : int
        The longer side it may have, [pixel].

    Returns
    -------
    small : array of float32
    block : float
    """
    from PIL import Image

    block = max(light.shape) / side
    if block <= 1:
        return np.asarray(light, dtype=np.float32), 1.0
    size = (max(1, round(light.shape[1] / block)), max(1, round(light.shape[0] / block)))
    whole = Image.fromarray(np.ascontiguousarray(light, dtype=np.float32))
    cut = (0.0, 0.0, min(size[0] * block, light.shape[1]), min(size[1] * block, light.shape[0]))
    return np.asarray(whole.resize(size, Image.Resampling.BOX, cut), dtype=np.float32), block


def find_rows(light: NDArray[Any]) -> Iterator[tuple[Row, Row, int]]:
    """
    What may be both rows of perforations, coarsely, the likeliest first.

    Parameters
    ----------
    light : array, shape (height, width)
        Relative luminance; the strip lies from left to right, within some 20 degrees.

    Yields
    ------
    rows : (Row, Row, int)
        The upper row, the lower row, and 1 for holes brighter than the film, -1 for darker ones. Holes of the
        same number face each other across the film. The film between holes may be taken for holes: whoever
        measures them finds out, and asks for the next.
    """
    small, block = shrunk(light)
    tone = np.sqrt(np.clip(small, 0, None))  # near the eye's scale: the dark film of a positive has its share
    few: list[tuple[int, Row, Row, int]] = []
    for bar in _BARS:
        if bar > min(tone.shape):
            continue
        for sign in (1, -1):
            found = _rows_at(sign * tone, bar)
            if found is None:
                continue
            count, upper, lower = found
            if count >= _ENOUGH:
                yield _whole(upper, block), _whole(lower, block), sign
            else:
                few.append((count, upper, lower, sign))
    for _, upper, lower, sign in sorted(few, key=lambda one: -one[0]):
        yield _whole(upper, block), _whole(lower, block), sign


def _whole(row: Row, block: float) -> Row:
    return Row(row.number, (row.at + 0.5) * block - 0.5)


def _rows_at(tone: NDArray[np.float32], bar: int) -> tuple[int, Row, Row] | None:
    """The pair of rows with most holes, at one size of bar."""
    from scipy.ndimage import maximum_filter1d, minimum_filter1d

    opened = tone
    for take in (minimum_filter1d, maximum_filter1d):
        for axis, size in ((0, max(3, bar // 6)), (1, bar)):
            opened = take(opened, size, axis=axis, mode="nearest")
    above = tone - opened
    best: tuple[int, Row, Row] | None = None
    for step in _STEPS:
        centres, sizes = _blotches(above > step, bar)
        if len(centres) < 2 * _FEWEST_IN_ROW:
            continue
        pair = _pair(_chains(centres, sizes, bar))
        if pair and (best is None or pair[0] > best[0]):
            best = pair
        if best and best[0] >= _ENOUGH:
            break
    return best


def _blotches(over: NDArray[np.bool_], bar: int) -> tuple[Array, Array]:
    """Middles and sizes (width, height) of blotches that may be holes, [pixel of the small picture]."""
    from scipy import ndimage

    labels, count = ndimage.label(over)
    if not 0 < count < _MOST_BLOTCHES:
        return np.empty((0, 2)), np.empty((0, 2))
    y, x = np.nonzero(over)
    which = labels[y, x]
    area = np.bincount(which, minlength=count + 1)[1:]
    boxes = ndimage.find_objects(labels)
    size = np.array([(b[1].stop - b[1].start, b[0].stop - b[0].start) for b in boxes], dtype=float)
    ratio = size[:, 1] / size[:, 0]
    fill = area / size.prod(axis=1)
    kept = (fill > 0.55) & (ratio > 0.95) & (ratio < 2.1)
    kept &= (size[:, 0] > 0.24 * bar) & (size[:, 1] < 1.3 * bar) & (size[:, 0] > 3)
    middles = np.stack(
        [np.bincount(which, place, minlength=count + 1)[1:] / area for place in (x, y)], axis=1
    )
    return middles[kept], size[kept]


def _chains(centres: Array, sizes: Array, bar: int) -> list[Row]:
    """Rows of blotches of one size that follow each other at one distance."""
    from scipy.spatial import cKDTree

    tree = cKDTree(centres)
    pairs = tree.query_pairs(2.2 * bar, output_type="ndarray")
    if not len(pairs):
        return []
    first, second = pairs.T
    swap = centres[second, 0] < centres[first, 0]
    first, second = np.where(swap, second, first), np.where(swap, first, second)
    step = centres[second] - centres[first]
    # a hole is 1.98 mm along the pitch of 4.75 mm; what is much wider or narrower is none
    wide = (sizes[first, 0] + sizes[second, 0]) / 2 / step[:, 0].clip(1e-6)
    alike = np.abs(np.log(sizes[first] / sizes[second])).max(axis=1) < 0.35
    fit = alike & (step[:, 0] > 0.6 * bar) & (np.abs(step[:, 1]) < 0.4 * step[:, 0])
    fit &= (wide > 0.3) & (wide < 0.54)
    first, second, step = first[fit], second[fit], step[fit]
    if len(step) < _FEWEST_IN_ROW:
        return []
    near = cKDTree(step).query_ball_point(step, 0.05 * bar)
    votes = np.array([len(one) for one in near])
    usual = np.median(step[near[int(votes.argmax())]], axis=0)
    return _linked(centres, usual)


def _linked(centres: Array, usual: Array) -> list[Row]:
    """Blotches joined where one lies a step or two from another along the row; the step may change slowly."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import breadth_first_order, connected_components
    from scipy.spatial import cKDTree

    tree = cKDTree(centres)
    count = len(centres)
    links: list[tuple[int, int, int]] = []
    for steps in (1, 2, 3):
        reach = 0.13 * np.hypot(*usual) * (1 + 0.3 * (steps - 1))
        for i, found in enumerate(tree.query_ball_point(centres + steps * usual, reach)):
            links += [(i, j, steps) for j in found if j != i]
    if not links:
        return []
    start, end, _ = np.array(links).T
    graph = coo_array((np.ones(len(start)), (start, end)), shape=(count, count)).tocsr()
    total, belongs = connected_components(graph, directed=False)
    rows = []
    by_pair = {(a, b): n for a, b, n in links} | {(b, a): -n for a, b, n in links}
    for which in range(total):
        members = np.flatnonzero(belongs == which)
        if len(members) < _FEWEST_IN_ROW:
            continue
        order, before = breadth_first_order(graph, members[0], directed=False)
        number = {int(order[0]): 0}
        for one in order[1:]:
            number[int(one)] = number[int(before[one])] + by_pair[(int(before[one]), int(one))]
        numbers = np.array([number[int(m)] for m in members])
        rows.append(_straight(numbers, centres[members]))
    return _joined([row for row in rows if len(row.number) >= _FEWEST_IN_ROW], usual)


def _straight(number: NDArray[np.int64], at: Array) -> Row:
    """Without what lies off a smooth row, and one blotch for each number."""
    kept = np.ones(len(number), dtype=bool)
    for _ in range(3):
        if kept.sum() < _FEWEST_IN_ROW:
            break
        curve = _curve(number[kept], at[kept])
        off = np.hypot(*(at - curve(number)).T)
        kept = off < max(4 * np.median(off[kept]), 1.0)
    order = np.argsort(number[kept], kind="stable")
    number, at = number[kept][order], at[kept][order]
    once = np.concatenate([[True], np.diff(number) > 0]) if len(number) else np.empty(0, dtype=bool)
    return Row(number[once], at[once])


def _curve(number: NDArray[np.int64], at: Array) -> Any:
    from numpy.polynomial import Polynomial

    degree = 2 if len(number) >= 10 else 1
    fits = [Polynomial.fit(number, at[:, k], degree) for k in (0, 1)]
    return lambda n: np.stack([fit(np.asarray(n, dtype=float)) for fit in fits], axis=-1)


def _joined(rows: list[Row], usual: Array) -> list[Row]:
    """Pieces of one row, torn where several holes were not found, put together."""
    rows = sorted(rows, key=lambda row: -len(row.number))
    out: list[Row] = []
    pitch = float(np.hypot(*usual))
    for row in rows:
        for i, whole in enumerate(out):
            curve = _curve(whole.number, whole.at)
            span = np.arange(whole.number.min() - 80, whole.number.max() + 81)
            off = np.hypot(*(curve(span)[:, None] - row.at[None]).transpose(2, 0, 1))
            nearest = off.argmin(axis=0)
            shift = span[nearest] - row.number
            if off.min(axis=0).max() < 0.25 * pitch and np.ptp(shift) == 0:
                out[i] = _straight(
                    np.concatenate([whole.number, row.number + shift[0]]),
                    np.concatenate([whole.at, row.at]),
                )
                break
        else:
            out.append(row)
    return out


def _pair(rows: list[Row]) -> tuple[int, Row, Row] | None:
    """Two parallel rows as far apart as those of 135 film, their numbers made to face each other."""
    best: tuple[int, Row, Row] | None = None
    for i, one in enumerate(rows):
        for other in rows[i + 1 :]:
            pair = _facing(one, other)
            if pair is None:
                continue
            count = 2 * min(len(pair[0].number), len(pair[1].number))
            if best is None or count > best[0]:
                best = (count, *pair)
    return best


def _facing(one: Row, other: Row) -> tuple[Row, Row] | None:
    middle = [np.median(row.at, axis=0) for row in (one, other)]
    upper, lower = (one, other) if middle[0][1] < middle[1][1] else (other, one)
    along = _step(upper)
    length = float(np.hypot(*along))
    if length <= 0 or np.hypot(*(along - _step(lower))) > 0.15 * length:
        return None
    square_to = np.array([-along[1], along[0]]) / length
    curve = _curve(lower.number, lower.at)
    # where across from each upper hole, in steps of the lower row, does the lower row pass
    shifts, apart = [], []
    for number, at in zip(upper.number, upper.at, strict=True):
        lying = (lower.at - at) @ (along / length)
        nearest = int(np.abs(lying).argmin())
        place = lower.number[nearest] - lying[nearest] / length
        if lower.number.min() - 2 <= place <= lower.number.max() + 2:
            shifts.append(place - number)
            apart.append(float((curve(place) - at) @ square_to))
    if len(shifts) < _FEWEST_IN_ROW // 2:
        return None
    ratio = np.median(apart) / length / _ROWS_OVER_PITCH
    if not 0.85 < ratio < 1.17:
        return None
    return upper, Row(lower.number - round(float(np.median(shifts))), lower.at)


def _step(row: Row) -> Array:
    if len(row.number) < 2:
        return np.zeros(2)
    return np.array(np.median(np.diff(row.at, axis=0) / np.diff(row.number)[:, None], axis=0))
