"""From a meter's readings to its error, what that means, and what to turn."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from pegwood.instruments.meter._words import advice, lacking, strays
from pegwood.instruments.meter.adjusting import Shift, Stretch, best_shift, best_stretch, shunt_for
from pegwood.instruments.meter.limits import MeterLimits, default_limits, practice
from pegwood.instruments.meter.pattern import Pattern, read_pattern
from pegwood.instruments.meter.regression import ErrorFit, fit_error
from pegwood.instruments.meter.results import Judged, MeterResult
from pegwood.instruments.meter.telling import Cell, advice_for
from pegwood.instruments.meter.typed import Readings
from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.uncertainty import Component, Measured
from pegwood.instruments.verdicts import Verdict, verdict

__all__ = ["Against", "analyse_meter"]

CURVE_POINTS = 25


@dataclass(frozen=True)
class Against:
    """
    What the meter is held against, and what is known of it.

    Parameters
    ----------
    reference_u : float or None
        Standard uncertainty of the reference, alike for all readings, [EV]; a habit of the bench if None.
    reference_slope_u : float
        Standard uncertainty of the reference's own slope, [EV/EV].
    colour : Measured or None
        How much more the cell sees in the test light than in the light it is meant for, [EV]; taken off.
    limits : MeterLimits
        The workshop's.
    cell : str
        What sees the light: "selenium", "cds" or "unknown".
    movement_ohm, shunt_ohm : float or None
        The movement and the shunt that is there now, [ohm]: to reckon another shunt.

    Raises
    ------
    RefusedReadings
        If an uncertainty is below zero or not finite.
    """

    reference_u: float | None = None
    reference_slope_u: float = 0.0
    colour: Measured | None = None
    limits: MeterLimits = field(default_factory=default_limits)
    cell: Cell = "unknown"
    movement_ohm: float | None = None
    shunt_ohm: float | None = None

    def __post_init__(self) -> None:
        for value in (self.reference_u, self.reference_slope_u):
            if value is not None and not (math.isfinite(value) and value >= 0):
                raise RefusedReadings(
                    f"The reference's uncertainty is in EV and not below zero, not {value:g}."
                )
        if self.shunt_ohm is not None and self.movement_ohm is None:
            raise RefusedReadings(
                "Another shunt can be reckoned only with the movement's resistance as well."
            )

    def common(self) -> list[Component]:
        """What is uncertain about all readings alike, [EV]."""
        if self.reference_u is None:
            parts = [practice().reference()]
        else:
            note = "the reference's calibration, as told; alike for all readings"
            parts = [Component("reference", self.reference_u, note=note)]
        if self.colour is not None:
            note = "spectral mismatch of the cell in the test light"
            parts.append(Component("colour of the light", self.colour.u, self.colour.df, "B", note))
        return parts

    def tilt(self, ev: float = 1.0) -> list[Component]:
        """What is uncertain about the reference's own slope, over so many EV, [EV]."""
        if not self.reference_slope_u:
            return []
        note = "the reference's own slope, as told"
        return [Component("reference's slope", self.reference_slope_u * abs(ev), note=note)]


def analyse_meter(readings: Readings, against: Against | None = None) -> MeterResult:
    """
    Error of a meter over the range read.

    Parameters
    ----------
    readings : Readings
        As typed.
    against : Against, optional
        What it is held against; the defaults if not given.

    Returns
    -------
    result : MeterResult
        What cannot be told is None, with the reason among the warnings.
    """
    against = against or Against()
    fit = fit_error(readings)
    warnings = [*readings.warnings, *lacking(readings, fit), *strays(readings, fit)]
    notes = [*readings.notes]
    if against.colour is not None:
        notes.append(
            f"Of the error, {against.colour.value:+.2f} EV (u {against.colour.u:.2f}) is the colour of the "
            "light; taken off."
        )
    if fit is None:
        pattern = Pattern("cannot tell", (), {})
        return MeterResult(
            readings, None, None, None, None, None, None, (), None, pattern, None, None, None, (),
            verdict(None, against.limits.error), against.cell, advice_for(pattern.name), tuple(warnings),
            tuple(notes),
        )  # fmt: skip
    bias = 0.0 if against.colour is None else against.colour.value
    offset = _moved(fit.at(fit.middle, against.common()), bias)
    hysteresis = fit.hysteresis()
    judged = _judged(fit, against, hysteresis, bias)
    all_told = _worst([one.verdict for one in judged])
    pattern = read_pattern(_less(readings, bias), fit, offset, hysteresis, against.limits, practice(),
                           all_told == "within")  # fmt: skip
    shift = _shifted(best_shift(fit, hysteresis, against.common()), fit, hysteresis, bias)
    shunt, refused = _shunt(shift, against)
    if against.reference_u is None:
        notes.append(
            f"The reference is taken as good to {practice().reference_u:g} EV (standard uncertainty, "
            "practice): its certificate may say otherwise."
        )
    return MeterResult(
        readings,
        offset,
        fit.slope(against.tilt()),
        fit.bow(),
        hysteresis,
        fit.scatter,
        fit.scatter_df,
        tuple(
            (
                float(ev),
                _moved(fit.at(float(ev), [*against.common(), *against.tilt(float(ev) - fit.middle)]), bias),
            )
            for ev in _grid(fit)
        ),
        tuple(_fitted(fit, readings, hysteresis, bias)),
        pattern,
        shift,
        _stretched(fit, hysteresis, bias),
        shunt,
        judged,
        all_told,
        against.cell,
        advice(pattern, shift, all_told),
        (*warnings, *refused),
        (*notes, *fit.notes),
        bias,
    )


