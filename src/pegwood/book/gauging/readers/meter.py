"""Readings of an exposure meter against a reference, and of cells by their current."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pegwood.book.gauging.limits import limit_in
from pegwood.book.gauging.readers._typed import typed_table
from pegwood.book.gauging.ways import GaugeFile
from pegwood.instruments.meter import MeterLimits, analyse_told, cells_told


def read(files: Sequence[GaugeFile], said: Mapping[str, Any]) -> dict[str, Any]:
    """
    What the readings say, whether the meter has a scale or its needle is matched.

    Parameters
    ----------
    files : sequence of GaugeFile
        One table.
    said : mapping
        As `analyse_told` takes it; and the limits in use.

    Raises
    ------
    RefusedReadings
        One line.
    """
    limits = MeterLimits(*(limit_in(said, f"meter.{what}_ev") for what in ("error", "hysteresis", "scatter")))
    return analyse_told(typed_table(files), said, limits).to_json()


def read_cells(files: Sequence[GaugeFile], said: Mapping[str, Any]) -> dict[str, Any]:
    """
    Which of some cells is the better.

    Parameters
    ----------
    files : sequence of GaugeFile
        One table.
    said : mapping
        As `cells_told` takes it.

    Raises
    ------
    RefusedReadings
        One line.
    """
    return cells_told(typed_table(files), said).to_json()
