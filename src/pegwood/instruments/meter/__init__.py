"""Exposure meters: their error over the range, its pattern, the colour of the light, supply and cell."""

from pegwood.instruments.meter.adjusting import Shift, Stretch, best_shift, best_stretch, shunt_for
from pegwood.instruments.meter.analysis import Against, analyse_meter
from pegwood.instruments.meter.exposure import RECEPTORS, Calibration, ev_of_setting, iso_2720
from pegwood.instruments.meter.limits import MeterLimits, default_limits
from pegwood.instruments.meter.pattern import Pattern, Stands
from pegwood.instruments.meter.results import Judged, MeterResult
from pegwood.instruments.meter.telling import CELLS, cautions_for
from pegwood.instruments.meter.typed import Readings, division_of, readings_of

__all__ = [
    "CELLS",
    "RECEPTORS",
    "Against",
    "Calibration",
    "Judged",
    "MeterLimits",
    "MeterResult",
    "Pattern",
    "Readings",
    "Shift",
    "Stands",
    "Stretch",
    "analyse_meter",
    "best_shift",
    "best_stretch",
    "cautions_for",
    "default_limits",
    "division_of",
    "ev_of_setting",
    "iso_2720",
    "readings_of",
    "shunt_for",
]
