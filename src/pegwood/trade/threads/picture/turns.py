"""
The pitch of a thread from the spectrum of its edges, and what every turn says of it.

Both edges repeat with the pitch, each with a phase of its own. The pitch is where a series of harmonics
explains most of both edges: the peak of their common spectrum, found between its points. How far each
single turn lies from where the series has it gives the uncertainty, without a word about what made it so:
noise, blur, dirt or a rough thread.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.trade.threads.picture.edges import Edge
from pegwood.trade.threads.picture.outline import UnclearPicture

Array = NDArray[np.float64]

_HARMONICS = 5
#: Turns that lie further than this from where they belong are no thread's, in pitches.
_ROUGHEST = 0.06


@dataclass(frozen=True, kw_only=True)
class Turns:
    """
    The pitch in a picture.

    Attributes
    ----------
    pitch, u_pitch : float
        Pitch and its standard uncertainty as far as the edges show, [pixel].
    count : int
        How many turns were seen, both edges together.
    degrees_of_freedom : float
        Of the uncertainty, [1].
    """

    pitch: float
    u_pitch: float
    count: int
    degrees_of_freedom: float


def turns_of(edges: Sequence[Edge]) -> Turns:
    """
    The pitch of a thread from its edges.

    Raises
    ------
    UnclearPicture
        If its turns lie too unevenly.
    """
    from scipy.optimize import minimize_scalar

    rough = float(np.median(np.concatenate([np.diff(edge.crests) for edge in edges])))
    straight = [_straightened(edge) for edge in edges]
    length = max(len(one) for one in straight)
    # the peak between the points of the spectrum: its main lobe is a turn's share of the length wide
    reach = 0.5 * rough / (length * (edges[0].place[1] - edges[0].place[0]))
    frequencies = np.linspace(1 / rough * (1 - 2 * reach), 1 / rough * (1 + 2 * reach), 41)
    power = [_explained(edges, straight, one) for one in frequencies]
    best = int(np.argmax(power))
    near = frequencies[max(best - 1, 0)], frequencies[min(best + 1, len(frequencies) - 1)]
    found = minimize_scalar(
        lambda f: -_explained(edges, straight, f), bounds=near, method="bounded", options={"xatol": 1e-9}
    )
    pitch = 1 / float(found.x)
    moved = [_moved(edge, out, pitch) for edge, out in zip(edges, straight, strict=True)]
    return _uncertain(pitch, moved)


def _straightened(edge: Edge) -> Array:
    """An edge about its own slant."""
    slant = np.polynomial.Polynomial.fit(edge.place, edge.out, 1)
    out: Array = edge.out - slant(edge.place)
    return out


def _series(place: Array, frequency: float) -> Array:
    angles = 2 * np.pi * frequency * place[:, None] * np.arange(1, _HARMONICS + 1)
    return np.hstack([np.ones((len(place), 1)), np.cos(angles), np.sin(angles)])


def _explained(edges: Sequence[Edge], straight: Sequence[Array], frequency: float) -> float:
    """How much of both edges a series of that frequency explains."""
    found = 0.0
    for edge, out in zip(edges, straight, strict=True):
        series = _series(edge.place, frequency)
        fitted = series @ np.linalg.lstsq(series, out, rcond=None)[0]
        found += float(fitted @ fitted)
    return found


def _moved(edge: Edge, out: Array, pitch: float) -> tuple[Array, Array]:
    """Which turn, and by how much it lies off the series: its rest against how fast the series changes."""
    series = _series(edge.place, 1 / pitch)
    weights = np.linalg.lstsq(series, out, rcond=None)[0]
    rest = out - series @ weights
    slope = np.gradient(series @ weights, edge.place)
    turn = np.floor((edge.place - edge.place[0]) / pitch).astype(int)
    whole = [
        k for k in range(turn.max() + 1) if (turn == k).sum() > 0.8 * pitch / (edge.place[1] - edge.place[0])
    ]
    off = [
        -float(rest[turn == k] @ slope[turn == k]) / float(slope[turn == k] @ slope[turn == k]) for k in whole
    ]
    return np.array(whole, dtype=float), np.array(off)


def _uncertain(pitch: float, moved: Sequence[tuple[Array, Array]]) -> Turns:
    """A common stretch of all turns fitted to what they lie off by; its standard error is the pitch's."""
    lever, rest, count = 0.0, 0.0, 0
    for which, off in moved:
        centred = which - which.mean()
        lever += float(centred @ centred)
        rest += float(((off - off.mean()) ** 2).sum())
        count += len(which)
    freedom = count - len(moved) - 1
    if freedom < 3:
        raise UnclearPicture("Too few whole turns are to be seen. Show more of the thread.")
    scatter = math.sqrt(rest / freedom)
    if scatter > _ROUGHEST * pitch:
        raise UnclearPicture(
            f"The turns lie uneven by {100 * scatter / pitch:.0f} % of the pitch: dirt, damage, no thread. "
            "Clean it and show it against a lamp, as a shadow."
        )
    return Turns(
        pitch=pitch, u_pitch=scatter / math.sqrt(lever), count=count, degrees_of_freedom=float(freedom)
    )
