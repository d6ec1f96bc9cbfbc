"""From what is told beside typed readings, in the words and units of the bench, to the analysis."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from typing import Any

from pegwood.instruments.focus._figures import FocusLimits, picture_format
from pegwood.instruments.focus.flange import DepthReading, Gauge, RegisterResult, measure_register
from pegwood.instruments.focus.scale import Lens, Reading, ScaleResult, read_scale
from pegwood.instruments.focus.tilt import Place
from pegwood.instruments.readings import FiguresTable, RefusedReadings, metres, unit_of

__all__ = ["register_told", "scale_told", "screws_told"]

_SURFACES = {"": "rails", "rails": "rails", "plate": "plate"}


def scale_told(
    table: FiguresTable, told: Mapping[str, Any], limits: FocusLimits | None = None
) -> ScaleResult:
    """
    A distance scale's readings.

    Parameters
    ----------
    table : FiguresTable
        Columns `marked` and `found` (with `_m`, `_ft`, or units in the cells), or `error_mm` on the image's
        side; each row has one of the two.
    told : mapping
        `focal_mm`, `stop`; `film_format` or `confusion_mm`; `counted_from` ("film" or "lens"), `lead_mm`,
        `limit_mm`, `reading_u_mm`.
    limits : FocusLimits, optional
        The workshop's; those that come with Pegwood if not given.

    Returns
    -------
    result : ScaleResult

    Raises
    ------
    RefusedReadings
        One line, with the remedy.
    """
    lens = Lens(
        _need(told, "focal_mm") / 1e3,
        _need(told, "stop"),
        _confusion(told),
        told.get("counted_from") or "film",
        _metres(told, "lead_mm"),
    )
    marked = _lengths(table, "marked", "m")
    found, error = _lengths(table, "found", "m"), _lengths(table, "error", "mm")
    if marked is None:
        table.need("marked_m")
    if found is None and error is None:
        table.need("marked_m", "found_m")
    n = len(table.rows)
    readings = []
    for (line, _), mark, sharp, off in zip(
        table.rows, marked or (), found or [None] * n, error or [None] * n, strict=True
    ):
        if mark is None or (sharp is None) == (off is None):
            raise table.refusal(
                line,
                "a reading is a mark, and either where it was sharp or how far off at the film. Write one of "
                "the two.",
            )
        readings.append(Reading(mark, sharp, off))
    return read_scale(readings, lens, _metres(told, "limit_mm"), _metres(told, "reading_u_mm"), limits)


def register_told(
    table: FiguresTable, told: Mapping[str, Any], limits: FocusLimits | None = None
) -> RegisterResult:
    """
    A depth gauge's readings.

    Parameters
    ----------
    table : FiguresTable
        Columns `depth_mm`; `x_mm`, `y_mm`, from the middle as seen from behind; `to`, "rails" or "plate", the
        rails where it is left open.
    told : mapping
        `nominal_mm`, `bar_mm`, `gauge_error_mm`, `gauge_step_mm`, `limit_mm`; `screws_mm`, x and y of each,
        one after another.
    limits : FocusLimits, optional
        The workshop's; those that come with Pegwood if not given.

    Returns
    -------
    result : RegisterResult

    Raises
    ------
    RefusedReadings
        One line, with the remedy.
    """
    usual = Gauge()
    error, step = _metres(told, "gauge_error_mm"), _metres(told, "gauge_step_mm")
    gauge = Gauge(
        usual.error_m if error is None else error,
        usual.step_m if step is None else step,
        _metres(told, "bar_mm") or 0.0,
    )
    return measure_register(
        _depths(table),
        gauge,
        _metres(told, "nominal_mm"),
        screws_told(told.get("screws_mm") or ()),
        _metres(told, "limit_mm"),
        limits,
    )


_NEEDED = {
    "focal_mm": "Tell the lens's focal length in mm, such as 50.",
    "stop": "Tell the lens's widest stop, such as 2.",
}


def _need(told: Mapping[str, Any], name: str) -> float:
    value = told.get(name)
    if value is None:
        raise RefusedReadings(_NEEDED[name], name)
    return float(value)


def _metres(told: Mapping[str, Any], name: str) -> float | None:
    value = told.get(name)
    return None if value is None else float(value) / 1e3


def _confusion(told: Mapping[str, Any]) -> float:
    own = _metres(told, "confusion_mm")
    if own is not None:
        return own
    name = told.get("film_format")
    if not name:
        raise RefusedReadings(
            "Tell the picture format, such as 24x36, or a circle of confusion: depth of focus rests on it.",
            "film_format",
        )
    return picture_format(str(name)).confusion_m


def _lengths(table: FiguresTable, name: str, usual: str) -> tuple[float | None, ...] | None:
    """A column of lengths in metres, whatever unit its name or its cells carry; None in an empty cell."""
    for column in table.columns:
        start, _, ending = column.partition("_")
        if start != name:
            continue
        unit = usual if not ending else unit_of(ending)
        if unit is not None:
            return table.column(column, partial(_length, unit=unit))
    return None


def _length(text: str, unit: str) -> float | None:
    return metres(text, unit=unit) if text.strip() else None


def _depths(table: FiguresTable) -> list[DepthReading]:
    depths = _lengths(table, "depth", "mm")
    if depths is None:
        table.need("depth_mm")
    n = len(table.rows)
    x, y = _lengths(table, "x", "mm") or [0.0] * n, _lengths(table, "y", "mm") or [0.0] * n
    to = table.column("to", lambda text: text.strip().casefold()) if "to" in table.columns else ("rails",) * n
    readings = []
    for (line, _), depth, px, py, one in zip(table.rows, depths or (), x, y, to, strict=True):
        if one not in _SURFACES:
            raise table.refusal(line, f"to: {one[:40]!r} is neither rails nor plate.")
        if depth is None or px is None or py is None:
            raise table.refusal(
                line,
                "a reading is a depth and where it was taken. Fill in all three, or leave the place out "
                "everywhere.",
            )
        readings.append(DepthReading((px, py), depth, "plate" if _SURFACES[one] == "plate" else "rails"))
    return readings


def screws_told(told: Any) -> tuple[Place, ...]:
    """
    Where screws are, [m], from x and y of each in mm, one after another.

    Raises
    ------
    RefusedReadings
        If a figure is left over.
    """
    figures = [float(one) / 1e3 for one in told]
    if len(figures) % 2:
        raise RefusedReadings(
            "A screw's place is two figures, x and y. Write them one after another.", "screws_mm"
        )
    return tuple(zip(figures[::2], figures[1::2], strict=True))
