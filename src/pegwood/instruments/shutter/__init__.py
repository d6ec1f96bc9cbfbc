"""Shutter speeds from the light curve of each firing."""

from pegwood.instruments.shutter._group import summarise
from pegwood.instruments.shutter.across import with_curtains
from pegwood.instruments.shutter.analysis import analyse, required_bandwidth_hz
from pegwood.instruments.shutter.contacts import ContactRow, contact_verdict, default_contact_rows, rows_for
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
from pegwood.instruments.shutter.results import AtStop, Contact, Curve, Shot, ShutterResult, Summary
from pegwood.instruments.shutter.stops import NoFullOpening, effective_at, square_law_effective, stops_below

__all__ = [
    "AGES",
    "KINDS",
    "SERIES",
    "AtStop",
    "Contact",
    "ContactRow",
    "Curtains",
    "Curve",
    "Flash",
    "LimitRow",
    "MarkedSpeed",
    "NoFullOpening",
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
    "contact_verdict",
    "default_contact_rows",
    "default_limits",
    "effective_at",
    "limit_for",
    "percent_to_ev",
    "required_bandwidth_hz",
    "rows_for",
    "square_law_effective",
    "stops_below",
    "summarise",
    "with_curtains",
]
