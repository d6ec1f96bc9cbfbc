"""Shutter speeds from the light curve of each firing."""

from pegwood.instruments.shutter.analysis import analyse, required_bandwidth_hz
from pegwood.instruments.shutter.limits import AGES, KINDS, LimitRow, default_limits, limit_for, percent_to_ev
from pegwood.instruments.shutter.marked import SERIES, MarkedSpeed, Reading, Series
from pegwood.instruments.shutter.results import Curve, Shot, ShutterResult, Summary

__all__ = [
    "AGES",
    "KINDS",
    "SERIES",
    "Curve",
    "LimitRow",
    "MarkedSpeed",
    "Reading",
    "Series",
    "Shot",
    "ShutterResult",
    "Summary",
    "analyse",
    "default_limits",
    "limit_for",
    "percent_to_ev",
    "required_bandwidth_hz",
]
