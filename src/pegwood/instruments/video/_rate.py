"""How fast the frames were captured, and how far their time stamps can be believed."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.recordings import RefusedRecording

__all__ = ["NOMINAL_U", "Beat", "Rate", "beat_of", "rate_of"]

_SLOW_MOTION_FPS = 100.0  # stamps from here on are those of a recording at full speed
_UNLIKE = 1.8  # between two speeds of replay in one file
_AGREE = 0.05
_GAP = 1.5  # of a frame period
_GAPS_SHARE = 0.2
_EVEN = 0.3  # of a frame period
_COUNTED = 0.01  # of a tick
NOMINAL_U = 0.001 / math.sqrt(3)
"""Relative standard uncertainty of a rate that was told: 240 may be 240/1.001 (NTSC's ratio; practice)."""

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Rate:
    """
    Frames a second: captured, and by the stamps.

    Parameters
    ----------
    captured_fps : float
        While it was filmed, [1/s].
    stamped_fps : float
        As the file replays, [1/s].
    source : "told", "notes" or "stamps"
        From whom the first is: the person, the file's own notes, its stamps.
    warnings : tuple of str
        What was assumed.
    """

    captured_fps: float
    stamped_fps: float
    source: str
    warnings: tuple[str, ...]


@dataclass(frozen=True)
class Beat:
    """
    Stamps of the frames around one firing.

    Parameters
    ----------
    numbers : array of int, shape (n,)
        Number of each frame, counting those that are missing.
    period_s : float
        From frame to frame, in the file's own time, [s].
    period_u : float
        Its relative standard uncertainty, [-].
    jitter_s : float
        What the stamps stray from even steps by, root mean square, in the file's own time, [s].
    is_torn : bool
        True where so many are missing that the speed of replay changes, or the stamps make no sense.
    """

    numbers: NDArray[np.int64]
    period_s: float
    period_u: float
    jitter_s: float
    is_torn: bool


def rate_of(stamps_s: Array, told_fps: float | None, noted_fps: float | None, shown: str) -> Rate:
    """
    The rate of capture from what was told, what the file notes, or else its stamps.

    Parameters
    ----------
    stamps_s : array, shape (n,)
        As recorded, rising, [s].
    told_fps : float or None
        As the person says, [1/s].
    noted_fps : float or None
        As the file's own notes say, [1/s].
    shown : str
        Name for people.

    Returns
    -------
    rate : Rate
        With what was assumed.

    Raises
    ------
    RefusedRecording
        If stamps alone can't tell: a slowed-down recording and an ordinary one look alike.
    """
    steps = np.diff(stamps_s)
    usual = float(np.median(steps))
    stamped = 1 / float(steps[np.abs(steps / usual - 1) < _GAP - 1].mean())  # rounded stamps alternate
    slow, fast = (float(np.quantile(steps, q)) for q in (0.95, 0.05))
    changes = slow > _UNLIKE * fast
    warnings: list[str] = []
    if told_fps is not None:
        captured, source = told_fps, "told"
    elif noted_fps is not None:
        captured, source = noted_fps, "notes"
        warnings.append(f"Captured at {captured:g} frames a second, as the file's own notes say.")
    else:
        if changes:
            raise RefusedRecording(
                f"{shown}: its time stamps change their pace, as where a phone slows down a part only. Say "
                "how fast it filmed, such as 240 frames a second."
            )
        if stamped < _SLOW_MOTION_FPS:
            raise RefusedRecording(
                f"{shown}: its time stamps say {stamped:.4g} frames a second, which may be slow motion "
                f"replayed slowly. Say how fast it was filmed, such as 240, or {stamped:.3g} if it is no "
                "slow motion."
            )
        captured, source = stamped, "stamps"
        warnings.append(
            f"That it was filmed at {stamped:.4g} frames a second is taken from the file's time stamps; say "
            "how fast it was filmed if you know better."
        )
    if abs(captured / stamped - 1) > _AGREE:
        warnings.append(
            f"The time stamps run {captured / stamped:.3g} times slower than it was filmed ({stamped:.4g} "
            f"against {captured:g} frames a second): times are counted in frames of 1/{captured:g} s."
        )
    return Rate(captured, stamped, source, tuple(warnings))


def beat_of(stamps_s: Array, tick_s: float) -> Beat:
    """
    Even steps behind the stamps of a short stretch.

    Parameters
    ----------
    stamps_s : array, shape (n,)
        As recorded, rising, at least 3, [s].
    tick_s : float
        Smallest step the file's stamps can take, [s].

    Returns
    -------
    beat : Beat
        Numbers of the frames, and their period.
    """
    steps = np.diff(stamps_s)
    period = float(np.median(steps))
    # stamps that are rounded to coarse ticks alternate: the median alone may be half a tick off
    numbers = np.concatenate([[0], np.cumsum(np.maximum(1, np.round(steps / period)))])
    for _ in range(3):
        k = numbers - numbers.mean()
        t = stamps_s - stamps_s.mean()
        period = float(k @ t) / float(k @ k)
        numbers = np.concatenate([[0], np.cumsum(np.maximum(1, np.round(steps / period)))])
    residual = (stamps_s - stamps_s.mean()) - period * (numbers - numbers.mean())
    n = len(stamps_s)
    jitter = float(residual.std())
    # stamps in even ticks are a count of frames at a nominal rate; rounded ones may be rounded in step
    is_count = jitter < _COUNTED * tick_s
    u = NOMINAL_U if is_count else 2 * jitter * math.sqrt(12) / n**1.5 / period
    gaps = float(np.mean(steps > _GAP * period))
    torn = gaps > _GAPS_SHARE or bool(np.abs(residual).max() > max(_EVEN * period, 1.05 * tick_s))
    return Beat(numbers.astype(np.int64), period, u, jitter, torn)
