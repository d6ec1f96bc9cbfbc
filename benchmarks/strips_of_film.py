"""
How long a strip's picture takes: 12 megapixels, six frames, against plain decoding of the same file.

The picture is plain on purpose: holes, frames, noise. What counts is its size.
"""

from __future__ import annotations

import io
import time
from collections.abc import Callable
from typing import Any

import numpy as np
from PIL import Image

from pegwood.instruments.leaks import analyse_leaks
from pegwood.instruments.photographs import open_photograph
from pegwood.instruments.transport import analyse_transport

WIDTH, HEIGHT, SCALE = 4000, 3000, 16.5
HOLE_MM, PITCH_MM = (1.981, 2.794), 4.7498


def _file() -> bytes:
    """A negative on a light table."""
    rng = np.random.default_rng(1)
    stored = np.full((HEIGHT, WIDTH), 235.0)
    top, left = 1200, 60

    def box(x: float, y: float, wide: float, high: float) -> tuple[slice, slice]:
        return (
            slice(round(top + y * SCALE), round(top + (y + high) * SCALE)),
            slice(round(left + x * SCALE), round(left + (x + wide) * SCALE)),
        )

    stored[box(0, 0, 231, 34.98)] = 185
    for n in range(6):
        rows, columns = box(1.5 + 38 * n, 5.49, 36, 24)
        coarse = rng.uniform(40, 170, (9, 13)).astype(np.uint8)
        size = (columns.stop - columns.start, rows.stop - rows.start)
        stored[rows, columns] = np.asarray(Image.fromarray(coarse).resize(size, Image.Resampling.BICUBIC))
    for n in range(48):
        for y in (2.01, 34.98 - 2.01 - HOLE_MM[1]):
            stored[box(1.2 + PITCH_MM * n, y, *HOLE_MM)] = 235
    stored += rng.normal(0, 2.5, stored.shape)
    file = io.BytesIO()
    Image.fromarray(stored.clip(0, 255).astype(np.uint8)).convert("RGB").save(file, "JPEG", quality=85)
    return file.getvalue()


def _best(work: Callable[[], Any], times: int = 3) -> float:
    spent = []
    for _ in range(times):
        began = time.perf_counter()
        work()
        spent.append(time.perf_counter() - began)
    return min(spent)


def measure() -> list[dict[str, Any]]:
    """A row for each of both."""
    held = _file()
    decoding = _best(lambda: np.asarray(Image.open(io.BytesIO(held)).convert("RGB")))
    photograph = open_photograph(io.BytesIO(held), "strip")
    rows = []
    for name, work in (("transport", analyse_transport), ("leaks", analyse_leaks)):
        value = _best(lambda work=work: work(photograph))  # type: ignore[misc]
        rows.append(
            {
                "name": f"{name} from a strip, 12 MP",
                "value": value,
                "baseline": decoding,
                "against": "decoding the picture",
                "ratio": value / decoding,
                "budget": 1.0,
                "budget_is": "value",
            }
        )
    return rows
