"""Series of photographs through focus: at five places for the tilt, at several stops for the shift."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pegwood.book.gauging.readers._focus import format_of, limits_of
from pegwood.book.gauging.ways import GaugeFile
from pegwood.instruments.focus import (
    Setting,
    Shot,
    edges_at_places,
    measure_edge,
    read_series,
    screws_told,
    series_json,
    shots_at_places,
)
from pegwood.instruments.photographs import open_photograph
from pegwood.instruments.readings import RefusedReadings


def read_tilt(files: Sequence[GaugeFile], said: Mapping[str, Any]) -> dict[str, Any]:
    """
    What photographs with an edge in the middle and in each corner say.

    Parameters
    ----------
    files : sequence of GaugeFile
        One photograph at each position.
    said : mapping
        `at_mm`: as many positions, in the order of the photographs; `at_u_mm`; `film_format`; `width_mm` of
        the picture on the film, the format's own if not told; `shows`, "scene" or "glass"; `stop`;
        `screws_mm`, x and y of each, one after another; `limit_mm`; and the limits in use.

    Raises
    ------
    RefusedReadings
        One line.
    """
    at, format_ = _each(files, said, "at_mm", "positions"), format_of(said)
    screws = screws_told(said.get("screws_mm") or ())  # what can't be is said before anything is measured
    seen = [
        edges_at_places(open_photograph(file.source, file.name), where)
        for file, where in zip(files, at, strict=True)
    ]
    across = format_.width_m if seen[0].width >= seen[0].height else format_.height_m
    width_m = across if said.get("width_mm") is None else float(said["width_mm"]) / 1e3
    stop = said.get("stop")
    shots = [
        Shot(one.name, one.at, one.figures, one.why, one.place, None if stop is None else float(stop))
        for one in shots_at_places(seen, width_m, is_upright=said.get("shows") != "glass")
    ]
    if all(one.figures is None for one in shots):
        raise RefusedReadings(
            "No edge is found in any photograph. Show black on white, turned by about 5 degrees, in the "
            "middle and in each corner."
        )
    limit = said.get("limit_mm")
    return series_json(
        read_series(
            shots,
            Setting(
                position_u=float(said.get("at_u_mm") or 0.0),
                screws=screws,
                format=format_,
                limit_m=None if limit is None else float(limit) / 1e3,
                limits=limits_of(said),
            ),
        )
    )


def read_stops(files: Sequence[GaugeFile], said: Mapping[str, Any]) -> dict[str, Any]:
    """
    How best focus moves as the lens is stopped down.

    Parameters
    ----------
    files : sequence of GaugeFile
        One photograph at each position and stop.
    said : mapping
        `at_mm` and `stops`: as many positions and f-numbers, in the order of the photographs; `at_u_mm`;
        `film_format`; and the limits in use.

    Raises
    ------
    RefusedReadings
        One line.
    """
    at, stops = _each(files, said, "at_mm", "positions"), _each(files, said, "stops", "stops")
    if len(set(stops)) < 2:
        raise RefusedReadings("A shift with the stop needs photographs at two stops at least.", "stops")
    if not all(0.5 <= one <= 128 for one in stops):
        raise RefusedReadings("A stop is an f-number from 0.5 to 128, such as 2.8.", "stops")
    shots = [_shot(file, where, stop) for file, where, stop in zip(files, at, stops, strict=True)]
    if all(one.figures is None for one in shots):
        raise RefusedReadings(f"No photograph could be measured. {shots[0].why}")
    setting = Setting(
        position_u=float(said.get("at_u_mm") or 0.0), format=format_of(said), limits=limits_of(said)
    )
    return series_json(read_series(shots, setting))


def _shot(file: GaugeFile, at: float, stop: float) -> Shot:
    try:
        figures = measure_edge(open_photograph(file.source, file.name))
    except RefusedReadings as why:
        return Shot(file.name, at, None, str(why), f_number=stop)
    return Shot(file.name, at, figures, f_number=stop)


def _each(files: Sequence[GaugeFile], said: Mapping[str, Any], name: str, what: str) -> list[float]:
    told = [float(one) for one in said.get(name) or ()]
    if len(told) != len(files):
        raise RefusedReadings(
            f"{len(files)} photographs and {len(told)} {what}: tell one of each, in their order.", name
        )
    return told
