"""Shutter speeds from the light curve of each firing."""

from pegwood.instruments.shutter._group import error_ev, summarise
from pegwood.instruments.shutter._heard_json import heard_from_json, heard_to_json
from pegwood.instruments.shutter._telling import required_bandwidth_hz
from pegwood.instruments.shutter.across import with_curtains
from pegwood.instruments.shutter.analysis import analyse, uses_calibration
from pegwood.instruments.shutter.belonging import Doubt, doubts, group_of
from pegwood.instruments.shutter.contacts import ContactRow, contact_verdict, default_contact_rows, rows_for
from pegwood.instruments.shutter.coupled_input import InputCalibration, calibrate_input
from pegwood.instruments.shutter.curtains import (
    Curtains,
    Flash,
    Place,
    RefusedCurtains,
    Sensors,
    places_from_mm,
)
from pegwood.instruments.shutter.disc import Disc
from pegwood.instruments.shutter.limits import AGES, KINDS, LimitRow, default_limits, limit_for, percent_to_ev
from pegwood.instruments.shutter.live import Heard, Listener
from pegwood.instruments.shutter.marked import SERIES, MarkedSpeed, Reading, Series
from pegwood.instruments.shutter.moved import compare_places
from pegwood.instruments.shutter.pattern import NoError, Pattern, Sign, SpeedReading, what_the_pattern_says
from pegwood.instruments.shutter.results import AtStop, Contact, Curve, Shot, ShutterResult, Summary
from pegwood.instruments.shutter.screen import check_screen
from pegwood.instruments.shutter.selftest import Check, SelfTest, check_disc
from pegwood.instruments.shutter.stops import NoFullOpening, effective_at, square_law_effective, stops_below
from pegwood.instruments.shutter.struck import without_struck

__all__ = [
    "AGES",
    "KINDS",
    "SERIES",
    "AtStop",
    "Check",
    "Contact",
    "ContactRow",
    "Curtains",
    "Curve",
    "Disc",
    "Doubt",
    "Flash",
    "Heard",
    "InputCalibration",
    "LimitRow",
    "Listener",
    "MarkedSpeed",
    "NoError",
    "NoFullOpening",
    "Pattern",
    "Place",
    "Reading",
    "RefusedCurtains",
    "SelfTest",
    "Sensors",
    "Series",
    "Shot",
    "ShutterResult",
    "Sign",
    "SpeedReading",
    "Summary",
    "analyse",
    "calibrate_input",
    "check_disc",
    "check_screen",
    "compare_places",
    "contact_verdict",
    "default_contact_rows",
    "default_limits",
    "doubts",
    "effective_at",
    "error_ev",
    "group_of",
    "heard_from_json",
    "heard_to_json",
    "limit_for",
    "percent_to_ev",
    "places_from_mm",
    "required_bandwidth_hz",
    "rows_for",
    "square_law_effective",
    "stops_below",
    "summarise",
    "uses_calibration",
    "what_the_pattern_says",
    "with_curtains",
    "without_struck",
]
