"""Light of a picture on a grid of the film."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.filmstrip.projection import Projection

__all__ = ["sampled"]

Array = NDArray[np.float64]


def sampled(light: NDArray[Any], projection: Projection, along: Array, across: Array) -> NDArray[np.float32]:
    """Light on a grid of the film; the way there is smooth: reckoned coarsely and filled in."""
    from scipy.ndimage import map_coordinates

    few_along = np.linspace(along[0], along[-1], max(2, min(len(along), 120)))
    few_across = np.linspace(across[0], across[-1], max(2, min(len(across), 24)))
    x, y = projection.to_picture(few_along[None, :], few_across[:, None])
    lying_along = np.linspace(0, len(few_along) - 1, len(along))
    out = np.empty((len(across), len(along)), dtype=np.float32)
    rows = np.linspace(0, len(few_across) - 1, len(across))
    for i, row in enumerate(rows):
        low = min(int(row), len(few_across) - 2)
        share = row - low
        line = [np.interp(lying_along, np.arange(len(few_along)), (1 - share) * g[low] + share * g[low + 1])
                for g in (y, x)]  # fmt: skip
        map_coordinates(light, line, output=out[i], order=1, mode="nearest")
    return out
