"""
A camera's own curve, told by the same opening photographed darker.

No single picture tells it: an edge of normal blur looks the same through the curve p -> Φ(a + Φ⁻¹(p)),
whatever a, as it does without one, only shifted; and a power of the light is that curve to a few percent.
With the exposure cut by known steps, what is written for the middle of the opening is read at known shares
of its light.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.iris.hole import find_hole
from pegwood.instruments.photographs import Photograph
from pegwood.instruments.readings import RefusedReadings

__all__ = ["Curve", "Darker", "curve_of"]

Array = NDArray[np.floating]
Light = NDArray[np.float32]

FEWEST = 2
REACH_EV = 2.0
"""How far down the darkest picture has to reach: below a quarter of the light little is left of an edge."""
_KNOTS = 4097


@dataclass(frozen=True)
class Darker:
    """
    The same opening once more, nothing but the exposure changed.

    Parameters
    ----------
    photograph : Photograph
        As the first.
    by_ev : float
        By how much less it was exposed, [EV]; above zero.
    """

    photograph: Photograph
    by_ev: float


@dataclass(frozen=True)
class Curve:
    """
    What light stands behind what sRGB's curve makes of a camera's numbers.

    Parameters
    ----------
    read : array, shape (n,)
        Light by sRGB's curve, rising, [-].
    true : array, shape (n,)
        Light, rising; the last is that of the first picture's middle, and is what it is by sRGB, [-].
    """

    read: Array
    true: Array

    def light(self, read: Light) -> Light:
        """
        The light of a picture.

        Parameters
        ----------
        read : array of float32
            Light by sRGB's curve.

        Returns
        -------
        light : array of float32, same shape
        """
        # by table: even in the root, so that it is fine where curves are steep
        table = self._at((np.arange(_KNOTS) / (_KNOTS - 1)) ** 2).astype(np.float32)
        place = np.sqrt(np.clip(read, 0, 1)) * np.float32(_KNOTS - 1)
        low = np.minimum(place.astype(np.int32), _KNOTS - 2)
        found: Light = table[low] + (place - low) * (table[low + 1] - table[low])
        return found

    def _at(self, read: Array) -> Array:
        """Monotone cubics (Fritsch, Carlson) between logarithms, in which powers are straight lines."""
        from scipy.interpolate import PchipInterpolator

        x, y = np.log(self.read), np.log(self.true)
        inner = PchipInterpolator(x, y)
        first, last = (y[1] - y[0]) / (x[1] - x[0]), (y[-1] - y[-2]) / (x[-1] - x[-2])
        at = np.log(np.maximum(read, 1e-9))
        below, above = y[0] + first * (at - x[0]), y[-1] + last * (at - x[-1])
        whole = np.where(at < x[0], below, np.where(at > x[-1], above, inner(np.clip(at, x[0], x[-1]))))
        return np.where(read > 0, np.exp(whole), 0.0)

    def off_by(self, which: int, ev: float) -> Curve:
        """The same with one of the pictures exposed by so much more than was said, [EV]."""
        true = self.true.copy()
        true[which] *= 2.0**ev
        return replace(self, true=true)


def curve_of(photograph: Photograph, darker: Sequence[Darker]) -> Curve:
    """
    Read a camera's curve off the middle of one opening at several exposures.

    Parameters
    ----------
    photograph : Photograph
        The brightest, the one that is measured.
    darker : sequence of Darker
        Two or more, the darkest by two EV or more.

    Returns
    -------
    curve : Curve

    Raises
    ------
    RefusedReadings
        If there are too few, the steps cannot be, or the numbers do not fall with the exposure.
    """
    for one in darker:
        if not (math.isfinite(one.by_ev) and 0 < one.by_ev <= 12):
            raise RefusedReadings(
                f"{one.photograph.name}: {one.by_ev:g} is no step down. Write by how many EV it was "
                "exposed less: 1 for half the time."
            )
    steps = sorted(darker, key=lambda one: -one.by_ev)
    if len(steps) < FEWEST or steps[0].by_ev < REACH_EV:
        raise RefusedReadings(
            "So few darker pictures, or so little darker, do not tell the camera's curve. Give three, "
            "exposed 1, 2 and 3 EV less."
        )
    if len({one.by_ev for one in steps}) < len(steps):
        raise RefusedReadings("Two darker pictures are said to be exposed alike. Give each step once.")
    read = np.array([_middle(one.photograph) for one in steps] + [_middle(photograph)])
    if not (read[0] > 1e-4 and (np.diff(np.log(np.maximum(read, 1e-9))) > 0.05).all()):
        raise RefusedReadings(
            "The opening does not get darker from picture to picture as the exposures were told. Switch "
            "automatic exposure off, leave the lamp alone, and look which picture is which."
        )
    true = np.array([read[-1] * 2.0**-one.by_ev for one in steps] + [read[-1]])
    return Curve(read, true)


def _middle(photograph: Photograph) -> float:
    """Light by sRGB's curve in the middle of the opening."""
    hole = find_hole(photograph.light, photograph.name)
    half = max(2, int(0.15 * hole.diameter))
    y, x = round(hole.y), round(hole.x)
    part = photograph.light[y - half : y + half + 1, x - half : x + half + 1]
    return float(np.median(part) if part.size < 400 else part.mean(dtype=float))
