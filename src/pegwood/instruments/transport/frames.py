"""
From edges to frames: which edges belong together, given that one gate made them all.

Every frame is as wide as the gate. A frame of which only one side was exposed enough to be seen is
placed by that side; where frames lie over each other the edges show inside the neighbour's picture.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.transport.edges import Edge, Rectified, bare_share

__all__ = ["Found", "FoundFrame", "place_frames"]

Array = NDArray[np.float64]

_WITHIN_MM = 0.25
_GATE_MM = 1.6
"""How far a gate may be from the format's nominal size (practice)."""


@dataclass(frozen=True)
class FoundFrame:
    """A frame by its edges: either may be None. `at` is its left edge, [mm]."""

    at: float
    u: float
    left: Edge | None
    right: Edge | None
    steps: int
    """How many spacings lie between it and the frame before it; 0 for the first."""


@dataclass(frozen=True)
class Found:
    """All frames, the gate's width, [mm], its standard uncertainty, and how many told it."""

    frames: tuple[FoundFrame, ...]
    gate: float
    gate_u: float
    gate_of: int


@dataclass(frozen=True)
class _Guess:
    at: float
    left: Edge | None
    right: Edge | None
    score: float


def place_frames(film: Rectified, edges: list[Edge], along_mm: float, spacing_mm: float) -> Found:
    """
    Frames of one gate.

    Parameters
    ----------
    film : Rectified
    edges : list of Edge
        As `find_edges` gives them.
    along_mm, spacing_mm : float
        The format's width of a frame and spacing, nominal, [mm].

    Returns
    -------
    found : Found
        Its frames from left to right; none where nothing fits.
    """
    gate, gate_u, gate_of = _gate(edges, along_mm)
    guesses = _guesses(film, edges, gate)
    exposed = np.cumsum(1 - bare_share(film)) * film.step
    chosen = _best_row(film, guesses, gate, spacing_mm, exposed)
    frames = []
    for before, guess in zip([None, *chosen], chosen, strict=False):
        steps = 0 if before is None else max(1, round((guess.at - before.at) / spacing_mm))
        at, u = _placed(guess, gate, gate_u)
        u = math.hypot(u, _against(guess, edges, gate, film.pixel_mm))
        frames.append(FoundFrame(at, u, guess.left, guess.right, steps))
    return Found(tuple(frames), gate, gate_u, gate_of)


def _gate(edges: list[Edge], along_mm: float) -> tuple[float, float, int]:
    """Width of the gate: what most pairs of clear edges agree on."""
    pairs = [
        (right.at - left.at, (1 if left.bare else 0.3) * (1 if right.bare else 0.3))
        for left in edges
        for right in edges
        if left.side > 0 > right.side and left.clear and right.clear
        and abs(right.at - left.at - along_mm) < _GATE_MM
    ]  # fmt: skip
    if not pairs:
        return along_mm, 0.4, 0
    widths, weights = np.array(pairs).T
    usual = np.exp(-(((widths - along_mm) / 0.8) ** 2) / 2)  # few gates are far from the nominal size
    votes = [float((weights * usual)[np.abs(widths - w) < 0.12].sum()) + 1e-3 * w for w in widths]
    chosen = widths[int(np.argmax(votes))]
    near = np.abs(widths - chosen) < 0.12
    told = widths[near]
    spread = float(told.std(ddof=1)) if len(told) > 1 else 0.25  # one pair alone may be none
    return float(np.median(told)), max(spread, 0.004) / math.sqrt(len(told)), len(told)


def _value(edge: Edge, pixel: float) -> float:
    """How much an edge speaks for a frame: its length seen, its straightness, bare film beyond it."""
    if not edge.clear:
        return 0.15
    straight = 1 / (1 + (edge.u / (0.12 * pixel)) ** 2)
    return (1.0 if edge.bare else 0.4) * (0.4 + 0.6 * edge.share) * (0.3 + 0.7 * straight)


