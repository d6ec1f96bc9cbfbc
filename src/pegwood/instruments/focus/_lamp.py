"""
Uneven light taken out of the pixels about an edge.

Light multiplies what the card sends back, on its dark side as on its bright one. A slope and a falling off
that is alike in all directions are fitted to both sides at once, with one ratio of dark to bright, and
subtracted rather than divided by, so that noise stays as it was. The far tails that a perfect lens spreads
(1/x) are counted as such and not taken for light that falls off.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Lamp", "lamp_of"]

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Lamp:
    """
    How the light lies over an edge.

    Parameters
    ----------
    over : array, shape (6,)
        Of 1, t, d, d t, t^2 + d^2 and d^2: the bright card's light, d and t in half lengths.
    ratio : float
        Dark to bright, [-].
    reach : tuple of float
        Half width and half length, [pixel].
    """

    over: Array
    ratio: float
    reach: tuple[float, float]

    @property
    def bowed(self) -> bool:
        """Whether light falls off otherwise across the edge than along it."""
        return bool(self.over[5] != 0)

    def bright(self, away: Array, t: Array) -> Array:
        """Light of the bright card at each pixel."""
        found: Array = _shape(away / self.reach[1], t / self.reach[1]) @ self.over
        return found

    def drawn(self, share: Array, away: Array, t: Array) -> Array:
        """Light where a share of the bright card is seen and of the dark one for the rest."""
        out: Array = self.bright(away, t) * (self.ratio + (1 - self.ratio) * share)
        return out

    def evened(self, light: Array, away: Array, t: Array, near: float) -> Array:
        """Light as an even lamp would give it: dark 0, bright 1 far from the edge, and noise."""
        everywhere, middle = self.bright(away, t), float(self.over[0])
        # far out the side is known, and noise must not shape what is subtracted
        share = np.clip((light / np.maximum(everywhere, 0.2 * middle) - self.ratio) / (1 - self.ratio), 0, 1)
        share = np.where(np.abs(away) > near, (away > 0).astype(float), share)
        flat = light - (self.ratio + (1 - self.ratio) * share) * (everywhere - middle)
        out: Array = (flat / middle - self.ratio) / (1 - self.ratio)
        return out


def lamp_of(
    light: Array,
    away: Array,
    t: Array,
    reach: tuple[float, float],
    near: float,
    tail: float,
    bowed: bool | None = None,
    alike: float = 1.0,
) -> Lamp:
    """
    Find how the light lies.

    Parameters
    ----------
    light, away, t : array, shape (n,)
        Light of each pixel, distance from the edge and along it, [pixel].
    reach : tuple of float
        Half width and half length of the strip, [pixel].
    near : float
        Within this distance the edge itself is seen, and not the lamp, [pixel].
    tail : float
        How the line spreads far out: the light missing at a distance x is ``arctan(tail / x) / pi``, [pixel].
    bowed : bool, optional
        Whether light falls off otherwise across the edge than along it; decided by what fits if not given.
        Continued to the edge from both sides, such a bow is mostly noise, so it has to be plain.
    alike : float
        How many neighbouring pixels have their noise in common, [-].

    Returns
    -------
    lamp : Lamp
    """
    far = np.abs(away) > near
    y, d = light[far], away[far]
    missing = np.arctan2(tail, np.abs(d)) / np.pi
    bright = np.where(d > 0, 1 - missing, missing)
    shape = _shape(d / reach[1], t[far] / reach[1])
    if bowed is not None:
        return Lamp(*_fitted(y, d, bright, shape if bowed else shape[:, :-1])[:2], reach)
    plain = _fitted(y, d, bright, shape[:, :-1])
    bow = _fitted(y, d, bright, shape)
    better = (plain[2] - bow[2]) / max(bow[2] / len(y) * alike, 1e-300)
    return Lamp(*(bow if better > _PLAIN else plain)[:2], reach)


def _fitted(y: Array, d: Array, bright: Array, shape: Array) -> tuple[Array, float, float]:
    """The lamp, the ratio of dark to bright, and the sum of squares left over."""
    top = float(np.median(y[d > 0]))
    over = np.zeros(shape.shape[1])
    over[0], ratio = top, float(np.median(y[d < 0])) / max(top, 1e-9)
    for _ in range(12):  # Gauss-Newton: the ratio multiplies the lamp
        seen, level = ratio + (1 - ratio) * bright, shape @ over
        rows = np.column_stack([shape * seen[:, None], level * (1 - bright)])
        step = np.linalg.lstsq(rows.T @ rows, rows.T @ (y - level * seen), rcond=1e-12)[0]
        over, ratio = over + step[:-1], ratio + float(step[-1])
        if np.abs(step).max() < 1e-6 * top:
            break
    left = y - (shape @ over) * (ratio + (1 - ratio) * bright)
    return np.append(over, np.zeros(6 - len(over))), ratio, float(left @ left)


_PLAIN = 16.0
"""A bow counts if it fits by four standard deviations."""


def _shape(d: Array, t: Array) -> Array:
    return np.stack([np.ones_like(d), t, d, d * t, t * t + d * d, d * d], axis=1)
