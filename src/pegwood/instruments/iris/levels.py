"""The light inside the opening and the dark around it as smooth surfaces: lamps and lenses light unevenly."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Surface", "fit_surface"]

Array = NDArray[np.float64]
Light = NDArray[np.float32]

_ENOUGH = 10_000
"""Pixels that are fitted; more tell a smooth surface no better."""


@dataclass(frozen=True)
class Surface:
    """A polynomial in two directions, each counted from -1 to 1 across the picture."""

    degree: int
    values: Array

    def at(self, shape: tuple[int, ...]) -> Light:
        """The surface over a whole picture, shape (height, width)."""
        y, x = np.linspace(-1, 1, shape[0]), np.linspace(-1, 1, shape[1])
        powers = _powers(self.degree)
        table = np.zeros((self.degree + 1, self.degree + 1))
        for (i, j), value in zip(powers, self.values, strict=True):
            table[i, j] = value
        rows = np.vander(y, self.degree + 1, increasing=True)
        columns = np.vander(x, self.degree + 1, increasing=True)
        surface: Light = (rows @ table @ columns.T).astype(np.float32)
        return surface


def fit_surface(values: Light, part: NDArray[np.bool_], degree: int, robust: bool = False) -> Surface:
    """
    Least squares over the pixels of a part of the picture.

    Parameters
    ----------
    values : array of float32, shape (height, width)
        The picture.
    part : array of bool, same shape
        Which pixels count.
    degree : int
        Highest power of both directions together; lowered where too few pixels are left.
    robust : bool
        Whether what stands out is left out (four rounds at three times the median deviation).

    Returns
    -------
    surface : Surface
    """
    flat = np.flatnonzero(part)
    if flat.size > _ENOUGH:
        flat = flat[:: flat.size // _ENOUGH]
    while degree > 0 and flat.size < 20 * len(_powers(degree)):
        degree -= 1
    rows, columns = np.divmod(flat, values.shape[1])
    y = 2 * rows / max(values.shape[0] - 1, 1) - 1
    x = 2 * columns / max(values.shape[1] - 1, 1) - 1
    design = np.column_stack([y**i * x**j for i, j in _powers(degree)])
    read = values.ravel()[flat].astype(float)
    keep = np.ones(flat.size, dtype=bool)
    found = np.zeros(design.shape[1])
    for _ in range(4 if robust else 1):
        # by the normal equations: places run from -1 to 1, so they are sound, and a hundred times faster
        kept = design[keep]
        found, *_ = np.linalg.lstsq(kept.T @ kept, kept.T @ read[keep], rcond=None)
        off = read - design @ found
        spread = 1.4826 * float(np.median(np.abs(off[keep] - np.median(off[keep])))) + 1e-6
        keep = np.abs(off) < 3 * spread
        if keep.sum() < 10 * design.shape[1]:
            break
    return Surface(degree, found)


def _powers(degree: int) -> list[tuple[int, int]]:
    return [(i, j) for i in range(degree + 1) for j in range(degree + 1 - i)]
