"""From what is told beside the readings, in the words and units of the bench, to the analysis."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from pegwood.instruments.meter.analysis import Against, analyse_meter
from pegwood.instruments.meter.cell import compare_cells, currents_of
from pegwood.instruments.meter.cell_results import Cells
from pegwood.instruments.meter.colour import mismatch
from pegwood.instruments.meter.exposure import Calibration
from pegwood.instruments.meter.fed import fed_told
from pegwood.instruments.meter.limits import MeterLimits, default_limits
from pegwood.instruments.meter.results import MeterResult
from pegwood.instruments.meter.telling import Cell
from pegwood.instruments.meter.typed import readings_of
from pegwood.instruments.readings import FiguresTable, RefusedReadings
from pegwood.instruments.uncertainty import Measured
from pegwood.instruments.verdicts import Bounds

__all__ = ["analyse_told", "calibration_told", "cells_told"]

_CONSTANT = {"cd_m2": "K", "fl": "K", "lx": "C", "fc": "C"}
USUAL_SPEED = 100.0
USUAL_LIGHT_U = 0.1
"""Of a luxmeter nobody tells more of, [EV] (practice)."""


def calibration_told(told: Mapping[str, Any]) -> Calibration:
    """
    ISO 2720's constants as they were told; the usual ones where they were not.

    Parameters
    ----------
    told : mapping
        `k`, `c`, `receptor` ("flat" or "dome"), `film_speed`.

    Raises
    ------
    RefusedReadings
        If a figure is not above zero.
    """
    speed = told.get("film_speed")
    return Calibration(
        told.get("k"), told.get("c"), told.get("receptor") or "flat", USUAL_SPEED if speed is None else speed
    )


def analyse_told(
    table: FiguresTable, told: Mapping[str, Any], limits: MeterLimits | None = None
) -> MeterResult:
    """
    What a table of readings tells of a meter as it was told.

    Parameters
    ----------
    table : FiguresTable
        As `readings_of` takes it.
    told : mapping
        As `calibration_told` and `fed_told` take it, and `cell` ("selenium", "cds", "unknown"), `light` and
        `meant_for` (lights as `mismatch` takes them), `reference_u_ev`, `reference_slope_u`, `division_ev`,
        `scale` (its ends, EV), `movement_ohm`, `shunt_ohm`, `limit_ev` (an own limit for the error). What is
        missing or None is not known, or the ordinary.
    limits : MeterLimits, optional
        The workshop's; the defaults if not given.

    Returns
    -------
    result : MeterResult

    Raises
    ------
    RefusedReadings
        One line, with the remedy.
    """
    used = calibration_told(told)
    scale = told.get("scale")
    readings = readings_of(
        table, used, division=told.get("division_ev"), scale=(scale[0], scale[1]) if scale else None
    )
    cell: Cell = told.get("cell") or "unknown"
    result = analyse_meter(
        readings,
        Against(
            told.get("reference_u_ev"),
            told.get("reference_slope_u") or 0.0,
            _colour(cell, told.get("light"), told.get("meant_for")),
            _limits(limits or default_limits(), told.get("limit_ev")),
            cell,
            told.get("movement_ohm"),
            told.get("shunt_ohm"),
        ),
    )
    warnings, notes = list(result.warnings), list(result.notes)
    if constant := _CONSTANT.get(readings.unit):
        warnings += used.warnings(constant)
        value = used.k_used if constant == "K" else used.c_used
        speed = f"ISO {used.film_speed:g}"
        notes.append(f"EV from {readings.unit} by ISO 2720 with {constant} = {value:g} at {speed}.")
    fed = fed_told(told)
    advice = (
        result.advice if fed is None else (*result.advice, *(f"Supply: {line}" for line in fed.remedies()))
    )
    return replace(result, advice=advice, warnings=tuple(warnings), notes=tuple(notes), fed=fed)


def cells_told(table: FiguresTable, told: Mapping[str, Any]) -> Cells:
    """
    Which of some cells is the better, as it was told.

    Parameters
    ----------
    table : FiguresTable
        As `currents_of` takes it.
    told : mapping
        `division_ua`, step of the ammeter; `illuminance_u_ev`, standard uncertainty of the light.

    Returns
    -------
    cells : Cells

    Raises
    ------
    RefusedReadings
        One line, with the remedy.
    """
    division, light_u = told.get("division_ua") or 0.0, told.get("illuminance_u_ev")
    light_u = USUAL_LIGHT_U if light_u is None else light_u
    if not (0 <= division < float("inf") and 0 <= light_u < float("inf")):
        raise RefusedReadings("A division and an uncertainty are not below zero.")
    return compare_cells(currents_of(table), division_a=division * 1e-6, illuminance_u_ev=light_u)


def _colour(cell: Cell, light: str | None, meant_for: str | None) -> Measured | None:
    if not light:
        return None
    if cell == "unknown":
        raise RefusedReadings(
            "What a light's colour does depends on the cell: say whether it is selenium or CdS."
        )
    return mismatch(cell, light, meant_for or "D55").error


def _limits(limits: MeterLimits, own_ev: float | None) -> MeterLimits:
    if own_ev is None:
        return limits
    if not 0 < own_ev < float("inf"):
        raise RefusedReadings(f"A limit is above zero, in EV, not {own_ev:g}.")
    return replace(limits, error=Bounds(-own_ev, own_ev, "ev", "told with the readings", "practice"))
