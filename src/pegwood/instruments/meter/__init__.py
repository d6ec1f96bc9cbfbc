"""Exposure meters: their error over the range, its pattern, the colour of the light, supply and cell."""

from pegwood.instruments.meter.adjusting import Shift, Stretch, best_shift, best_stretch, shunt_for
from pegwood.instruments.meter.analysis import Against, analyse_meter
from pegwood.instruments.meter.cell import compare_cells, currents_of
from pegwood.instruments.meter.cell_results import CellResult, Cells, CellTest, Comparison
from pegwood.instruments.meter.colour import LIGHTS, Mismatch, Response, mismatch, response_of
from pegwood.instruments.meter.exposure import RECEPTORS, Calibration, ev_of_setting, iso_2720
from pegwood.instruments.meter.fed import Fed, fed_told
from pegwood.instruments.meter.limits import MeterLimits, default_limits
from pegwood.instruments.meter.pattern import Pattern, Stands
from pegwood.instruments.meter.results import Judged, MeterResult
from pegwood.instruments.meter.series_meter import SeriesMeter
from pegwood.instruments.meter.supply import CIRCUITS, Supply, supply_of, systems, usual_gamma
from pegwood.instruments.meter.telling import CELLS, cautions_for
from pegwood.instruments.meter.told import analyse_told, calibration_told, cells_told
from pegwood.instruments.meter.typed import Readings, division_of, readings_of

__all__ = [
    "CELLS",
    "CIRCUITS",
    "LIGHTS",
    "RECEPTORS",
    "Against",
    "Calibration",
    "CellResult",
    "CellTest",
    "Cells",
    "Comparison",
    "Fed",
    "Judged",
    "MeterLimits",
    "MeterResult",
    "Mismatch",
    "Pattern",
    "Readings",
    "Response",
    "SeriesMeter",
    "Shift",
    "Stands",
    "Stretch",
    "Supply",
    "analyse_meter",
    "analyse_told",
    "best_shift",
    "best_stretch",
    "calibration_told",
    "cautions_for",
    "cells_told",
    "compare_cells",
    "currents_of",
    "default_limits",
    "division_of",
    "ev_of_setting",
    "fed_told",
    "iso_2720",
    "mismatch",
    "readings_of",
    "response_of",
    "shunt_for",
    "supply_of",
    "systems",
    "usual_gamma",
]
