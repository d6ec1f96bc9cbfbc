"""Light leaks: fog on a developed strip, carried back to the camera."""

from pegwood.instruments.leaks.analyse import analyse_leaks
from pegwood.instruments.leaks.fog import Fog
from pegwood.instruments.leaks.geometry import View
from pegwood.instruments.leaks.limits import fog_limit
from pegwood.instruments.leaks.model import PLACES
from pegwood.instruments.leaks.pictures import Repeats
from pegwood.instruments.leaks.results import LeaksResult, Place
from pegwood.instruments.leaks.signs import Signs

__all__ = ["PLACES", "Fog", "LeaksResult", "Place", "Repeats", "Signs", "View", "analyse_leaks", "fog_limit"]
