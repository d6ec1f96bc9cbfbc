"""From the numbers in a picture's file to light."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray


def light_of(grey: NDArray[Any]) -> NDArray[np.float64]:
    """
    Brightness as light, from 0 to 1.

    Files hold brightness on a curve (IEC 61966-2-1); an edge lies at half the light, not at half of that.

    Parameters
    ----------
    grey : array of 8-bit numbers, shape (height, width)

    Returns
    -------
    light : array, shape (height, width)
    """
    value = np.asarray(grey, dtype=float) / 255
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)
