"""Firings that a person struck out: left out of the group, and told."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from pegwood.instruments.shutter._group import summarise
from pegwood.instruments.shutter.analysis import DIFFER, by_firing
from pegwood.instruments.shutter.results import ShutterResult

__all__ = ["without_struck"]


def without_struck(result: ShutterResult, struck_s: Sequence[tuple[float, float]]) -> ShutterResult:
    """
    The same result without the firings that were struck out; its notes say how many there were.

    Parameters
    ----------
    result : ShutterResult
        What the analysis found.
    struck_s : sequence of (float, float)
        From when to when each struck firing lay, from the start of the recording, [s].

    Returns
    -------
    result : ShutterResult
        With the group taken anew.
    """
    if not struck_s:
        return result
    kept = tuple(shot for shot in result.shots if not any(a <= shot.at_s < b for a, b in struck_s))
    out = len(by_firing(list(result.shots))) - len(by_firing(list(kept)))
    if not out:
        return result
    summary = summarise(by_firing(list(kept)), result.marked_s, result.summary.limit)
    differ = summary.range_ev is not None and summary.range_ev > 1
    firings = "1 firing was" if out == 1 else f"{out} firings were"
    return replace(
        result,
        shots=kept,
        summary=summary,
        warnings=tuple(line for line in result.warnings if differ or line != DIFFER),
        notes=(*result.notes, f"{firings} struck out by hand and left out of the mean."),
    )
