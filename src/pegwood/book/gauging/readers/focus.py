"""Focus: readings of a distance scale and of a depth gauge, photographs through focus."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pegwood.book.gauging.readers._focus import format_of, limits_of
from pegwood.book.gauging.readers._typed import typed_table
from pegwood.book.gauging.ways import GaugeFile
from pegwood.instruments.focus import (
    Setting,
    Shot,
    measure_edge,
    read_series,
    register_json,
    register_told,
    scale_json,
    scale_told,
    series_json,
)
from pegwood.instruments.photographs import open_photograph
from pegwood.instruments.readings import RefusedReadings


def read_scale(files: Sequence[GaugeFile], said: Mapping[str, Any]) -> dict[str, Any]:
    """
    What readings at the marks of a distance scale say.

    Parameters
    ----------
    files : sequence of GaugeFile
        One table.
    said : mapping
        As `scale_told` takes it; and the limits in use.

    Raises
    ------
    RefusedReadings
        One line.
    """
    told = dict(said)
    if said.get("film_format") and said.get("confusion_mm") is None:
        told["confusion_mm"] = format_of(said).confusion_m * 1e3
    return scale_json(scale_told(typed_table(files), told, limits_of(said)))


def read_flange(files: Sequence[GaugeFile], said: Mapping[str, Any]) -> dict[str, Any]:
    """
    What a depth gauge's readings say.

    Parameters
    ----------
    files : sequence of GaugeFile
        One table.
    said : mapping
        As `register_told` takes it; and the limits in use.

    Raises
    ------
    RefusedReadings
        One line.
    """
    return register_json(register_told(typed_table(files), said, limits_of(said)))


def read_edge(files: Sequence[GaugeFile], said: Mapping[str, Any]) -> dict[str, Any]:
    """
    What photographs of a slanted edge through focus say.

    Parameters
    ----------
    files : sequence of GaugeFile
        One photograph at each position.
    said : mapping
        `at_mm`: as many positions, in the order of the photographs; `at_u_mm`.

    Raises
    ------
    RefusedReadings
        One line; if there are not as many positions as photographs, or no photograph could be measured.
    """
    at = [float(one) for one in said.get("at_mm") or ()]
    if len(at) != len(files):
        raise RefusedReadings(
            f"{len(files)} photographs and {len(at)} positions: tell one of each, in their order.", "at_mm"
        )
    shots = [_shot(file, where) for file, where in zip(files, at, strict=True)]
    if all(one.figures is None for one in shots):
        raise RefusedReadings(f"No photograph could be measured. {shots[0].why}")
    return series_json(read_series(shots, Setting(position_u=float(said.get("at_u_mm") or 0.0))))


def _shot(file: GaugeFile, at: float) -> Shot:
    try:
        return Shot(file.name, at, measure_edge(open_photograph(file.source, file.name)))
    except RefusedReadings as why:
        return Shot(file.name, at, None, str(why))
