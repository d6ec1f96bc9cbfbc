"""Readings of a rangefinder at known distances."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from pegwood.book.gauging.limits import limit_in
from pegwood.book.gauging.readers._typed import typed_table
from pegwood.book.gauging.ways import GaugeFile
from pegwood.instruments.given import Given
from pegwood.instruments.rangefinder import Finder, analyse_told, finder_told


def read(files: Sequence[GaugeFile], said: Mapping[str, Any]) -> dict[str, Any]:
    """
    What the readings say.

    Parameters
    ----------
    files : sequence of GaugeFile
        One table.
    said : mapping
        As `finder_told` takes it, and `vertical_arcmin`; and the limits in use.

    Raises
    ------
    RefusedReadings
        One line.
    """
    table = typed_table(files)
    return analyse_told(table, said, finder=_finder(said)).to_json()


def _finder(said: Mapping[str, Any]) -> Finder:
    """The finder as it was told, held against the workshop's limits."""
    finder = finder_told(said)
    if said.get("circle_mm") is None:
        kept = limit_in(said, f"rangefinder.circle_{said.get('film_format') or '135'}_m")
        finder = replace(finder, circle=Given(kept.high or 0.0, kept.source, kept.mark))
    return replace(finder, vertical_at_eye=limit_in(said, "rangefinder.vertical_rad"))