def _judged(fit: ErrorFit, against: Against, hysteresis: Measured | None, bias: float) -> tuple[Judged, ...]:
    places = [("error at the middle", fit.middle)]
    if fit.half_range:
        places = [
            ("error at the low end", fit.middle - fit.half_range),
            *places,
            ("error at the high end", fit.middle + fit.half_range),
        ]
    limit = against.limits.error
    found = []
    for what, ev in places:
        error = _moved(fit.at(ev, [*against.common(), *against.tilt(ev - fit.middle)]), bias)
        found.append(Judged(what, error, limit, verdict(error, limit), ev))
    if hysteresis is not None:
        own = against.limits.hysteresis
        found.append(Judged("hysteresis", hysteresis, own, verdict(hysteresis, own)))
    return tuple(found)


def _worst(verdicts: Sequence[Verdict]) -> Verdict:
    order: tuple[Verdict, ...] = ("outside", "too close to call", "within", "no limit given")
    return next(one for one in order if one in verdicts)


def _moved(measured: Measured, bias: float) -> Measured:
    """The same with a known error taken off."""
    return (
        measured if bias == 0 else Measured(measured.value - bias, measured.u, measured.df, measured.budget)
    )


def _less(readings: Readings, bias: float) -> Readings:
    return readings if bias == 0 else replace(readings, shown=readings.shown - bias)


def _shifted(shift: Shift, fit: ErrorFit, hysteresis: Measured | None, bias: float) -> Shift:
    """The shift in the light the meter is meant for, the colour of the test light taken off."""
    if bias == 0:
        return shift
    error = fit.curve(np.array(_grid(fit))) - bias
    apart = 0.0 if hysteresis is None else abs(hysteresis.value) / 2
    value = shift.shift.value + bias
    thirds = round(3 * value)
    return Shift(
        Measured(value, shift.shift.u, shift.shift.df, shift.shift.budget),
        float(np.abs(error).max()) + apart,
        shift.worst_after,
        math.exp2(value),
        thirds,
        float(np.abs(error + thirds / 3).max()) + apart,
    )


def _stretched(fit: ErrorFit, hysteresis: Measured | None, bias: float) -> Stretch | None:
    found = best_stretch(fit, hysteresis)
    return None if found is None else replace(found, shift=found.shift + bias)


def _grid(fit: ErrorFit) -> list[float]:
    if fit.half_range == 0:
        return [fit.middle]
    return list(np.linspace(fit.middle - fit.half_range, fit.middle + fit.half_range, CURVE_POINTS))


def _fitted(fit: ErrorFit, readings: Readings, hysteresis: Measured | None, bias: float) -> list[float]:
    apart = 0.0 if hysteresis is None else hysteresis.value
    found = fit.curve(readings.reference) + apart * readings.direction / 2 - bias
    return [float(one) for one in found]


def _shunt(shift: Shift, against: Against) -> tuple[dict[str, float | None] | None, list[str]]:
    if against.movement_ohm is None:
        return None, []
    try:
        new = shunt_for(shift.shift.value, against.movement_ohm, against.shunt_ohm, against.cell)
    except RefusedReadings as reason:
        return None, [f"shunt: {reason}"]
    return {"movement_ohm": against.movement_ohm, "shunt_ohm": against.shunt_ohm, "new_shunt_ohm": new}, []
