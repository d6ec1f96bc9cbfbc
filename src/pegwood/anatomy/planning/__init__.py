"""The way in: which parts come off to reach others at the least cost, and in which order."""

from __future__ import annotations

from pegwood.anatomy.planning.choice import Choice, choose
from pegwood.anatomy.planning.loops import loop_among
from pegwood.anatomy.planning.order import Order, in_order
from pegwood.anatomy.planning.problem import Removal, StripDown, Unreachable

__all__ = [
    "Choice",
    "Order",
    "Removal",
    "StripDown",
    "Unreachable",
    "choose",
    "in_order",
    "loop_among",
]
