"""Photographs of a diaphragm, and a calliper's readings of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pegwood.book.gauging.limits import limit_in
from pegwood.book.gauging.readers._typed import typed_table
from pegwood.book.gauging.ways import GaugeFile
from pegwood.instruments.iris import (
    Darker,
    FocalLength,
    MarkedStop,
    Practice,
    Scale,
    analyse_callipers,
    analyse_iris,
    calliper_readings,
    practice,
)
from pegwood.instruments.photographs import Photograph, open_photograph
from pegwood.instruments.readings import RefusedReadings


def photographed(files: Sequence[GaugeFile], said: Mapping[str, Any]) -> dict[str, Any]:
    """
    What one photograph of the opening says.

    Parameters
    ----------
    files : sequence of GaugeFile
        One photograph, and maybe the same opening exposed less.
    said : mapping
        `marked`; `focal_mm`, `focal_u_percent`; `mm_per_px`, or `length_mm` and `length_px` of a known
        length in the picture; `scale_u_percent`; `darker_ev`, how much less the others were exposed, in
        their order; and the limits in use.

    Raises
    ------
    RefusedReadings
        One line.
    """
    return analyse_iris(
        _picture(files[0]),
        scale=_scale(said),
        marked=_mark(said),
        focal=_focal(said),
        known=_known(said),
        darker=_darker(files[1:], said),
    ).to_json()


def set_twice(files: Sequence[GaugeFile], said: Mapping[str, Any]) -> dict[str, Any]:
    """
    What two photographs of one stop say about how well it comes back.

    Parameters
    ----------
    files : sequence of GaugeFile
        Two photographs, taken alike.
    said : mapping
        `how`: "again" where the stop was set twice from one side, "closing" where the second was reached by
        closing and the first by opening. `stop`, if it is told; and the limits in use.

    Raises
    ------
    RefusedReadings
        One line.
    """
    second = "closing" if said.get("how") == "closing" else "again"
    pictures: dict[str, Any] = {second: _picture(files[1])}
    result = analyse_iris(_picture(files[0]), known=_known(said), **pictures).to_json()
    # Nobody asked for a diameter here, so that there is none is no shortcoming of the readings.
    result["warnings"] = [one for one in result["warnings"] if not one.startswith("No diameter in mm")]
    if stop := _mark({"marked": said.get("stop")}):
        result["marked"], result["exact"] = stop.text, stop.exact
    return result


def by_calliper(files: Sequence[GaugeFile], said: Mapping[str, Any]) -> dict[str, Any]:
    """
    What a calliper read mark by mark.

    Parameters
    ----------
    files : sequence of GaugeFile
        One table: `marked`, `diameter_mm`, maybe `direction`.
    said : mapping
        `focal_mm`, `focal_u_percent`, `blades`, `across`, `calliper_u_mm`; and the limits in use.

    Raises
    ------
    RefusedReadings
        One line.
    """
    readings = calliper_readings(typed_table(files))
    blades = said.get("blades")
    return analyse_callipers(
        readings,
        focal=_focal(said),
        blades=None if blades is None else int(blades),
        across=said.get("across") or "corners",
        u_mm=said.get("calliper_u_mm"),
        known=_known(said),
    ).to_json()


def _picture(file: GaugeFile) -> Photograph:
    return open_photograph(file.source, file.name)


def _darker(files: Sequence[GaugeFile], said: Mapping[str, Any]) -> list[Darker]:
    steps = said.get("darker_ev") or []
    if len(steps) != len(files):
        raise RefusedReadings(
            f"{len(files)} darker pictures and {len(steps)} steps: tell one of each, in their order."
        )
    return [Darker(_picture(file), ev) for file, ev in zip(files, steps, strict=True)]


def _known(said: Mapping[str, Any]) -> Practice:
    """What is taken as given, held against the workshop's limits."""
    return practice().held_against(
        [limit_in(said, "iris.wide_ev"), limit_in(said, "iris.small_ev")],
        limit_in(said, "iris.returns_ev"),
        limit_in(said, "iris.hysteresis_ev"),
    )


def _mark(said: Mapping[str, Any]) -> MarkedStop | None:
    marked = said.get("marked")
    return MarkedStop.parse(str(marked)) if marked else None


def _focal(said: Mapping[str, Any]) -> FocalLength | None:
    mm = said.get("focal_mm")
    return None if mm is None else FocalLength.told(mm, _share(said, "focal_u_percent"), practice())


def _scale(said: Mapping[str, Any]) -> Scale | None:
    u_rel, per_px = _share(said, "scale_u_percent"), said.get("mm_per_px")
    mm, px = said.get("length_mm"), said.get("length_px")
    if per_px is not None:
        return Scale.told(per_px, u_rel, practice())
    if mm is None and px is None:
        return None
    if mm is None or px is None:
        raise RefusedReadings("A known length wants both: its millimetres, and its pixels in the picture.")
    return Scale.between((0.0, 0.0, px, 0.0), mm, u_rel, practice())


def _share(said: Mapping[str, Any], name: str) -> float | None:
    percent = said.get(name)
    return None if percent is None else percent / 100
