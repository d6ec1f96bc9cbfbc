"""Stops, times and exposure values: markings and what they stand for."""

from pegwood.trade.series.levels import exposure_value, illuminance, luminance
from pegwood.trade.series.table import SERIES, Marking, Series, is_time, readings, value
from pegwood.trade.series.telling import (
    tell_ev,
    tell_exposure,
    tell_markings,
    tell_series,
    tell_speed,
    tell_stop,
)

__all__ = [
    "SERIES",
    "Marking",
    "Series",
    "exposure_value",
    "illuminance",
    "is_time",
    "luminance",
    "readings",
    "tell_ev",
    "tell_exposure",
    "tell_markings",
    "tell_series",
    "tell_speed",
    "tell_stop",
    "value",
]
