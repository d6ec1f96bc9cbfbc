"""
What a light gate hears when no shutter fires, for the tests only. Shares no code with the analysis.

Everything is drawn from seeded noise and events and shaped with the filters of scipy.signal; what lies behind
capacitors has passed its Butterworth high-pass.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from scipy.signal import butter, lfilter, sosfilt

Light = Callable[[np.random.Generator, int, float], np.ndarray]


def noise(rng: np.random.Generator, n: int, rate: float) -> np.ndarray:
    """White, and some that wanders."""
    return rng.standard_normal(n) + 0.5 * lfilter([0.05], [1, -0.995], rng.standard_normal(n))


def hum(rng: np.random.Generator, n: int, rate: float) -> np.ndarray:
    """The mains and its harmonics, a little off its frequency and waxing and waning."""
    t = np.arange(n) / rate
    mains = rng.choice([50.0, 60.0]) * (1 + rng.normal(0, 4e-4))
    grown = 1 + 0.3 * np.sin(2 * np.pi * rng.uniform(0.01, 0.2) * t)
    y = np.zeros(n)
    for k in range(1, 12):
        y += rng.uniform(0, 1) / k * np.sin(2 * np.pi * k * mains * t + rng.uniform(0, 6))
    return 40 * grown * y


def _at(rng: np.random.Generator, n: int, rate: float, every_s: float) -> np.ndarray:
    """Instants of a Poisson process, at least three."""
    return np.sort(rng.integers(0, n, max(3, rng.poisson(n / rate / every_s))))


def bumps(rng: np.random.Generator, n: int, rate: float) -> np.ndarray:
    """Knocks at a cable or a bench: short shocks that set something ringing."""
    y = np.zeros(n)
    for at in _at(rng, n, rate, 8.0):
        long = min(n - at, round(0.6 * rate))
        if long < 8:
            continue
        shock = np.zeros(long)
        width = max(1, round(rng.exponential(0.003) * rate))
        shock[:width] = rng.choice([-1, 1])
        low, high = sorted(rng.uniform(15, 400, 2))
        band = butter(1, [low, high + 20], "bandpass", fs=rate, output="sos")
        rung = sosfilt(band, shock)
        y[at : at + long] += 600 * rng.uniform(0.1, 1) * rung / max(np.abs(rung).max(), 1e-9)
    return y


def thuds(rng: np.random.Generator, n: int, rate: float) -> np.ndarray:
    """Low thuds: a door, a step on the floor."""
    y = np.zeros(n)
    for at in _at(rng, n, rate, 9.0):
        long = min(n - at, round(1.5 * rate))
        t = np.arange(long) / rate
        y[at : at + long] += (
            rng.choice([-1, 1])
            * rng.uniform(50, 500)
            * np.exp(-t / rng.uniform(0.05, 0.3))
            * np.sin(2 * np.pi * rng.uniform(6, 40) * t)
        )
    return y


def handling(rng: np.random.Generator, n: int, rate: float) -> np.ndarray:
    """Rubbing and fumbling: bursts of noise in a band."""
    y = np.zeros(n)
    for at in _at(rng, n, rate, 7.0):
        long = min(n - at, round(rng.uniform(0.05, 1.5) * rate))
        if long < 64:
            continue
        low = rng.uniform(20, 300)
        band = butter(2, [low, 4 * low], "bandpass", fs=rate, output="sos")
        rub = sosfilt(band, rng.standard_normal(long)) * np.hanning(long)
        y[at : at + long] += 400 * rng.uniform(0.1, 1) * rub / max(np.abs(rub).max(), 1e-9)
    return y


def clicks(rng: np.random.Generator, n: int, rate: float) -> np.ndarray:
    """Bad contacts and static: a reading or two that jump."""
    y = np.zeros(n)
    for at in _at(rng, n, rate, 4.0):
        y[at : at + int(rng.integers(1, 3))] += rng.choice([-1, 1]) * rng.uniform(50, 900)
    return y


def drift(rng: np.random.Generator, n: int, rate: float) -> np.ndarray:
    """The light around goes up and down: clouds, a heater, a lamp that warms up."""
    t = np.arange(n) / rate
    y = 300 * (1 - np.exp(-t / rng.uniform(20, 200)))
    for _ in range(4):
        y += rng.uniform(20, 200) * np.sin(2 * np.pi * t * rng.uniform(0.002, 0.1) + rng.uniform(0, 6))
    return y


def lamp(rng: np.random.Generator, n: int, rate: float) -> np.ndarray:
    """A lamp on mains that shines steadily but for its ripple, and wavers."""
    t = np.arange(n) / rate
    mains = rng.choice([100.0, 120.0]) * (1 + rng.normal(0, 4e-4))
    slow = lfilter([1e-3], [1, -0.999], rng.standard_normal(n))
    return 500 * (1 + rng.uniform(0.02, 0.4) * np.cos(2 * np.pi * mains * t) + slow)


def room_light(rng: np.random.Generator, n: int, rate: float) -> np.ndarray:
    """
    The room's lamp goes on, and off some seconds later.

    A filament warms and cools with a time constant, and ripples; a fluorescent or diode lamp
    comes within a few periods of the mains, and ripples more.
    """
    t = np.arange(n) / rate
    y = np.zeros(n)
    begin = rng.uniform(1, 4)
    while begin < n / rate:
        end = begin + rng.uniform(4, 12)
        on, off = np.exp(rng.uniform(np.log(0.004), np.log(0.15), 2))
        kind = rng.choice(["filament", "driver"])
        ripple = rng.uniform(0.05, 0.15) if kind == "filament" else rng.uniform(0.1, 0.5)
        if kind == "driver":
            on, off = 0.003, 0.01
        lit = np.where(
            t < end, 1 - np.exp(-np.clip(t - begin, 0, None) / on), np.exp(-np.clip(t - end, 0, None) / off)
        )
        y += 400 * np.where(t > begin, lit, 0) * (1 + ripple * np.cos(2 * np.pi * 100 * t))
        begin = end + rng.uniform(4, 12)
    return y


NOTHINGS: dict[str, Light] = {
    "noise": noise,
    "hum": hum,
    "bumps": bumps,
    "thuds": thuds,
    "handling": handling,
    "clicks": clicks,
    "drift": drift,
    "lamp": lamp,
    "room light": room_light,
}

#: Corners of the input, [Hz]: none, one, or two capacitors.
INPUTS: dict[str, tuple[float, ...]] = {
    "direct": (),
    "0.3 Hz": (0.3,),
    "2 Hz": (2.0,),
    "20 Hz": (20.0,),
    "two of 5 Hz": (5.0, 5.0),
}


def heard(what: str, through: str, seconds: float, seed: int, rate: float = 8000.0) -> np.ndarray:
    """
    A recording in which nothing fires.

    Parameters
    ----------
    what : str
        One of `NOTHINGS`, or "everything".
    through : str
        One of `INPUTS`.
    seconds : float
        Length, [s].
    seed : int
        Which one.
    rate : float
        Samples per second, [Hz].

    Returns
    -------
    y : array, shape (n,)
        Full scale is 1.
    """
    rng = np.random.default_rng([seed, len(what), len(through)])
    n = round(seconds * rate)
    kinds = NOTHINGS if what == "everything" else {what: NOTHINGS[what]}
    y = 2.0 * noise(rng, n, rate)
    for kind in kinds.values():
        y += kind(rng, n, rate)
    for corner in INPUTS[through]:
        y = sosfilt(butter(1, corner, "highpass", fs=rate, output="sos"), y)
    return np.clip(y / 2000, -1, 1 - 2.0**-15)
