"""
A torch behind a turning disc with a slot, for the tests only. Shares no code with the analysis.

The disc turns evenly; its slot has parallel sides, its window is a round hole. The light is the part of the
hole that lies between the sides: two circular segments, by the closed form of a segment's area.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy import signal

from .lightcurves import as_recording, highpass


def below(h: np.ndarray, radius: float) -> np.ndarray:
    """Share of a round hole that lies below a line at height h over its middle (area of a segment)."""
    x = np.clip(h / radius, -1, 1)
    return 1 - (np.arccos(x) - x * np.sqrt(1 - x**2)) / np.pi


@dataclass(frozen=True)
class Turning:
    """A disc, what turns it, and the gate behind it; lengths in mm, as a ruler gives them."""

    slot: float = 10.0
    radius: float = 40.0
    window: float = 2.0
    turns_s: float = 20.0  # a second
    wow: float = 0.001  # relative change of speed, from turn to turn
    seconds: float = 1.0
    rate: float = 96_000.0
    noise: float = 0.005
    lag_s: float = 0.0  # time constant of a slow sensor
    pole_hz: float = 0.0  # of an AC-coupled input
    clip: float = 0.0  # of full light
    gamma: float = 1.0  # of a sensor that is not proportional to light
    clock: float = 0.0  # relative error of the recorder's
    flicker: float = 0.0  # relative, at 100 Hz
    seed: int = 0

    def with_(self, **changes) -> Turning:
        return replace(self, **changes)

    def light(self) -> np.ndarray:
        rng = np.random.default_rng(self.seed)
        t = np.arange(int(self.seconds * self.rate)) / self.rate * (1 + self.clock)
        turns = t * self.turns_s + 0.45
        turns = turns + self.wow * np.sin(2 * np.pi * 1.3 * t + 1)  # its slope is 2 pi 1.3 wow / turns_s
        angle = 2 * np.pi * (turns - np.round(turns))
        middle = self.radius * np.sin(angle)  # of the hole, from the middle line of the slot
        near = np.abs(angle) < np.pi / 2
        half = self.slot / 2
        lit = below(half - middle, self.window / 2) - below(-half - middle, self.window / 2)
        y = np.where(near, lit, 0.0)
        if self.flicker:
            y = y * (1 + self.flicker * np.sin(2 * np.pi * 100 * t))
        if self.gamma != 1:
            y = np.clip(y, 0, None) ** self.gamma
        if self.lag_s:
            keep = np.exp(-1 / (self.rate * self.lag_s))
            y = signal.lfilter([1 - keep], [1, -keep], y)
        if self.pole_hz:
            y = highpass(y, self.pole_hz, self.rate)
        y = y + self.noise * rng.standard_normal(len(y))
        return np.minimum(y, self.clip) if self.clip else y

    def recording(self):
        return as_recording(0.5 * self.light(), self.rate)
