"""Time stamps of a table: their unit, and even steps out of them."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import median_filter, uniform_filter1d

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
_ENOUGH = 1 << 18  # rows tell what stamps are rounded to; looked at in one piece
_GAP = 2.5  # steps: beyond this readings are missing, and no edge may lie there
_NEIGHBOURS, _MORE = 33, 257  # rows, the even steps of a stamp among them
_IN_STEP = 0.8  # of the phases' mean: less, and the step itself is not known well enough
_WHOLE = 0.95  # steps: from here on a row is missing, and the stamp is not late
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

    `stray` is how far each stamp lies from the even step it belongs to, in steps: it may tell when the
    reading was made, or only when the clock was looked at. `gaps` as in `Recording`.
    """

    sample_rate_hz: float
    relative_u: float
    stamps_s: NDArray[np.float64]
    resample_at: NDArray[np.float64] | None = None
    warnings: tuple[str, ...] = ()
    stray: NDArray[np.float32] | None = None
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
        return Steps(1 / slope, rate_u, stamps_s)
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
    step = _grid(stamps_s, float(np.median(differences)))
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
    stray = _stray(stamps_s, step)
    rate_u = float(stray.std(dtype=np.float64)) * 12**0.5 / n**1.5
    return Steps(1 / step, rate_u, stamps_s, at_s, tuple(remarks), stray, tuple(ends))


def _grid(stamps_s: NDArray[np.float64], step: float) -> float:
    """Even step of stamps of which some may be missing."""
    if step <= 0:
        return step
    for _ in range(3):
        better = float(stamps_s[-1]) / _steps_in(stamps_s, step)
        step = better if abs(better / step - 1) < 0.02 else step
    return step


def _stray(stamps_s: NDArray[np.float64], step: float) -> NDArray[np.float32]:
    """
    How far stamps lie from even steps, in steps; in pieces, for a long table's column is large.

    Against the median of the neighbours, which neither a step that is a little off nor a stamp that is late
    moves, and which follows at once where rows are lost; what that median strays by itself, against the mean
    phase of more of them.
    """
    stray = np.zeros(len(stamps_s), np.float32)
    for i in range(0, len(stamps_s), _ENOUGH):
        low = max(0, i - _MORE)
        piece = stamps_s[low : i + _ENOUGH + _MORE] / step
        piece -= np.arange(len(piece))
        middle = median_filter(piece, _NEIGHBOURS, mode="nearest")
        away = piece - middle
        away -= np.where(np.abs(away) > _WHOLE, np.round(away), 0.0)  # lost rows so near each other
        turns = np.exp(2j * np.pi * middle)
        phase = uniform_filter1d(turns, _MORE, mode="nearest")
        away += np.where(np.abs(phase) > _IN_STEP, np.angle(turns * np.conj(phase)), 0.0) / (2 * np.pi)
        stray[i : i + _ENOUGH] = away[i - low : i - low + _ENOUGH]
    return stray


def _steps_in(stamps_s: NDArray[np.float64], step: float) -> float:
    """Steps from the first stamp to the last; in pieces, for a long table's column is large."""
    parts = (stamps_s[i : i + _ENOUGH + 1] for i in range(0, len(stamps_s) - 1, _ENOUGH))
    return max(1.0, sum(float(np.round(np.diff(part) / step).sum()) for part in parts))


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
