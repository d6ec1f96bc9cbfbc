"""A rangefinder: readings of the scale at true distances in, error, verdict and what to turn out."""

from pegwood.instruments.rangefinder._practice import (
    ARCMIN,
    ARCSEC,
    acuities,
    acuity,
    circle,
    circles,
)
from pegwood.instruments.rangefinder.analysis import analyse_rangefinder
from pegwood.instruments.rangefinder.base import Base, range_error, split_image_base
from pegwood.instruments.rangefinder.curve import Curve, fit_curve
from pegwood.instruments.rangefinder.film import film_error, first_order_film_error, from_the_lens, travel
from pegwood.instruments.rangefinder.finder import Finder
from pegwood.instruments.rangefinder.lever import Lever, Rounds, rounds_needed, simulate
from pegwood.instruments.rangefinder.readings import Readings, readings_from
from pegwood.instruments.rangefinder.results import AtDistance, RangefinderResult, Turn
from pegwood.instruments.rangefinder.rounds import MeasuredRounds, measured_rounds
from pegwood.instruments.rangefinder.told import analyse_told, finder_told
from pegwood.instruments.rangefinder.vertical import Vertical, vertical_error, vertical_limit

__all__ = [
    "ARCMIN",
    "ARCSEC",
    "AtDistance",
    "Base",
    "Curve",
    "Finder",
    "Lever",
    "MeasuredRounds",
    "RangefinderResult",
    "Readings",
    "Rounds",
    "Turn",
    "Vertical",
    "acuities",
    "acuity",
    "analyse_rangefinder",
    "analyse_told",
    "circle",
    "circles",
    "film_error",
    "finder_told",
    "first_order_film_error",
    "fit_curve",
    "from_the_lens",
    "measured_rounds",
    "range_error",
    "readings_from",
    "rounds_needed",
    "simulate",
    "split_image_base",
    "travel",
    "vertical_error",
    "vertical_limit",
]
