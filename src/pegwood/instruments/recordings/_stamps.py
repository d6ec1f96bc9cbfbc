"""Time stamps of a table: their unit, and even steps out of them."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.recordings._recording import RefusedRecording

__all__ = ["Steps", "TimeColumn", "even_steps", "time_unit", "with_missing"]

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
_ENOUGH = 1 << 18  # rows tell how stamps jitter, and what they are rounded to
_GAP = 2.5  # steps: beyond this readings are missing, and no edge may lie there
_LONGEST_GAP, _MOST_MISSING = 40.0, 0.1  # steps, of all: beyond this a whole firing may be lost


@dataclass(frozen=True)
class TimeColumn:
    """Which column holds the time, and in which unit."""

    index: int
    unit_s: float
    unit_name: str
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True)
class Steps:
    """
    Even steps behind the stamps; `resample_at` where readings must be interpolated to have them.

    `timing_u_s` is how far a stamp lies from the even step it belongs to: it may tell when the reading was
    made, or only when the clock was looked at. `gaps` as in `Recording`.
    """

    sample_rate_hz: float
    relative_u: float
    stamps_s: NDArray[np.float64]
    resample_at: NDArray[np.float64] | None = None
    warnings: tuple[str, ...] = ()
    timing_u_s: float = 0.0
    gaps: tuple[tuple[int, int], ...] = ()


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
    residual = np.arange(n, dtype=np.float64) - (n - 1) / 2
    slope = float(np.dot(residual, stamps_s) / np.dot(residual, residual))
    residual *= -slope  # in place: a long table's columns are large
    residual += stamps_s
    residual -= stamps_s.mean()
    worst = max(float(residual.max()), -float(residual.min()))
    rate_u = float(residual.std()) * 12**0.5 / (slope * n**1.5)
    if worst <= _EVEN * slope:
        return Steps(1 / slope, rate_u, stamps_s, timing_u_s=float(residual.std()))
    differences = np.diff(stamps_s)
    resolution = _resolution(differences)
    if resolution is not None and worst <= 1.05 * resolution:
        # rounding errors of stamps go on in step with the sampling: no averaging is claimed
        relative = resolution / (slope * n) / 3**0.5
        told = (
            f"Time stamps are rounded to {resolution:.3g} s, coarser than the sampling; "
            "even steps were taken."
        )
        return Steps(1 / slope, relative, stamps_s, None, (told,))
    step, jitter = _grid(stamps_s, float(np.median(differences)))
    gaps = np.flatnonzero(differences > _GAP * step)
    missing = float(np.sum(differences[gaps]))
    least, most = float(differences.min()), float(differences.max())
    if step <= 0 or missing > _MOST_MISSING * stamps_s[-1] or most > _LONGEST_GAP * step:
        gap = int(np.argmax(differences))
        raise RefusedRecording(
            f"{shown}: {differences[gap]:.3g} s are missing before row {gap + 2} of the numbers. "
            "Record again without gaps, or export a piece without one."
        )
    del differences, residual
    at_s = np.arange(0.0, stamps_s[-1], step)
    remarks = [
        f"Time stamps are irregular (steps from {least:.3g} to {most:.3g} s); "
        "readings were interpolated to even steps."
    ]
    if len(gaps):
        remarks.append(
            f"Readings are missing in {len(gaps)} places, {missing:.2g} s in all: a firing that opens or "
            "closes there is not measured, and one that is shorter would not be seen."
        )
    ends = [(int(stamps_s[i] / step), int(stamps_s[i + 1] / step) + 1) for i in gaps]
    rate_u = jitter * 12**0.5 / (step * n**1.5)
    return Steps(1 / step, rate_u, stamps_s, at_s, tuple(remarks), jitter, tuple(ends))


def _grid(stamps_s: NDArray[np.float64], step: float) -> tuple[float, float]:
    """Even step of stamps of which some may be missing, and how far they lie from a multiple of it (rms)."""
    if step <= 0:
        return step, 0.0
    for _ in range(3):
        better = float(stamps_s[-1]) / _steps_in(stamps_s, step)
        step = better if abs(better / step - 1) < 0.02 else step
    some = stamps_s[:_ENOUGH]
    away = some - np.cumsum(np.round(np.diff(some, prepend=0.0) / step)) * step
    # a step that was rounded wrong shows as a jump that stays; the middle of its neighbours follows it
    return step, float(np.sqrt(np.mean((away - _local_mean(away)) ** 2)))


def _steps_in(stamps_s: NDArray[np.float64], step: float) -> float:
    """Steps from the first stamp to the last; in pieces, for a long table's column is large."""
    parts = (stamps_s[i : i + _ENOUGH + 1] for i in range(0, len(stamps_s) - 1, _ENOUGH))
    return max(1.0, sum(float(np.round(np.diff(part) / step).sum()) for part in parts))


def _local_mean(y: NDArray[np.float64], n: int = 33) -> NDArray[np.float64]:
    """Mean of n neighbours, of fewer at the ends."""
    sums = np.concatenate(([0.0], np.cumsum(y)))
    k = np.arange(len(y))
    low, high = np.maximum(k - n // 2, 0), np.minimum(k + n // 2 + 1, len(y))
    mean: NDArray[np.float64] = (sums[high] - sums[low]) / (high - low)
    return mean


def with_missing(stamps_s: NDArray[np.float64], shown: str) -> tuple[NDArray[np.float64], tuple[str, ...]]:
    """
    Stamps with those that were not written put in from the rows beside them.

    Parameters
    ----------
    stamps_s : array, shape (n,)
        nan where there is none, [s].
    shown : str
        Name for people.

    Returns
    -------
    stamps, warnings : array, shape (n,), and tuple of str
        What was put in is told.

    Raises
    ------
    RefusedRecording
        If the rows beside them do not tell: there are fewer steps of time than rows, or more.
    """
    lacks = np.isnan(stamps_s)
    if not lacks.any():
        return stamps_s, ()
    rows, given = np.arange(len(stamps_s)), np.flatnonzero(~lacks)
    apart, rows_apart = np.diff(stamps_s[given]), np.diff(given)
    step = float(np.median(apart[rows_apart == 1])) if (rows_apart == 1).any() else 0.0
    unsure = (rows_apart > 1) & (
        np.abs(apart - rows_apart * step) > max(1.5 * step, 0.25 * step * rows_apart.max())
    )
    if unsure.any():
        at = int(given[np.argmax(unsure)]) + 2
        raise RefusedRecording(
            f"{shown}: row {at} of the numbers has no time, and the rows beside it do not tell it. "
            "Remove the rows without a time at that place."
        )
    n = int(lacks.sum())
    told = f"{'A row has' if n == 1 else f'{n} rows have'} no time stamp; it was taken from the rows beside."
    ends = (rows - np.clip(rows, given[0], given[-1])) * step  # before the first stamp, after the last
    return np.interp(rows, given, stamps_s[given]) + ends, (told,)


def _resolution(differences: NDArray[np.float64]) -> float | None:
    """Smallest unit the steps are whole multiples of, if there is one; the first steps stand for all."""
    differences = differences[:_ENOUGH]
    positive = differences[differences > 0]
    if not len(positive):
        return None
    unit = float(positive.min())
    multiples = differences / unit
    if np.abs(multiples - np.round(multiples)).max() > 0.05 or multiples.max() > 20:
        return None
    return unit
