"""What goes where on a camera, how thick it is warm and cold, and where none may be."""

from pegwood.trade.lubricants._cold import tell_cold
from pegwood.trade.lubricants._telling import tell_lubricant, tell_place
from pegwood.trade.lubricants.grades import ISO_VG, NLGI, iso_vg, nlgi
from pegwood.trade.lubricants.tables import (
    BEHAVIOURS,
    LUBRICANTS,
    PLACES,
    BelowPourPoint,
    Lubricant,
    Place,
    lubricant,
    place,
)
from pegwood.trade.lubricants.viscosity import TooThin, Walther, from_index, viscosity_index

__all__ = [
    "BEHAVIOURS",
    "ISO_VG",
    "LUBRICANTS",
    "NLGI",
    "PLACES",
    "BelowPourPoint",
    "Lubricant",
    "Place",
    "TooThin",
    "Walther",
    "from_index",
    "iso_vg",
    "lubricant",
    "nlgi",
    "place",
    "tell_cold",
    "tell_lubricant",
    "tell_place",
    "viscosity_index",
]
