"""Readings of an exposure meter against a reference."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pegwood.book.gauging.ways import GaugeFile
from pegwood.instruments.meter import Against, Calibration, analyse_meter, readings_of
from pegwood.instruments.readings import open_figures


def read(files: Sequence[GaugeFile], said: Mapping[str, Any]) -> dict[str, Any]:
    """
    What the readings say.

    Parameters
    ----------
    files : sequence of GaugeFile
        One table.
    said : mapping
        `cell`, `reference_u_ev`, `division_ev`, `k`, `film_speed`: as the command's options.

    Raises
    ------
    RefusedReadings
        One line.
    """
    used = Calibration(k=said.get("k"), film_speed=said.get("film_speed") or 100.0)
    table = open_figures(files[0].source, files[0].name)
    readings = readings_of(table, used, division=said.get("division_ev"))
    against = Against(reference_u=said.get("reference_u_ev"), cell=said.get("cell") or "unknown")
    return analyse_meter(readings, against).to_json()
