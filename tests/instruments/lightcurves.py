"""
Light curves of a shutter with their exact figures, for the tests only. Shares no code with the analysis.

The closed forms are elementary integrals: an edge of duration r whose light rises as s(x), x = t / r from
0 to 1, holds the exposure r * integral of s from 0 to 1.
"""

from __future__ import annotations

import io
from dataclasses import dataclass, field, replace

import numpy as np
import soundfile

from pegwood.instruments.recordings import Recording, open_recording

# name: (light at place x of an opening edge, its integral from 0 to 1, place of half light)
EDGES = {
    "linear": (lambda x: x, 1 / 2, 0.5),
    # clear radius grows evenly, light with its square
    "square": (lambda x: x**2, 1 / 3, 0.5**0.5),
    "cosine": (lambda x: 0.5 - 0.5 * np.cos(np.pi * x), 1 / 2, 0.5),
    # lopsided, as a blade that starts gently and is stopped hard
    "lopsided": (lambda x: x**1.5, 1 / 2.5, 0.5 ** (1 / 1.5)),
    # gentle at both ends, flatter than a cosine
    "smoothstep": (lambda x: x**3 * (10 - 15 * x + 6 * x**2), 1 / 2, 0.5),
    # starts hard and settles gently
    "rounded": (lambda x: 1 - (1 - x) ** 2, 2 / 3, 1 - 0.5**0.5),
}


@dataclass(frozen=True)
class Firing:
    """One firing: first light at `at`, edges and the time fully open between them, all in seconds."""

    at: float
    opening: float
    plateau: float
    closing: float
    edge: str = "linear"
    height: float = 1.0
    bounces: tuple[
        tuple[float, float, float], ...
    ] = ()  # after the end: delay, duration, height of a half sine

    @property
    def total(self) -> float:
        return self.opening + self.plateau + self.closing

    @property
    def effective(self) -> float:
        area = EDGES[self.edge][1]
        extra = sum(2 / np.pi * duration * height for _, duration, height in self.bounces)
        return self.plateau + area * (self.opening + self.closing) + extra

    @property
    def half_width(self) -> float:
        half = EDGES[self.edge][2]
        return self.total - half * (self.opening + self.closing)

    def light(self, t: np.ndarray) -> np.ndarray:
        rise, _, _ = EDGES[self.edge]
        since = t - self.at
        up = rise(np.clip(since / self.opening, 0, 1))
        down = rise(np.clip((self.total - since) / self.closing, 0, 1))
        level = np.minimum(up, down)
        for delay, duration, height in self.bounces:
            x = (since - self.total - delay) / duration
            level = level + height * np.where((x > 0) & (x < 1), np.sin(np.pi * np.clip(x, 0, 1)), 0.0)
        return self.height * level


@dataclass(frozen=True)
class Bench:
    """How a recording is made of firings: rate, noise, levels, and what else may be in it."""

    firings: tuple[Firing, ...]
    rate: float = 96_000.0
    seconds: float | None = None
    sigma: float = 0.01  # of full light
    amplitude: float = 0.5
    offset: float = 0.0
    drift: float = 0.0  # of full light, over the recording, straight
    ripple: float = 0.0  # relative amplitude of the lamp at 100 Hz
    hum: float = 0.0  # amplitude at 50 Hz, of full light
    colour: float = 0.0  # first-order autoregressive coefficient of the noise
    lit_noise: float = 1.0  # noise in full light over that in darkness
    pole_hz: float = 0.0  # high-pass: an AC-coupled input
    averaged: int = (
        4  # every sample is the mean of so many points, as behind an anti-alias filter; 1: point samples
    )
    seed: int = 0
    extra: tuple = field(default=())  # functions of time added to the light

    def samples(self) -> np.ndarray:
        rng = np.random.default_rng(self.seed)
        length = (
            self.seconds if self.seconds is not None else self.firings[-1].at + self.firings[-1].total + 0.3
        )
        n = int(length * self.rate)
        t = np.arange(n) / self.rate
        phase_100, phase_50 = rng.uniform(0, 2 * np.pi, 2)
        light = np.zeros(n)
        for firing in self.firings:
            tail = sum(d + w for d, w, _ in firing.bounces)
            low = max(0, int((firing.at - 0.001) * self.rate) - 2)
            high = min(n, int((firing.at + firing.total + tail + 0.001) * self.rate) + 3)
            steps = (np.arange(self.averaged) - (self.averaged - 1) / 2) / (self.averaged * self.rate)
            light[low:high] += np.mean([firing.light(t[low:high] + s) for s in steps], axis=0)
        clean = light.copy()
        light = light * (1 + self.ripple * np.sin(2 * np.pi * 100 * t + phase_100))
        light = light + self.drift * t / length + self.hum * np.sin(2 * np.pi * 50 * t + phase_50)
        for function in self.extra:
            light = light + function(t)
        if self.pole_hz:
            light = highpass(light, self.pole_hz, self.rate)
        noise = rng.standard_normal(n)
        if self.colour:
            for k in range(1, n):
                noise[k] = self.colour * noise[k - 1] + (1 - self.colour**2) ** 0.5 * noise[k]
        scale = 1 + (self.lit_noise - 1) * np.clip(clean, 0, 1)
        return self.offset + self.amplitude * (light + self.sigma * noise * scale)

    def recording(self, subtype: str = "DOUBLE", format: str = "WAV") -> Recording:
        return as_recording(self.samples(), self.rate, subtype, format)

    def with_(self, **changes) -> Bench:
        return replace(self, **changes)


def highpass(y: np.ndarray, pole_hz: float, rate: float) -> np.ndarray:
    """One pole, step-invariant: what a coupling capacitor does."""
    keep = np.exp(-2 * np.pi * pole_hz / rate)
    out = np.empty_like(y)
    slow = y[0]
    for k, value in enumerate(y):
        slow = keep * slow + (1 - keep) * value
        out[k] = value - slow
    return out


def as_recording(y: np.ndarray, rate: float, subtype: str = "DOUBLE", format: str = "WAV") -> Recording:
    file = io.BytesIO()
    soundfile.write(file, y, int(rate), subtype=subtype, format=format)
    file.seek(0)
    return open_recording(file, "bench.wav")
