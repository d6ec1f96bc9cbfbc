"""
Tables of a microcontroller whose clock stamps badly, for the tests only. Shares no code with the analysis.

Every class has the instants at which light was read, and what was written of them.
"""

from __future__ import annotations

import io
from collections.abc import Callable

import numpy as np

from pegwood.instruments.recordings import Recording, open_recording

from .lightcurves import EDGES, Firing

Stamps = tuple[np.ndarray, np.ndarray, np.ndarray]  # instants, stamps (nan: none), rows that are kept
Kind = Callable[[np.random.Generator, np.ndarray, float], Stamps]

_ALL = np.array([], dtype=int)


def _kept(n: int, lost: np.ndarray = _ALL) -> np.ndarray:
    kept = np.ones(n, dtype=bool)
    kept[lost] = False
    return kept


def irregular(rng: np.random.Generator, t: np.ndarray, step: float) -> Stamps:
    """It reads when it has time to, and writes down when that was."""
    at = t + 0.15 * step * rng.standard_normal(len(t))
    return at, at, _kept(len(t))


def very_irregular(rng: np.random.Generator, t: np.ndarray, step: float) -> Stamps:
    """Steps between nothing and twice the usual."""
    at = np.sort(t + rng.uniform(-0.5, 0.5, len(t)) * step)
    return at, at, _kept(len(t))


def noisy(rng: np.random.Generator, t: np.ndarray, step: float) -> Stamps:
    """It reads evenly and looks at its clock some time later."""
    return t, t + 0.15 * step * rng.standard_normal(len(t)), _kept(len(t))


def late(rng: np.random.Generator, t: np.ndarray, step: float) -> Stamps:
    """The same, seldom and then much later: something else came first."""
    held = np.where(rng.random(len(t)) < 0.05, rng.uniform(0, 0.9, len(t)), 0.0)
    return t, t + held * step, _kept(len(t))


def hidden(rng: np.random.Generator, t: np.ndarray, step: float) -> Stamps:
    """It reads unevenly and writes down even stamps."""
    return t + 0.15 * step * rng.standard_normal(len(t)), t, _kept(len(t))


def dropped(rng: np.random.Generator, t: np.ndarray, step: float) -> Stamps:
    """One row in fifty is lost."""
    return t, t, _kept(len(t), np.flatnonzero(rng.random(len(t)) < 0.02))


def dropped_in_blocks(rng: np.random.Generator, t: np.ndarray, step: float) -> Stamps:
    """Three rows in a row are lost, often."""
    starts = np.flatnonzero(rng.random(len(t) - 3) < 0.01)
    return t, t, _kept(len(t), np.unique(starts[:, None] + np.arange(3)))


def coarse(rng: np.random.Generator, t: np.ndarray, step: float) -> Stamps:
    """A clock of whole milliseconds."""
    return t, np.floor(t / 1e-3) * 1e-3, _kept(len(t))


def cells_missing(rng: np.random.Generator, t: np.ndarray, step: float) -> Stamps:
    """One stamp in thirty was not written."""
    return t, np.where(rng.random(len(t)) < 1 / 30, np.nan, t), _kept(len(t))


def even(rng: np.random.Generator, t: np.ndarray, step: float) -> Stamps:
    """A good clock."""
    return t, t, _kept(len(t))


KINDS: dict[str, Kind] = {
    "even": even,
    "irregular": irregular,
    "very irregular": very_irregular,
    "noisy": noisy,
    "late": late,
    "hidden": hidden,
    "dropped": dropped,
    "dropped in blocks": dropped_in_blocks,
    "coarse": coarse,
    "cells missing": cells_missing,
}


def session(
    kind: str,
    seed: int,
    *,
    rate: float = 10_000.0,
    te: float = 1 / 125,
    n: int = 5,
    full: float = 200.0,
    noise: float = 1.0,
) -> tuple[Recording, list[Firing]]:
    """
    A table with some firings in it.

    Parameters
    ----------
    kind : str
        One of `KINDS`.
    seed : int
        Which one.
    rate : float
        Readings per second; the clock is off by 30 ppm, [Hz].
    te : float
        Effective time, about, [s].
    n : int
        Firings.
    full, noise : float
        Full light and noise in steps of the converter.

    Returns
    -------
    recording, firings : Recording, list of Firing
        What was opened, and the truth.
    """
    rng = np.random.default_rng([seed, len(kind), round(rate)])
    edge = str(rng.choice(list(EDGES)))
    firings, at = [], 0.25
    for _ in range(n):
        opening, closing = rng.uniform(0.1, 0.35, 2) * te
        one = Firing(at + rng.uniform(0, 0.01), opening, te - 0.5 * (opening + closing), closing, edge)
        firings.append(one)
        at = one.at + one.total + 0.25
    t = np.arange(round((at + 0.05) * rate)) / rate
    instants, stamps, kept = KINDS[kind](rng, t, 1 / rate)
    light = sum(one.light(instants) for one in firings)
    read = np.clip(np.round(20 + full * light + noise * rng.standard_normal(len(t))), 0, 255)
    micros = np.round(np.maximum.accumulate(np.where(np.isnan(stamps), -np.inf, stamps)) * 1e6)
    rows = [
        f"{'' if np.isnan(stamp) else format(m, '.0f')},{y:.0f}\n"
        for stamp, m, y, keep in zip(stamps, micros, read, kept, strict=True)
        if keep
    ]
    return open_recording(io.BytesIO(("time_us,adc\n" + "".join(rows)).encode()), "table.csv"), firings
