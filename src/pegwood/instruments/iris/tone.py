"""
By which curve a picture's numbers stand for light, told by an edge that is blurred alike to both sides.

Lenses, pixels and shaking hands spread light about as far into the dark as they take it from the light. Where
the ramp at an edge is lopsided, the numbers are no light yet. Between sRGB's curve (0) and plain numbers (1),
and a little beyond, the mixture is sought that makes it even. An edge tells this only roughly, so it is
weighed against what pictures usually are.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.iris.practice import Practice

__all__ = ["likeliest_tone", "most_alike"]

Array = NDArray[np.floating]

_MIXES = np.arange(-0.6, 1.61, 0.1)


def likeliest_tone(
    edges: list[tuple[Array, Array]], blur: float, lossy: bool, known: Practice
) -> tuple[float, float]:
    """
    The mixture, from what several stretches of the edge tell.

    Parameters
    ----------
    edges : list of (array, array)
        Stretches of the edge, as `most_alike` takes them.
    blur : float
        Width of the edge as a standard deviation, [pixel]; the sharper, the less it tells.
    lossy : bool
        Whether the picture was stored with loss.
    known : Practice
        How far an edge is to be believed, and what pictures usually are.

    Returns
    -------
    tone, u : float
        Mean and standard deviation of what is then thought of it (Bayes), [-].
    """
    spread = known["tone.spread"].value
    plain, other = known["tone.plain_share"].value, known["tone.other_share"].value
    tone = np.linspace(-0.5, 1.5, 401)
    thought = (
        (1 - plain - other) * np.exp(-0.5 * (tone / spread) ** 2) / spread
        + plain * np.exp(-0.5 * ((tone - 1) / spread) ** 2) / spread
        + other * math.sqrt(2 * math.pi) / 2
    )
    if len(edges) >= 6:
        middle, scatter = _told(edges)
        u = math.hypot(
            scatter,
            known["tone.edge_u"].value,
            known["tone.lossy_u"].value * (1 + (1.4 / blur) ** 2) if lossy else 0.0,
        )
        thought *= np.exp(-0.5 * ((tone - middle) / u) ** 2)
    thought /= thought.sum()
    mean = float((tone * thought).sum())
    return mean, math.sqrt(float(((tone - mean) ** 2 * thought).sum()))


def _told(edges: list[tuple[Array, Array]]) -> tuple[float, float]:
    """What all stretches tell together, and its standard deviation by leaving out one after the other."""
    light, number = (np.array([one[which] for one in edges]) for which in (0, 1))
    n = len(edges)
    without = [
        most_alike((light.sum(0) - light[i]) / (n - 1), (number.sum(0) - number[i]) / (n - 1))
        for i in range(n)
    ]
    return most_alike(light.mean(0), number.mean(0)), float(np.std(without)) * math.sqrt(n - 1)


def most_alike(by_light: Array, by_number: Array) -> float:
    """
    The mixture that makes an edge's two sides most alike.

    Parameters
    ----------
    by_light, by_number : array, shape (n,)
        Coverage across the edge, from outside to inside in even steps, read by sRGB's curve and as it stands.

    Returns
    -------
    tone : float
        [-].
    """
    costs = np.array([_unlikeness((1 - k) * by_light + k * by_number) for k in _MIXES])
    at = int(np.clip(np.argmin(costs), 1, len(costs) - 2))
    left, here, right = costs[at - 1 : at + 2]
    bend = left - 2 * here + right
    shift = 0.5 * (left - right) / bend if bend > 0 else 0.0
    return float(_MIXES[at] + np.clip(shift, -1, 1) * (_MIXES[1] - _MIXES[0]))


def _unlikeness(edge: Array) -> float:
    """How far the two sides differ when the edge is turned about the point that makes them most alike."""
    n = len(edge)
    places = np.arange(n)
    rising = np.maximum.accumulate(edge)
    low, middle, high = (float(np.interp(level, rising, places)) for level in (0.1587, 0.5, 0.8413))
    steps = np.arange(0.5, min(1.3 * (high - low) + 4, n / 2 - 3), 1.0)
    slopes = np.gradient(edge)
    rest = np.zeros(steps.size)
    for _ in range(3):
        off = np.interp(middle + steps, places, edge) + np.interp(middle - steps, places, edge)
        lean = np.interp(middle + steps, places, slopes) + np.interp(middle - steps, places, slopes)
        leaning = lean - lean.mean()
        shift = float(leaning @ off) / max(float(leaning @ leaning), 1e-12)
        rest = off - off.mean() - shift * leaning
        middle -= shift
    return float((rest**2).sum())
