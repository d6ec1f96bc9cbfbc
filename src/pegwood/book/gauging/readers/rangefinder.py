"""Readings of a rangefinder at known distances."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pegwood.book.gauging.ways import GaugeFile
from pegwood.instruments.rangefinder import analyse_told
from pegwood.instruments.readings import open_figures


def read(files: Sequence[GaugeFile], said: Mapping[str, Any]) -> dict[str, Any]:
    """
    What the readings say.

    Parameters
    ----------
    files : sequence of GaugeFile
        One table.
    said : mapping
        As `finder_told` takes it, and `vertical_arcmin`.

    Raises
    ------
    RefusedReadings
        One line.
    """
    return analyse_told(open_figures(files[0].source, files[0].name), said).to_json()
