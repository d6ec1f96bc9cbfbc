"""Smaller pictures out of large ones, for finding what is then measured at full size."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["averaged_down"]

Light = NDArray[np.float32]


def averaged_down(light: Light, by: int) -> Light:
    """
    Mean over squares of `by` times `by` pixels; what does not fill one is left out.

    Parameters
    ----------
    light : array of float32, shape (height, width)
        The picture.
    by : int
        Side of a square, [pixel].

    Returns
    -------
    averaged : array of float32, shape (height // by, width // by)
    """
    if by == 1:
        return light
    height, width = light.shape[0] // by, light.shape[1] // by
    cut = light[: height * by, : width * by]
    rows = cut[::by].copy()
    for one in range(1, by):  # whole rows at a time: many times faster than sums over small axes
        rows += cut[one::by]
    both = rows[:, ::by].copy()
    for one in range(1, by):
        both += rows[:, one::by]
    return both / np.float32(by * by)
