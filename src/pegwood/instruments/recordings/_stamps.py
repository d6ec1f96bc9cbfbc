"""Time stamps of a table: their unit, and even steps out of them."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.recordings._recording import RefusedRecording

__all__ = ["Steps", "TimeColumn", "even_steps", "time_unit"]

_UNITS = {"s": 1.0, "ms": 1e-3, "us": 1e-6, "ns": 1e-9}
_WORDS = {
    "s": r"s|secs?|seconds?|sek|sekunden?",
    "ms": r"ms|msecs?|millis|milliseconds?|millisekunden?",
    "us": r"us|µs|μs|usecs?|micros|microseconds?|mikrosekunden?",
    "ns": r"ns|nsecs?|nanoseconds?",
}
# Without a unit in the header: rates a converter on a bench can have. The band is narrower than a factor of
# 1000 wherever only one unit is to fit, so an ambiguous step is refused rather than guessed.
_PLAUSIBLE_HZ = (800.0, 5e6)
_EVEN = 0.02  # of a step: as good as even
_GAP = 4.0  # steps: beyond this readings are missing and an edge may be lost in the gap


@dataclass(frozen=True)
class TimeColumn:
    """Which column holds the time, and in which unit."""

    index: int
    unit_s: float
    unit_name: str
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True)
class Steps:
    """Even steps behind the stamps; `resample_at` where readings must be interpolated to have them."""

    sample_rate_hz: float
    relative_u: float
    stamps_s: NDArray[np.float64]
    resample_at: NDArray[np.float64] | None = None
    warnings: tuple[str, ...] = ()


def time_unit(index: int, titles: list[str], stamps: NDArray[np.float64], shown: str) -> TimeColumn:
    """
    Unit of the time column: from the words above it, else from plain sense, and then told.

    Parameters
    ----------
    index : int
        The column.
    titles : list of str
        Cells above the column.
    stamps : array, shape (n,)
        Its numbers, in the unknown unit.
    shown : str
        Name for people.

    Returns
    -------
    column : TimeColumn
        With its unit.

    Raises
    ------
    RefusedRecording
        If more than one unit, or none, makes sense.
    """
    for title in titles:
        words = " ".join(re.split(r"[\W_]+", title.lower()))
        for unit, pattern in _WORDS.items():
            if re.search(rf"(?:^|\s)(?:{pattern})(?:\s|$)", words):
                return TimeColumn(index, _UNITS[unit], unit)
    step = float(stamps[-1] - stamps[0]) / (len(stamps) - 1)
    fitting = [u for u in ("s", "ms", "us") if _PLAUSIBLE_HZ[0] <= 1 / (step * _UNITS[u]) <= _PLAUSIBLE_HZ[1]]
    if len(fitting) != 1:
        choice = " or ".join(fitting) or "s, ms or us"
        raise RefusedRecording(
            f"{shown}: the header does not say whether time is in {choice} (step {step:g}). "
            "Name the column 'time_s', 'time_ms' or 'time_us'."
        )
    rate = 1 / (step * _UNITS[fitting[0]])
    told = (
        f"The table does not name the unit of time; {fitting[0]} was taken, "
        f"which gives {rate:.6g} samples per second."
    )
    return TimeColumn(index, _UNITS[fitting[0]], fitting[0], (told,))


def even_steps(stamps_s: NDArray[np.float64], shown: str) -> Steps:
    """
    Even steps of time behind the stamps.

    Parameters
    ----------
    stamps_s : array, shape (n,)
        Stamps that never fall, [s].
    shown : str
        Name for people.

    Returns
    -------
    steps : Steps
        Rate and, where stamps jitter, the times to interpolate at; warnings tell what was assumed.

    Raises
    ------
    RefusedRecording
        If readings are missing.
    """
    n = len(stamps_s)
    if n < 32:
        raise RefusedRecording(f"{shown}: only {n} rows. Record a whole firing with some dark around it.")
    stamps_s = stamps_s - stamps_s[0]
    k = np.arange(n, dtype=np.float64)
    slope = float(np.dot(k - k.mean(), stamps_s) / np.dot(k - k.mean(), k - k.mean()))
    residual = stamps_s - (stamps_s.mean() + slope * (k - k.mean()))
    differences = np.diff(stamps_s)
    worst = float(np.abs(residual).max())
    rate_u = float(residual.std()) * 12**0.5 / (slope * n**1.5)
    if worst <= _EVEN * slope:
        return Steps(1 / slope, rate_u, stamps_s)
    resolution = _resolution(differences)
    if resolution is not None and worst <= 1.05 * resolution:
        # rounding errors of stamps go on in step with the sampling: no averaging is claimed
        relative = resolution / (slope * n) / 3**0.5
        told = (
            f"Time stamps are rounded to {resolution:.3g} s, coarser than the sampling; "
            "even steps were taken."
        )
        return Steps(1 / slope, relative, stamps_s, None, (told,))
    step = float(np.median(differences))
    gap = int(np.argmax(differences))
    if differences[gap] > _GAP * step or step <= 0:
        raise RefusedRecording(
            f"{shown}: {differences[gap]:.3g} s are missing before row {gap + 2} of the numbers. "
            "Record again without gaps, or export a piece without one."
        )
    at_s = np.arange(0.0, stamps_s[-1], step)
    told = (
        f"Time stamps are irregular (steps from {differences.min():.3g} to {differences.max():.3g} s); "
        "readings were interpolated to even steps."
    )
    return Steps(1 / step, rate_u, stamps_s, at_s, (told,))


def _resolution(differences: NDArray[np.float64]) -> float | None:
    """Smallest unit all steps are whole multiples of, if there is one."""
    positive = differences[differences > 0]
    if not len(positive):
        return None
    unit = float(positive.min())
    multiples = differences / unit
    if np.abs(multiples - np.round(multiples)).max() > 0.05 or multiples.max() > 20:
        return None
    return unit
