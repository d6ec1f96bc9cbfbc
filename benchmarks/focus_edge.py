"""
A slanted edge found and measured in a photograph of 12 megapixels, against decoding the file alone.

Once with the edge small in the picture, once with one that runs through all of it.
"""

from __future__ import annotations

import io
import time
from typing import Any

import numpy as np
from PIL import Image
from scipy.special import ndtr

from pegwood.instruments.focus import measure_edge
from pegwood.instruments.photographs import open_photograph

WIDTH, HEIGHT, SLANT = 4000, 3000, 0.09
REPEATS = 5


def _photograph(small: bool) -> bytes:
    x, y = np.arange(WIDTH) - WIDTH / 2, (np.arange(HEIGHT) - HEIGHT / 2)[:, None]
    share = ndtr((x - SLANT * y) / 1.5).astype(np.float32)
    if small:
        share[(np.abs(y[:, 0]) > 220), :] = 0.5
        share[:, np.abs(x) > 260] = 0.5
    light = 0.1 + 0.6 * share + np.random.default_rng(1).normal(0, 0.004, share.shape).astype(np.float32)
    grey = np.rint(255 * (1.055 * np.clip(light, 0.004, 1) ** (1 / 2.4) - 0.055)).astype(np.uint8)
    held = io.BytesIO()
    Image.fromarray(np.repeat(grey[..., None], 3, axis=2)).save(held, "JPEG", quality=85)
    return held.getvalue()


def _best(run: Any) -> float:
    took = []
    for _ in range(REPEATS):
        began = time.perf_counter()
        run()
        took.append(time.perf_counter() - began)
    return min(took)


def measure() -> list[dict[str, Any]]:
    """A row for each picture."""
    rows = []
    for name, small in (("small in the picture", True), ("through all of it", False)):
        held = _photograph(small)
        plain = _best(lambda held=held: np.asarray(Image.open(io.BytesIO(held))))
        value = _best(lambda held=held: measure_edge(open_photograph(io.BytesIO(held), "edge.jpg")))
        rows.append(
            {
                "name": f"slanted edge, 12 megapixels, {name}",
                "value": value,
                "baseline": plain,
                "against": "decoding the file",
                "ratio": value / plain,
                "budget": 1.0,
                "budget_is": "value",
            }
        )
    return rows
