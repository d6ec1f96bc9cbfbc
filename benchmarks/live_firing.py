"""
How soon a firing is told while the bench listens, and what listening costs.

Sound goes to the listener in pieces of 40 ms, as the page sends it. The figure is the worst of eight firings:
from last light to the moment its figure is there, the sound that had to come in first and the reading itself
together. The line and the drawing of the page come on top. The baseline is the least that could be: the
darkness the listener waits for. A second row holds the time spent listening against the sound's length.
"""

from __future__ import annotations

import time
from typing import Any

import numpy as np

from pegwood.instruments.shutter import Listener
from pegwood.instruments.shutter.live import SETTLE_S

PIECE_S, FIRINGS, GAP_S = 0.04, 8, 1.1
POLE_HZ = 3.0
SPEEDS = (125, 1000)  # 1/125 and 1/1000


def _light(rate: int, open_s: float) -> tuple[np.ndarray, list[float]]:
    """Straight edges in noise, and when each firing ends, [s]."""
    edge_s = open_s / 4
    t = np.arange(int((FIRINGS + 1) * GAP_S * rate)) / rate
    light = 0.004 * np.random.default_rng(1).standard_normal(len(t))
    ends = []
    for i in range(FIRINGS):
        since = t - 0.8 - i * GAP_S
        up, down = since / edge_s, (open_s + edge_s - since) / edge_s
        light += 0.5 * np.clip(np.minimum(up, down), 0, 1)
        ends.append(0.8 + i * GAP_S + open_s + edge_s)
    return light, ends


def _coupled(light: np.ndarray, rate: int) -> np.ndarray:
    """Behind one capacitor."""
    keep = np.exp(-2 * np.pi * POLE_HZ / rate)
    slow, out = 0.0, np.empty_like(light)
    for i, value in enumerate(light):
        slow = keep * slow + (1 - keep) * value
        out[i] = value - slow
    return out


def _listened(sound: np.ndarray, rate: int, ends: list[float], open_s: float) -> tuple[float, float]:
    """Worst time from last light to the figure, [s], and time spent over length of the sound."""
    frames = sound.astype(np.float32)[:, None]
    listener = Listener(rate, 1)
    listener.expected_s = open_s
    step, spent, told = int(PIECE_S * rate), 0.0, {}
    for start in range(0, len(frames), step):
        began = time.perf_counter()
        heard = listener.hear(frames[start : start + step])
        took = time.perf_counter() - began
        spent += took
        for one in heard:
            if one.shot is not None:
                told.setdefault(one.number, (start + step) / rate + took)
    late = [told[number] - end for number, end in enumerate(ends, 1)]
    return max(late), spent / (len(frames) / rate)


def measure() -> list[dict[str, Any]]:
    """Rows for each rate, the sensor coupled directly and through a capacitor."""
    rows: list[dict[str, Any]] = []
    for rate, speed in [(rate, speed) for rate in (48_000, 96_000, 192_000) for speed in SPEEDS]:
        light, ends = _light(rate, 1 / speed)
        for how, sound in (("DC", light), ("AC", _coupled(light, rate))):
            _listened(sound[: 2 * rate], rate, ends[:1], 1 / speed)  # once, to have everything loaded
            late, share = _listened(sound, rate, ends, 1 / speed)
            case = f"1/{speed}, {rate // 1000} kHz, {how}"
            rows.append(
                {
                    "name": f"firing told: {case}",
                    "value": late,
                    "baseline": SETTLE_S,
                    "against": "the darkness waited for",
                    "ratio": late / SETTLE_S,
                    "budget": 0.3,
                    "budget_is": "value",
                }
            )
            rows.append(
                {
                    "name": f"listening: {case}",
                    "value": share,
                    "unit": "of one core",
                    "baseline": 1.0,
                    "against": "the sound's own length",
                    "ratio": share,
                    "budget": 0.5,
                }
            )
    return rows
