"""Infinity that a lens shows because it stands at its stop, and not because the images meet."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from pegwood.instruments.rangefinder.curve import fit_curve, why_not_fitted
from pegwood.instruments.rangefinder.readings import Readings

__all__ = ["without_the_stop"]

ONE_IN_FIVE = 0.8
TOO_LITTLE = 0.25


def without_the_stop(
    readings: Readings, weigh: Callable[[float, float], float]
) -> tuple[Readings, tuple[str, ...]]:
    """
    Leave out what is cut off by the lens's stop.

    A reading is, where it was written down as beyond; or where infinity is shown and the others say, nine to
    one, that the images meet only beyond it. Then everything read at that distance or farther goes: what of
    it lies on the scale lies there by the luck of its scatter, and would draw the offset towards zero.

    Parameters
    ----------
    readings : Readings
    weigh : callable
        Standard uncertainty of a reading, [dpt], from true and shown vergence, [dpt].

    Returns
    -------
    kept : Readings
    warnings : tuple of str
    """
    told = [d for d, beyond in zip(readings.true_m, readings.beyond, strict=True) if beyond]
    cut_from = min(told, default=math.inf)
    at_stop = [d for d, shown in zip(readings.true_m, readings.shown_m, strict=True) if math.isinf(shown)]
    if not at_stop:
        return readings, ()
    if not told:
        cut_from = min(at_stop)
        nearer = _only(readings, [d < cut_from for d in readings.true_m])
        if why_not_fitted(nearer.true_dpt) is not None:
            return readings, ()
        true, shown = nearer.true_dpt, nearer.shown_dpt
        line = fit_curve(true, shown, [weigh(v, w) for v, w in zip(true, shown, strict=True)])
        there = line.shown(1 / cut_from)
        little = TOO_LITTLE * weigh(0.0, 0.0)  # rounded figures scatter too little to speak against anything
        if there.value > -little or there.coverage_interval(ONE_IN_FIVE)[1] >= 0:
            return readings, ()
    kept = _only(readings, [d < cut_from for d in readings.true_m])
    first = readings.places[readings.true_m.index(cut_from)]
    why = "the images met only beyond infinity" if told else "by the other readings they meet only beyond it"
    left_out = len(readings.true_m) - len(kept.true_m)
    return kept, (
        f"{first}: infinity was shown with the lens at its stop: {why}. Readings left out of the fit, at "
        f"that distance and farther: {left_out}. Turn the infinity screw until the images meet on the scale, "
        "then read again.",
    )


def _only(readings: Readings, which: list[bool]) -> Readings:
    def of(column: tuple[float, ...]) -> tuple[float, ...]:
        return tuple(one for one, kept in zip(column, which, strict=True) if kept)

    return replace(
        readings,
        true_m=of(readings.true_m),
        shown_m=of(readings.shown_m),
        places=tuple(one for one, kept in zip(readings.places, which, strict=True) if kept),
        beyond=tuple(one for one, kept in zip(readings.beyond, which, strict=True) if kept),
    )
