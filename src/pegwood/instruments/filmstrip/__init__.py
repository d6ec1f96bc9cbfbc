"""A strip of film in a picture: where it lies, what scale it has, what is bare film."""

from pegwood.instruments.filmstrip.formats import (
    FilmFormat,
    Perforations,
    film_format,
    format_keys,
    perforations,
    picture_width_u,
)
from pegwood.instruments.filmstrip.holes import Ruler
from pegwood.instruments.filmstrip.projection import Projection
from pegwood.instruments.filmstrip.roll import read_roll
from pegwood.instruments.filmstrip.sampling import sampled
from pegwood.instruments.filmstrip.strip import Base, Strip, read_strip

__all__ = [
    "Base",
    "FilmFormat",
    "Perforations",
    "Projection",
    "Ruler",
    "Strip",
    "film_format",
    "format_keys",
    "perforations",
    "picture_width_u",
    "read_roll",
    "read_strip",
    "sampled",
]