def _guesses(film: Rectified, edges: list[Edge], gate: float) -> list[_Guess]:
    """Places a frame may be at, each with the edges that speak for it."""
    out = []
    low, high = film.along[0] - 0.3, film.along[-1] + 0.3
    for edge in edges:
        at = edge.at if edge.side > 0 else edge.at - gate
        if at < low or at + gate > high:
            continue
        other_at = at + gate if edge.side > 0 else at
        others = [o for o in edges if o.side == -edge.side and abs(o.at - other_at) < _WITHIN_MM]
        other = max(others, key=lambda o: _value(o, film.pixel_mm), default=None)
        if other is not None and edge.side < 0:
            continue  # the same pair was made from its left edge
        score = _value(edge, film.pixel_mm) + (_value(other, film.pixel_mm) + 0.4 if other else 0)
        left, right = (edge, other) if edge.side > 0 else (other, edge)
        out.append(_Guess(at, left, right, score))
    return sorted(out, key=lambda g: g.at)


def _best_row(
    film: Rectified, guesses: list[_Guess], gate: float, spacing: float, exposed: Array
) -> list[_Guess]:
    """The row of frames with most for it, by dynamic programming from left to right."""

    def uncovered(low: float, high: float) -> float:
        """Length between two places that carries a picture of no frame, [mm]."""
        if high <= low:
            return 0.0
        return float(np.interp(high, film.along, exposed) - np.interp(low, film.along, exposed))

    values = [g.score - 0.05 * max(gate - 12.0 - uncovered(g.at, g.at + gate), 0.0) for g in guesses]
    best: list[tuple[float, int]] = []
    for i, guess in enumerate(guesses):
        total, before = values[i] - 0.06 * uncovered(film.along[0], guess.at - 0.3), -1
        for j in range(i):
            gone = guess.at - guesses[j].at
            steps = max(1, round(gone / spacing))
            off = (gone - steps * spacing) / spacing
            if gone < 0.7 * gate or abs(off) * spacing > 0.32 * gate:
                continue
            bare_frames = 0.3 * (steps - 1) + 0.1 * max(gate - gone, 0.0)
            cost = min((off / 0.05) ** 2, 4) * 0.08 + bare_frames
            cost += 0.06 * uncovered(guesses[j].at + gate + 0.3, guess.at - 0.3)
            if best[j][0] + values[i] - cost > total:
                total, before = best[j][0] + values[i] - cost, j
        best.append((total, before))
    if not best:
        return []
    ends = [
        b[0] - 0.06 * uncovered(g.at + gate + 0.3, film.along[-1]) for b, g in zip(best, guesses, strict=True)
    ]
    i = int(np.argmax(ends))
    row = []
    while i >= 0:
        row.append(guesses[i])
        i = best[i][1]
    return row[::-1]


def _against(guess: _Guess, edges: list[Edge], gate: float, pixel: float) -> float:
    """Half of how far a clear edge is from where a frame's second edge ought to be, [mm]."""
    told = guess.left or guess.right
    if told is None or (guess.left and guess.right):
        return 0.0
    place = told.at + told.side * gate
    near = [
        abs(e.at - place)
        for e in edges
        if e.side == -told.side
        and e.clear
        and abs(e.at - place) < 1.0
        and _value(e, pixel) > 0.7 * _value(told, pixel)
    ]
    return 0.5 * min(near, default=0.0)


def _placed(guess: _Guess, gate: float, gate_u: float) -> tuple[float, float]:
    """A frame's left edge from whichever edges are clear, the gate's width known."""
    told = []
    for edge, shift, more in ((guess.left, 0.0, 0.0), (guess.right, gate, gate_u)):
        if edge is not None:
            told.append((edge.at - shift, math.hypot(edge.u, more, 0.0 if edge.clear else 0.15)))
    weight = [1 / u**2 for _, u in told]
    at = sum(w * a for (a, _), w in zip(told, weight, strict=True)) / sum(weight)
    u = 1 / math.sqrt(sum(weight))
    if len(told) == 2:
        # Birge's ratio: two edges that disagree are both less certain than they say
        u *= max(1.0, abs(told[0][0] - told[1][0]) / math.hypot(told[0][1], told[1][1]))
    return at, u
