"""Packs of shims from the foil at hand."""

from pegwood.trade.shims.packing import Pack, Packing, packed
from pegwood.trade.shims.stock import FOIL_SETS, FoilSet, Leaf, read_stock, units
from pegwood.trade.shims.telling import pack_u_m, tell_shims

__all__ = [
    "FOIL_SETS",
    "FoilSet",
    "Leaf",
    "Pack",
    "Packing",
    "pack_u_m",
    "packed",
    "read_stock",
    "tell_shims",
    "units",
]
