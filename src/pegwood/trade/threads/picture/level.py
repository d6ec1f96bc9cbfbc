"""
Whether a screw lay level, from how unlike its two edges are.

As soon as one end lies nearer to the eye, a thread is seen along its own slope on the one edge and against it
on the other: one edge looks sharper, the other rounder, and the pitch shortened by the cosine. Seen level,
both edges are alike, half a turn apart.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.trade.threads.picture.edges import Edge
from pegwood.trade.threads.picture.outline import UnclearPicture

_HARMONICS = 8
#: How unlike the edges become with each degree off level: for flat crests and for round ones, by drawing
#: helicoids of 60 and 47.5 degrees at known slants.
_UNLIKE_BY_DEGREE = (0.026, 0.053)
#: Edges more unlike than this lie too far off level, or one of them is worn, dirty or in a shadow.
_TOO_UNLIKE = 0.22
#: How far from half a turn apart the edges of one helix may be seen, in turns.
_OUT_OF_STEP = 0.12


@dataclass(frozen=True, kw_only=True)
class Level:
    """
    How the screw lay.

    Attributes
    ----------
    shortened, u_shortened : float
        By what share of itself the pitch is seen shortened, and the standard uncertainty of that, [1].
    """

    shortened: float
    u_shortened: float


def level_of(edges: Sequence[Edge], pitch: float) -> Level:
    """
    How level a screw lay.

    Parameters
    ----------
    edges : sequence of two Edge
        Upper and lower edge.
    pitch : float
        Their pitch, [pixel].

    Raises
    ------
    UnclearPicture
        If the edges are not those of one helix, or too unlike.
    """
    upper, lower = (_shape(edge, pitch) for edge in edges)
    step = (np.angle(upper[0]) - np.angle(lower[0])) / (2 * np.pi) % 1.0
    if abs(step - 0.5) > _OUT_OF_STEP:
        raise UnclearPicture(
            "The crests of both edges do not lie half a turn apart: rings, a knurl, a thread of two starts, "
            "or a screw that is bent or lies aslant. Measure it by hand."
        )
    apart = np.abs(_from_crest(upper) - _from_crest(lower))
    whole = (np.abs(upper) ** 2 + np.abs(lower) ** 2).sum() / 2
    unlike = math.sqrt(float((apart**2).sum() / whole))
    if unlike > _TOO_UNLIKE:
        raise UnclearPicture(
            f"The two edges look unlike, by {100 * unlike:.0f} %: the screw does not lie level, or one edge "
            "is worn, dirty or in a shadow. Lay it flat under the camera, or light it from behind."
        )
    most, least = (1 - math.cos(math.radians(unlike / by)) for by in _UNLIKE_BY_DEGREE)
    return Level(shortened=(most + least) / 2, u_shortened=(most - least) / math.sqrt(12))


def _shape(edge: Edge, pitch: float) -> NDArray[np.complex128]:
    """The harmonics of an edge over whole turns."""
    turns = math.floor((edge.place[-1] - edge.place[0]) / pitch)
    whole = edge.place < edge.place[0] + turns * pitch
    place, out = edge.place[whole], edge.out[whole]
    level = out - np.polynomial.Polynomial.fit(place, out, 1)(place)
    waves = np.exp(-2j * np.pi * np.arange(1, _HARMONICS + 1)[:, None] * place / pitch)
    shape: NDArray[np.complex128] = (waves * level).mean(axis=1)
    return shape


def _from_crest(shape: NDArray[np.complex128]) -> NDArray[np.complex128]:
    """The same with the place counted from the crest."""
    turned: NDArray[np.complex128] = shape * np.exp(-1j * np.angle(shape[0]) * np.arange(1, _HARMONICS + 1))
    return turned
