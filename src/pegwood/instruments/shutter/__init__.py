"""Shutter speeds from the light curve of each firing."""

from pegwood.instruments.shutter.across import with_curtains
from pegwood.instruments.shutter.analysis import analyse, required_bandwidth_hz
from pegwood.instruments.shutter.curtains import (
    Curtains,
    Flash,
    Place,
    RefusedCurtains,
    Sensors,
)
from pegwood.instruments.shutter.limits import AGES, KINDS, LimitRow, default_limits, limit_for, percent_to_ev
from pegwood.instruments.shutter.marked import SERIES, MarkedSpeed, Reading, Series
from pegwood.instruments.shutter.moved import compare_places
from pegwood.instruments.shutter.results import Curve, Shot, ShutterResult, Summary

__all__ = [
    "AGES",
    "KINDS",
    "SERIES",
    "Curtains",
    "Curve",
    "Flash",
    "LimitRow",
    "MarkedSpeed",
    "Place",
    "Reading",
    "RefusedCurtains",
    "Sensors",
    "Series",
    "Shot",
    "ShutterResult",
    "Summary",
    "analyse",
    "compare_places",
    "default_limits",
    "limit_for",
    "percent_to_ev",
    "required_bandwidth_hz",
    "with_curtains",
]
