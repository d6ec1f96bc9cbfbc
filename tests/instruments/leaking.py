"""
Strips fogged by a leak at a known place, drawn from the physics of each; shares nothing with the analysis.

Light is added to the film's exposure. x counts from the strip's left end, y from its middle, down, in
millimetres. The cassette lies to the right in these strips: upright, right-reading, the film ran from left
to right.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from .strips import Camera, Strip, at_spacing

PLACES = (
    "gate side",
    "back seal, top",
    "back seal, bottom",
    "cassette",
    "hinge side",
    "lens board or bellows",
    "none",
)


def _ripple(rng, count: int = 5):
    """Something between 0.6 and 1.4, slowly changing, for streaks."""
    waves = [(rng.uniform(0.1, 1.2), rng.uniform(0, 6.3), rng.uniform(0.05, 0.15)) for _ in range(count)]
    return lambda at: 1 + sum(a * np.sin(k * at + p) for k, p, a in waves)


def _back_seal(rng, strip: Strip, level: float, sign: int):
    """From one edge of the film, over the holes: a streak while it moved, or spots where it stood."""
    reach = rng.uniform(2.0, 7.0)
    way = rng.choice(["all along", "at rest", "part"])
    ripple = _ripple(rng)
    at, width = rng.uniform(-5, 40), rng.uniform(4, 12)
    low = rng.uniform(0, 0.5) * strip.end
    high = low + rng.uniform(0.25, 0.5) * strip.end
    pitch = strip.starts[1] - strip.starts[0]

    def fog(x, y):
        inward = np.exp(-(strip.width / 2 - sign * y) / reach)
        if way == "all along":
            course = ripple(x)
        elif way == "at rest":
            phase = (x - at + pitch / 2) % pitch - pitch / 2
            course = np.exp(-((phase / width) ** 2) / 2)
        else:
            course = 1 / (1 + np.exp(-(x - low) / 3)) / (1 + np.exp((x - high) / 3))
        return level * inward * course

    return fog


def _cassette(rng, strip: Strip, level: float):
    """Strongest at the cassette's end and fading along, right across; streaked by the felt."""
    reach = rng.uniform(10, 60)
    streaks = _ripple(rng)
    end = "right" if rng.uniform() < 0.8 else "left"

    def fog(x, y):
        gone = strip.end - x if end == "right" else x
        return level * np.exp(-gone / reach) * streaks(y)

    return fog


def _hinge(rng, strip: Strip, level: float):
    """Bands right across, where the film stood between the gate and the spool; now and then one only."""
    width = rng.uniform(2, 6)
    once = rng.uniform() < 0.3
    pitch = strip.starts[1] - strip.starts[0]
    at = strip.starts[rng.integers(len(strip.starts))] - rng.uniform(0, 14)
    at = at + pitch if at < 3 else at
    tilt = rng.uniform(-0.15, 0.15)
    streaks = _ripple(rng)

    def fog(x, y):
        lying = x - at - tilt * y
        if not once:
            lying = (lying + pitch / 2) % pitch - pitch / 2
        return level * np.exp(-((lying / width) ** 2) / 2) * streaks(y)

    return fog


def _in_frames(strip: Strip, rng, shape, spill: float):
    """The same shape in every frame, cut off by the gate, a little more or less of it."""
    strength = rng.uniform(0.7, 1.3, len(strip.starts))

    def fog(x, y):
        out = np.zeros(np.broadcast(x, y).shape)
        for start, much in zip(strip.starts, strength, strict=True):
            u = x - start
            inside = (u > -spill) & (u < strip.frame[0] + spill) & (np.abs(y) < strip.frame[1] / 2)
            out = out + np.where(inside, much * shape(u, y), 0)
        return out

    return fog


def _gate(rng, strip: Strip, level: float):
    """From one side of the gate, fading into the frame, a part of its height or all."""
    reach, side = rng.uniform(2, 7), rng.choice([-1, 1])
    centre, high = rng.uniform(-9, 9), rng.choice([3.0, 6.0, 40.0])

    def shape(u, y):
        gone = u if side < 0 else strip.frame[0] - u
        return level * np.exp(-np.maximum(gone, 0) / reach) * np.exp(-(((y - centre) / high) ** 2) / 2)

    return _in_frames(strip, rng, shape, rng.choice([0.0, 0.7]))


def _front(rng, strip: Strip, level: float):
    """A spot or a streak inside the frame, soft, cut off by the gate."""
    u0, y0 = rng.uniform(9, 27), rng.uniform(-7, 7)
    long, short, turn = rng.uniform(4, 9), rng.uniform(2.5, 5), rng.uniform(0, 3.1)

    def shape(u, y):
        a = (u - u0) * np.cos(turn) + (y - y0) * np.sin(turn)
        b = -(u - u0) * np.sin(turn) + (y - y0) * np.cos(turn)
        return level * np.exp(-((a / long) ** 2 + (b / short) ** 2) / 2)

    return _in_frames(strip, rng, shape, 0.0)


def leaking(place: str, seed: int, *, weakest: float = 0.05, strongest: float = 0.6) -> tuple[Strip, Camera]:
    """A strip with a leak at a place, and how it was taken."""
    rng = np.random.default_rng([seed, PLACES.index(place), 41])
    count = int(rng.integers(4, 7))
    strip = at_spacing(
        rng.normal(38.0, 0.08, count - 1),
        seed=int(rng.integers(1 << 30)),
        kind=str(rng.choice(["negative", "negative", "negative", "slide", "inverted"])),
        surround=str(rng.choice(["table", "holder"])),
        first_hole=rng.uniform(0.5, 4.2),
    )
    level = float(np.exp(rng.uniform(np.log(weakest), np.log(strongest))))
    if place.startswith("lens") or place.startswith("gate"):
        level *= 8  # it has to show among pictures, where a middle grey is exposed to 0.3
    make = {
        "gate side": _gate,
        "back seal, top": lambda *a: _back_seal(*a, -1),
        "back seal, bottom": lambda *a: _back_seal(*a, 1),
        "cassette": _cassette,
        "hinge side": _hinge,
        "lens board or bellows": _front,
        "none": lambda *_: None,
    }
    strip = replace(strip, fog=make[place](rng, strip, level))
    camera = Camera(
        size=(1500, 440 if count < 5 else 370),
        turn=rng.uniform(-2.5, 2.5),
        tilt=(rng.uniform(-0.05, 0.05), rng.uniform(-0.03, 0.03)),
        uneven=rng.uniform(0, 0.3),
        blur=rng.uniform(0.6, 1.2),
        noise=rng.uniform(0.003, 0.01),
        level=rng.uniform(0.75, 0.95),
        fill=0.9,
        samples=2,
        seed=seed,
    )
    return strip, camera
