"""Figures read off a dial, a scale or a gauge, one after another: as a table, and as lengths."""

from pegwood.instruments.readings.lengths import metres, unit_of
from pegwood.instruments.readings.refused import RefusedReadings
from pegwood.instruments.readings.table import FiguresTable, open_figures

__all__ = ["FiguresTable", "RefusedReadings", "metres", "open_figures", "unit_of"]
