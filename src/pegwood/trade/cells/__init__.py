"""Cells and what may stand in for them."""

from pegwood.trade.cells.table import CELLS, SIZES, SYSTEMS, Cell, Known, Size, System, known, stand_ins
from pegwood.trade.cells.telling import current_ev, reads_high_ev, tell_cell

__all__ = [
    "CELLS",
    "SIZES",
    "SYSTEMS",
    "Cell",
    "Known",
    "Size",
    "System",
    "current_ev",
    "known",
    "reads_high_ev",
    "stand_ins",
    "tell_cell",
]
