"""Focus: readings of a distance scale, and of a depth gauge."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pegwood.book.gauging.ways import GaugeFile
from pegwood.instruments.focus import register_json, register_told, scale_json, scale_told
from pegwood.instruments.readings import open_figures


def read_scale(files: Sequence[GaugeFile], said: Mapping[str, Any]) -> dict[str, Any]:
    """
    What readings at the marks of a distance scale say.

    Parameters
    ----------
    files : sequence of GaugeFile
        One table.
    said : mapping
        As `scale_told` takes it.

    Raises
    ------
    RefusedReadings
        One line.
    """
    return scale_json(scale_told(open_figures(files[0].source, files[0].name), said))


def read_flange(files: Sequence[GaugeFile], said: Mapping[str, Any]) -> dict[str, Any]:
    """
    What a depth gauge's readings say.

    Parameters
    ----------
    files : sequence of GaugeFile
        One table.
    said : mapping
        As `register_told` takes it.

    Raises
    ------
    RefusedReadings
        One line.
    """
    return register_json(register_told(open_figures(files[0].source, files[0].name), said))
