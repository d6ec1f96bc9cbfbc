"""
A flash contact's signal with its exact moments, for the tests only. Shares no code with the analysis.

The contact switches between two levels through a resistor that charges a capacitor: between two changes the
signal is the elementary exponential v = target + (v0 - target) exp(-(t - t0) / tau), exact at every sample.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class ContactLine:
    """Moments at which the contact changes, the first a closing, [s]; and what the line makes of them."""

    changes: tuple[float, ...]
    tau: float = 0.0
    open_level: float = 0.0
    closed_level: float = 0.6
    sigma: float = 0.002
    pole_hz: float = 0.0

    def samples(self, n: int, rate: float, rng: np.random.Generator) -> np.ndarray:
        t = np.arange(n) / rate
        level = np.full(n, self.open_level)
        value, since, target = self.open_level, 0.0, self.open_level
        for i, at in enumerate((*self.changes, np.inf)):
            inside = (t >= since) & (t < at)
            level[inside] = target + (value - target) * self._left(t[inside] - since)
            if np.isinf(at):
                break
            value = target + (value - target) * float(self._left(np.array([at - since]))[0])
            since, target = at, self.closed_level if i % 2 == 0 else self.open_level
        if self.pole_hz:
            keep, slow = np.exp(-2 * np.pi * self.pole_hz / rate), level[0]
            for k, one in enumerate(level.copy()):
                slow = keep * slow + (1 - keep) * one
                level[k] = one - slow
        return level + self.sigma * rng.standard_normal(n)

    def _left(self, t: np.ndarray) -> np.ndarray:
        return np.exp(-t / self.tau) if self.tau else np.where(t >= 0, 0.0, 1.0)
