"""The diaphragm: diameter, roundness and blades from a photograph, or by calliper; error in EV by mark."""

from pegwood.instruments.iris.analysis import analyse_iris
from pegwood.instruments.iris.calliper import CalliperReading, analyse_callipers, calliper_readings
from pegwood.instruments.iris.curve import Curve, Darker
from pegwood.instruments.iris.practice import Practice, practice
from pegwood.instruments.iris.results import AtMark, Difference, IrisResult
from pegwood.instruments.iris.scale import Scale
from pegwood.instruments.iris.stops import FocalLength, MarkedStop, Stop, equal_circle

__all__ = [
    "AtMark",
    "CalliperReading",
    "Curve",
    "Darker",
    "Difference",
    "FocalLength",
    "IrisResult",
    "MarkedStop",
    "Practice",
    "Scale",
    "Stop",
    "analyse_callipers",
    "analyse_iris",
    "calliper_readings",
    "equal_circle",
    "practice",
]
