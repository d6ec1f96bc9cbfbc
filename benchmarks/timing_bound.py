"""
How near the effective time comes to what noise allows, by speed, by noise and by the shape of an edge.

The baseline is the Cramer-Rao bound of the two edges' places in white Gaussian noise, sigma / sqrt(sum s'^2)
for each (S. M. Kay, Fundamentals of Statistical Signal Processing: Estimation Theory, 1993, ch. 3; mark:
memory), summed numerically over the samples of the shape in hand. It holds for an estimator that is told the
light, the darkness and the shape, and the analysis is told none of them. The figure is the median error over
the quartile of the normal distribution, 0.6745. Decibels are full light over sigma, 20 log10.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from pegwood.instruments.recordings import held
from pegwood.instruments.shutter import analyse

RATE = 96_000
SPEEDS_S = (1.0, 1 / 2, 1 / 8, 1 / 30, 1 / 125, 1 / 500)
NOISES_DB = (45, 37, 30, 20, 16, 12)
EDGE_S = 0.0006
APART = 15  # firings of one recording
FIRINGS, OF_SLOW, SLOW_S = 600, 90, 0.1  # of a cell; fewer where each takes long
ROOMY_DB = 25  # above it the budget is the narrow one
NARROW, WIDE = 1.5, 2.0

Array = NDArray[np.float64]
Shape = Callable[[Array], Array]

# light at place x of an opening edge, 0 to 1, and its integral
SHAPES: dict[str, tuple[Shape, float]] = {
    "linear": (lambda x: x, 1 / 2),
    "smooth": (lambda x: 0.5 - 0.5 * np.cos(math.pi * x), 1 / 2),
    "asymmetric": (lambda x: x**1.5, 1 / 2.5),
    "of blades": (lambda x: x**2 * (1.5 - 0.5 * x), 1 / 2 - 1 / 8),
}


def edge_bound(shape: Shape, sigma: float) -> float:
    """
    Standard deviation of the place of an edge, at the least.

    Parameters
    ----------
    shape : callable
        Light at a place of the edge.
    sigma : float
        Standard deviation of a sample, of full light.

    Returns
    -------
    bound : float
        [s].
    """
    x = np.arange(0.0, 1.0, 1 / (EDGE_S * RATE)) + 0.5 / (EDGE_S * RATE)
    small = 1e-4
    low, high = np.clip(x - small, 0, 1), np.clip(x + small, 0, 1)
    slope = (shape(high) - shape(low)) / (high - low) / EDGE_S
    return sigma / math.sqrt(float(np.sum(slope**2)))


def errors(shape: str, open_s: float, sigma: float) -> tuple[list[float], int]:
    """
    Fire, and analyse.

    Parameters
    ----------
    shape : str
        Of `SHAPES`.
    open_s : float
        Effective time, [s].
    sigma : float
        Standard deviation of a sample, of full light.

    Returns
    -------
    errors : list of float
        Of the effective times, [s].
    lost : int
        Firings without a figure.
    """
    light_at, area = SHAPES[shape]
    rng = np.random.default_rng([round(1 / open_s), round(1e4 * sigma), list(SHAPES).index(shape)])
    total = open_s + 2 * (1 - area) * EDGE_S
    period = total + 0.3
    n = round(period * RATE)
    found: list[float] = []
    firings = OF_SLOW if open_s > SLOW_S else FIRINGS
    for _ in range(firings // APART):
        pieces = []
        for _ in range(APART):
            since = (np.arange(n) + rng.uniform(0, 1)) / RATE - 0.15
            x = np.clip(np.minimum(since, total - since) / EDGE_S, 0, 1)
            pieces.append(light_at(x))
        light = np.concatenate(pieces)
        seen = 0.3 * (light + sigma * rng.standard_normal(len(light)))
        result = analyse(held(seen.astype(np.float32)[:, None], RATE, "bound"))
        found += [shot.effective.value - open_s for shot in result.shots]
    return found, firings - len(found)


def measure() -> list[dict[str, Any]]:
    """
    The ratio to the bound for every speed and noise, and for every shape in moderate noise.

    Returns
    -------
    rows : list of dict
        As the benchmark command wants them.
    """
    cells = [("linear", open_s, noise) for noise in NOISES_DB for open_s in SPEEDS_S]
    cells += [(shape, 1 / 125, noise) for shape in SHAPES if shape != "linear" for noise in NOISES_DB]
    return [_row(*cell) for cell in cells]


def _row(shape: str, open_s: float, noise_db: float) -> dict[str, Any]:
    sigma = 10 ** (-noise_db / 20)
    found, lost = errors(shape, open_s, sigma)
    value = float(np.median(np.abs(found)) / stats.norm.ppf(0.75)) if found else math.nan
    baseline = math.sqrt(2) * edge_bound(SHAPES[shape][0], sigma)
    missed = f", {lost} without a figure" if lost else ""
    return {
        "name": f"{_dial(open_s)} s, {noise_db} dB, {shape} edges{missed}",
        "value": value,
        "baseline": baseline,
        "against": "the bound",
        "ratio": value / baseline,
        "budget": NARROW if noise_db > ROOMY_DB else WIDE,
    }


def _dial(open_s: float) -> str:
    return "1" if open_s == 1 else f"1/{round(1 / open_s)}"
