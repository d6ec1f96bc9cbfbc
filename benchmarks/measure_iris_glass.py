"""
How long a diaphragm and a lens's glass take on a 12-megapixel photograph, against decoding the same file.

The pictures are drawn here: an eight-sided opening, and a mount around a disc with spots. The baseline reads
the file with Pillow and does nothing with it. The figure is from the file to the result.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median
from typing import Any

import numpy as np
from PIL import Image
from scipy.ndimage import gaussian_filter

from pegwood.instruments.glass import Glass, analyse_glass
from pegwood.instruments.iris import analyse_iris
from pegwood.instruments.photographs import open_photograph

SHAPE = (3000, 4000)
RUNS = 5
BUDGET_S = 1.0


def opening() -> np.ndarray:
    """An octagon of 2200 pixels across the corners, blurred and noisy, as stored numbers."""
    y, x = np.mgrid[: SHAPE[0], : SHAPE[1]].astype(np.float32)
    away = np.full(SHAPE, -np.inf, dtype=np.float32)
    for angle in np.arange(8) * np.pi / 4:
        away = np.maximum(away, (x - 2000) * np.cos(angle) + (y - 1500) * np.sin(angle) - 1016)
    return _stored(np.where(away < 0, 185.0, 20.0))


def glass(n: int) -> np.ndarray:
    """A disc in a mount with notches, and `n` spots on it, as stored numbers."""
    y, x = np.mgrid[: SHAPE[0], : SHAPE[1]].astype(np.float32)
    away, turned = np.hypot(x - 2000, y - 1500), np.arctan2(y - 1500, x - 2000)
    mount = 95 + 60 * (np.sin(17 * turned) * np.sin(5 * turned + 1) > 0.4) * (away > 1180) * (away < 1300)
    values = np.where(away < 1100, 25.0, mount)
    rng = np.random.default_rng(1)
    for _ in range(n):
        cx, cy, r = 2000 + rng.uniform(-700, 700), 1500 + rng.uniform(-700, 700), rng.uniform(15, 60)
        values[np.hypot(x - cx, y - cy) < r] = 110.0
    return _stored(values)


def _stored(values: np.ndarray) -> np.ndarray:
    noisy = gaussian_filter(values, 2.5) + 3 * np.random.default_rng(0).standard_normal(SHAPE)
    return np.clip(noisy, 0, 255).astype(np.uint8)


def measure() -> list[dict[str, Any]]:
    """
    Time both.

    Returns
    -------
    rows : list of dict
        As the benchmark command wants them.
    """
    with tempfile.TemporaryDirectory() as folder:
        paths = {}
        for name, values in (("iris", opening()), ("before", glass(30)), ("after", glass(8))):
            paths[name] = Path(folder) / f"{name}.jpg"
            Image.fromarray(values).convert("RGB").save(paths[name], quality=90)
        place = Glass(2000, 1500, 1100)
        return [
            _time("diaphragm", [paths["iris"]], lambda one: analyse_iris(one).blades == 8),
            _time("glass", [paths["before"]], lambda one: analyse_glass(one, glass=place).before is not None),
            _time(
                "glass before and after",
                [paths["before"], paths["after"]],
                lambda one, two: analyse_glass(one, two, glass=place).change is not None,
            ),
        ]


def _time(what: str, paths: list[Path], read: Callable[..., bool]) -> dict[str, Any]:
    found, plain = [], []
    for run in range(RUNS + 1):
        began = time.perf_counter()
        good = read(*(open_photograph(path) for path in paths))
        took = time.perf_counter() - began
        began = time.perf_counter()
        for path in paths:
            with Image.open(path) as image:
                image.load()
        if not good:
            raise RuntimeError(f"{what} was not read: the figure would mean nothing")
        if run:  # the first loads what is loaded once
            found.append(took)
            plain.append(time.perf_counter() - began)
    value, baseline = median(found), median(plain)
    return {
        "name": f"{what}, 12 megapixels{'' if len(paths) == 1 else ' each'}",
        "value": value,
        "baseline": baseline,
        "against": "decoding the file" if len(paths) == 1 else "decoding both files",
        "ratio": value / baseline,
        "budget": BUDGET_S * len(paths),
        "budget_is": "value",
    }
