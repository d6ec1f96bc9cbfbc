"""What a meter's figures say in words: what is lacking, what strays, what to turn."""

from __future__ import annotations

import numpy as np

from pegwood.instruments.fitting import Fit
from pegwood.instruments.meter.adjusting import Shift
from pegwood.instruments.meter.pattern import Pattern
from pegwood.instruments.meter.regression import ErrorFit
from pegwood.instruments.meter.telling import advice_for, sign_of
from pegwood.instruments.meter.typed import Readings
from pegwood.instruments.verdicts import Verdict

__all__ = ["advice", "lacking", "strays"]

FEW_LEVELS = 5
SET = ("offset", "slope", "bow")
"""Patterns that are set right; the others have a cause to be mended first."""
WORTH_IT = 0.1
"""What a shift must better, [EV] (practice): every turn of an old trim is a risk."""
STRAY = 0.01
"""Chance that a reading of a sound set is called a stray."""


def lacking(readings: Readings, fit: ErrorFit | None) -> list[str]:
    """Why figures are missing or weak."""
    n, levels = readings.reference.size, np.unique(np.round(readings.reference, 6)).size
    told = []
    if fit is None:
        read = f"{n} reading{'s' * (n > 1)} at {levels} level{'s' * (levels > 1)}"
        told.append(
            f"offset and slope: {read} leave nothing over to tell how sure they are. Read at least "
            f"{FEW_LEVELS} levels over the whole scale, up and down."
        )
    elif levels == 1:
        told.append("slope: all readings are at one level. Read at least five levels over the whole scale.")
    elif "bow" not in fit.terms:
        told.append(
            "curvature: too few levels; the error is taken to follow a straight line, which was not checked."
        )
    elif levels < FEW_LEVELS:
        told.append(f"Only {levels} levels: the error between them is not known. Read more, an EV apart.")
    if readings.one_way:
        told.append(f"hysteresis: {readings.one_way}")
    elif fit is None:
        told.append("hysteresis: too few readings.")
    return told


def strays(readings: Readings, fit: ErrorFit | None) -> list[str]:
    """Readings not of a piece with the rest: deleted residuals against Student's t, shared by Bonferroni."""
    from scipy.stats import t as student

    if fit is None or not isinstance(fit.fit, Fit) or fit.how != "line" or fit.fit.df < 4:
        return []
    held, df = fit.fit, fit.fit.df
    free = np.maximum(1 - held.leverage, 1e-12)
    rest = np.maximum(held.residual_sd**2 * df - held.residuals**2 / free, 1e-18) / (df - 1)
    off = np.abs(held.residuals) / np.sqrt(rest * free)
    least = float(student.ppf(1 - STRAY / 2 / off.size, df - 1))
    return [
        f"{place.capitalize()}: {reading:+.2f} EV off the others; a slip of the pen or a needle that stuck? "
        "Read it again."
        for place, reading, one in zip(readings.places, held.residuals, off, strict=True)
        if one > least
    ]


def advice(pattern: Pattern, shift: Shift, told: Verdict) -> tuple[str, ...]:
    """
    What to do, first things first.

    A cause that can be mended comes before the trim, which would only hide it; where nothing is to be turned,
    nothing is said of how it is turned.

    Parameters
    ----------
    pattern : Pattern
        What stands out.
    shift : Shift
        What could be turned.
    told : str
        The verdict on the whole.

    Returns
    -------
    lines : tuple of str
    """
    is_to_turn, says = turn(shift, told)
    causes = [*advice_for(pattern.name)]
    causes += [sign_of(one.size_ev) for one in pattern.stands if one.name == "hysteresis"]
    for one in pattern.stands:
        if one.name != pattern.name:
            causes += [
                f"Also {one.name} ({one.size_ev:+.2f} EV): {line}" for line in advice_for(one.name)[:1]
            ]
    first = says[0].upper() + says[1:]
    if pattern.name in SET:
        dropped = 0 if is_to_turn or pattern.name != "offset" else len(advice_for("offset"))
        return (first, *causes[dropped:])
    if is_to_turn and pattern.name != "none":
        return (
            *causes,
            f"Then read again. Only what can't be mended is trimmed away: as it reads now, {says}",
        )
    return (first, *causes)


def turn(shift: Shift, told: Verdict) -> tuple[bool, str]:
    """Whether anything is to be turned; amount and direction in words."""
    low, high = shift.shift.coverage_interval()
    better = shift.worst_before - shift.worst_after
    if told == "within" and better < WORTH_IT:
        return (
            False,
            "Within the limit, and no shift would better it by a tenth of an EV: do not turn anything.",
        )
    if low <= 0 <= high:
        return False, (
            f"A shift of {shift.shift.value:+.2f} EV would serve best, but its 95 % interval, {low:+.2f} to "
            f"{high:+.2f}, holds zero: do not turn anything on these readings."
        )
    way = "more" if shift.shift.value > 0 else "less"
    speed = "higher" if shift.thirds > 0 else "lower"
    on_dial = (
        f"; or the film-speed dial {abs(shift.thirds)} third{'s' * (abs(shift.thirds) > 1)} {speed} than the "
        f"film, and {shift.worst_after_thirds:.2f} EV remains"
        if shift.thirds
        else ""
    )
    return True, (
        f"trim so that it shows {abs(shift.shift.value):.2f} EV {way} (95 %: {low:+.2f} to {high:+.2f}): the "
        f"largest error falls from {shift.worst_before:.2f} to {shift.worst_after:.2f} EV{on_dial}."
    )
