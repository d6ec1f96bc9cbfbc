"""A table of readings that somebody typed one after another."""

from __future__ import annotations

from collections.abc import Sequence

from pegwood.book.gauging.ways import GaugeFile
from pegwood.instruments.readings import FiguresTable, open_figures


def typed_table(files: Sequence[GaugeFile]) -> FiguresTable:
    """
    The first file as a table; what is refused of it is named by its reading, as the page shows it.

    Raises
    ------
    RefusedReadings
        One line.
    """
    return open_figures(files[0].source, files[0].name, typed=True)
