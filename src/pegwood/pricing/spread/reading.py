"""Low, likely and high read as one of the shapes, and what each shape takes them for."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType
from typing import Literal, get_args

from pegwood.anatomy.parts import Minutes
from pegwood.pricing.spread.shapes import (
    Z_90,
    Fixed,
    Gamma,
    Lognormal,
    Pert,
    Spread,
    Triangular,
    gamma_of_ratio,
)
from pegwood.trade.grounds import Ground

Shape = Literal["lognormal", "pert", "triangular", "gamma"]


@dataclass(frozen=True)
class ShapeRead:
    """
    A shape.

    Attributes
    ----------
    name : str
        As it is told.
    reads : str
        What it takes low, likely and high for, in a sentence.
    ground : Ground
    """

    name: str
    reads: str
    ground: Ground


_ENDS = "low and high are taken as the least and the most there can be, likely as the commonest"
_TENTHS = (
    "likely is taken as the middle; one in ten falls short of low or goes beyond high, as far as both allow"
)
SHAPES: Mapping[Shape, ShapeRead] = MappingProxyType(
    {
        "lognormal": ShapeRead(
            "lognormal",
            f"{_TENTHS} (so are minutes learned from the bench's own jobs)",
            Ground("common practice: low to high holds eight jobs in ten", "practice"),
        ),
        "pert": ShapeRead(
            "beta-PERT",
            f"{_ENDS}, four times as weighty as either",
            Ground("Malcolm, Roseboom, Clark and Fazar, PERT, 1959", "memory"),
        ),
        "triangular": ShapeRead("triangular", _ENDS, Ground("common practice in estimating", "practice")),
        "gamma": ShapeRead(
            "gamma", _TENTHS, Ground("common practice: low to high holds eight jobs in ten", "practice")
        ),
    }
)
#: What is read where nobody chose: the shape the bench's own minutes are learned in.
USUAL_SHAPE: Shape = "lognormal"


@lru_cache(maxsize=16384)
def spread(low: float, likely: float, high: float, shape: Shape = USUAL_SHAPE) -> Spread:
    """
    Low, likely and high as a distribution.

    With ends (beta-PERT, triangular) these are its own. Without (lognormal, gamma) likely is the median and
    the 90 % point is high / low times the 10 % point; low and high themselves are those points where likely
    lies between them as that shape has it, so for a lognormal at their geometric mean.

    Parameters
    ----------
    low, likely, high : float
        In this order; [min] or whatever the caller reckons in. All three equal: always that.

    Raises
    ------
    ValueError
        If they are not in order, or the shape is none.
    """
    if shape not in get_args(Shape):
        raise ValueError(f"{shape!r} is no shape. Expected one of: {', '.join(get_args(Shape))}.")
    if not (all(map(math.isfinite, (low, likely, high))) and 0 <= low <= likely <= high):
        raise ValueError(f"{low:g}, {likely:g}, {high:g}: expected low, likely, high in this order.")
    if low == high:
        return Fixed(likely)
    if shape == "pert":
        return Pert(low, likely, high)
    if shape == "triangular":
        return Triangular(low, likely, high)
    if low == 0:
        raise ValueError(f"a {shape} cannot begin at 0. Give a low above 0, or take beta-PERT.")
    if shape == "lognormal":
        return Lognormal(likely, math.log(high / low) / (2 * Z_90))
    k = gamma_of_ratio(high / low)
    return Gamma(k, likely / float(Gamma(k, 1.0).quantile(0.5)))


def spread_of(minutes: Minutes, shape: Shape = USUAL_SHAPE) -> Spread:
    """A step's minutes as a distribution; see `spread`."""
    return spread(minutes.low, minutes.likely, minutes.high, shape)
