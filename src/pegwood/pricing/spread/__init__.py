"""Minutes, days and money as distributions from low, likely and high, and their exact sums."""

from pegwood.pricing.spread.many import Many
from pegwood.pricing.spread.reading import SHAPES, USUAL_SHAPE, Shape, ShapeRead, spread, spread_of
from pegwood.pricing.spread.shapes import Fixed, Gamma, Lognormal, Pert, Spread, Triangular
from pegwood.pricing.spread.sums import Total, total
from pegwood.pricing.spread.textbook import Textbook, textbook

__all__ = [
    "SHAPES",
    "USUAL_SHAPE",
    "Fixed",
    "Gamma",
    "Lognormal",
    "Many",
    "Pert",
    "Shape",
    "ShapeRead",
    "Spread",
    "Textbook",
    "Total",
    "Triangular",
    "spread",
    "spread_of",
    "textbook",
    "total",
]
