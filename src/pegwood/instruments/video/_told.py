"""What a reader of a video's figures must know, in words."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.uncertainty import Measured
from pegwood.instruments.video._firings import Firing
from pegwood.instruments.video._frames import VideoFile
from pegwood.instruments.video._rate import Rate
from pegwood.instruments.video._trace import Trace
from pegwood.instruments.video._transfer import ASSUMED

__all__ = ["NOTHING_FOUND", "about_file", "about_light", "about_rows", "about_unread"]

NOTHING_FOUND = (
    "No firing found. The phone must see the lamp through the open shutter and nothing through the closed "
    "one, with half a second of darkness before and after each firing."
)
_TOLD = 5
_DRIFTS = 0.05
_UNSTEADY = 0.05


def about_file(video: VideoFile, trace: Trace) -> list[str]:
    """Frames that are missing, repeated or without stamps."""
    told = []
    kept = len(trace.light) + trace.dropped
    if kept < 0.98 * video.n_expected - 2:
        told.append(
            f"The file promises {video.n_expected} frames and gives {kept}: it is cut short, or was trimmed."
        )
    if trace.dropped:
        told.append(f"{trace.dropped} frames have no time stamp, or that of the frame before: left out.")
    lit = trace.light > 0.5 * (trace.light.min() + trace.light.max())
    if _repeat_in_step(trace.repeats[lit]):
        told.append(
            "Frames are repeated in step: the file holds fewer frames than it says, and the uncertainty is "
            "too small. Film at the rate the phone really has, and copy the file unchanged."
        )
    steps = np.diff(trace.stamps_s)
    gaps = int(np.sum(steps > 1.5 * np.median(steps)))
    if gaps:
        told.append(
            f"{gaps} gaps between the time stamps: frames are missing, or the pace of replay changes."
        )
    return told


def _repeat_in_step(repeats: NDArray[np.bool_]) -> bool:
    """Whether frames are repeated after a pattern, as a converter of frame rates does."""
    n = len(repeats)
    if n < 20 or not 0.15 < float(repeats.mean()) < 0.85:
        return False
    return any(float(np.mean(repeats[lag:] == repeats[:-lag])) > 0.9 for lag in (2, 3, 4, 5))


def about_light(timed: Sequence[Firing], transfer: str, video: VideoFile) -> list[str]:
    """How light was stored, and whether it is steady."""
    told = []
    if video.transfer_code in (0, 2, 3):
        told.append(
            f"The stream does not say how it stores light: {transfer} was taken ({ASSUMED} is usual)."
        )
    if any(abs(f.drift) > max(_DRIFTS, 4 * f.noise_lit / math.sqrt(max(1, f.n_full))) for f in timed):
        told.append(
            "Full light drifts while the shutter is open: the phone changes its exposure by itself, or the "
            "lamp sags. Lock the phone's exposure."
        )
    levels = [f.level for f in timed]
    spread = float(np.ptp(levels)) / float(np.mean(levels)) if levels else 0.0
    if spread > _UNSTEADY:
        told.append(
            f"Full light differs by {100 * spread:.0f} % between the firings: the phone changes its exposure "
            "by itself, or the lamp is not steady."
        )
    return told


def about_unread(unread: Sequence[tuple[float, str]]) -> list[str]:
    """Light that was seen and not timed."""
    told = [f"At {at:.3f} s in the file: not timed: {reason}." for at, reason in unread[:_TOLD]]
    if len(unread) > _TOLD:
        told.append(f"{len(unread) - _TOLD} more places were not timed.")
    return told


def about_rows(sweep: Measured | None, rate: Rate) -> str:
    """How long the rows of a frame take."""
    if sweep is None:
        return (
            "Rows are read one after another, first to last in at most one frame period "
            f"({1e3 / rate.captured_fps:.1f} ms); these firings do not show it closer."
        )
    low, high = sweep.coverage_interval()
    return (
        f"Rows are read one after another, first to last in {1e3 * low:.1f} to {1e3 * high:.1f} ms (95 %), "
        "by the edges of light in this recording; curtains that run along the rows would add to that."
    )
