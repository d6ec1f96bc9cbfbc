"""Focus for a person: series, distance scale and register on a terminal."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from rich.console import Console

    from pegwood.instruments.focus import SeriesResult


def _pm(data: dict[str, Any], name: str, unit: str, scale: float, said: str) -> str:
    """A figure with its 95 % half-width, to two digits of that."""
    end = f"_{unit}" if unit else ""
    value, ends = data[f"{name}{end}"], data[f"{name}_95{end}"]
    if value is None or ends is None or ends[0] is None:
        return "–"
    half = scale * (ends[1] - ends[0]) / 2
    digits = 4 if half <= 0 else max(0, min(6, 1 - math.floor(math.log10(half))))
    return f"{scale * value:.{digits}f} ± {half:.{digits}f} {said}".rstrip()


def distance_said(value: float | None) -> str:
    return "infinity" if value is None else f"{value:.3g} m" if value < 1000 else f"{value:.0f} m"


def _tell(console: Console, data: dict[str, Any]) -> None:
    from rich.text import Text

    for line in data["advice"]:
        console.print(Text.assemble(("do:", "bold"), f" {line}"))
    for line in data["warnings"]:
        console.print(Text.assemble(("note:", "bold"), f" {line}"))
    for line in data["notes"]:
        console.print(Text(line, "dim"))


def _limit(limit: dict[str, Any] | None) -> str:
    if limit is None:
        return ""
    ends = [None if limit[k] is None else 1e3 * limit[k] for k in ("low_m", "high_m")]
    text = " to ".join("" if one is None else f"{one:+.3f}" for one in ends)
    return f" ({text} mm: {limit['source']}; {limit['mark']})"


def show_series(console: Console, result: SeriesResult, unit: str) -> None:
    from rich import box
    from rich.table import Table

    from pegwood.instruments.focus import series_json

    data = series_json(result)
    unit = "" if unit == "other" else unit
    table = Table("photograph", f"at {unit}".strip(), "MTF50", "edge", box=box.SIMPLE)
    for one in data["shots"]:
        turned = "–" if one["degrees"] is None else f"{one['degrees']:.1f}° at {one['x']:.0f},{one['y']:.0f}"
        at = "–" if one["at"] is None else f"{one['at']:g}"
        table.add_row(Path(one["file"]).name, at, _pm(one, "mtf50", "", 1.0, "c/px"), turned)
    console.print(table)
    if len(data["places"]) > 1:
        for one in data["places"]:
            x, y = one["place_m"] or (math.nan, math.nan)
            console.print(f"best focus at {1e3 * x:g},{1e3 * y:g} mm: {_pm(one, 'best', '', 1.0, unit)}")
    console.print(f"best focus: {_pm(data, 'best', '', 1.0, unit)}")
    if tilt := data["tilt"]:
        console.print(
            f"tilt: right side {_pm(tilt, 'right', 'rad', 3437.75, 'arcmin')}, top "
            f"{_pm(tilt, 'up', 'rad', 3437.75, 'arcmin')} further from the film"
        )
        if data["corner_m"] is not None:
            console.print(f"in the corner: {_pm(data, 'corner', 'm', 1e3, 'mm')}{_limit(data['limit'])}")
            console.print(f"verdict: {data['verdict']}")
    for one in data["stops"]:
        console.print(
            f"f/{one['f_number']:g}: focus moves {_pm(one, 'shift', 'm', 1e3, 'mm')}, {one['verdict']}"
            f"{_limit(one['limit'])}"
        )
    _tell(console, data)


def show_scale(console: Console, data: dict[str, Any]) -> None:
    from rich import box
    from rich.table import Table

    table = Table("mark", "error at the image", "depth of focus", "depth of field", "", box=box.SIMPLE)
    for one in data["marks"]:
        table.add_row(
            distance_said(one["marked_m"]),
            _pm(one, "error", "m", 1e3, "mm"),
            f"±{1e3 * one['depth_of_focus_m']:.3f} mm",
            f"{distance_said(one['near_m'])} to {distance_said(one['far_m'])}",
            one["verdict"],
        )
    console.print(table)
    console.print(f"all marks together: {_pm(data, 'offset', 'm', 1e3, 'mm')} too far from the film")
    console.print(f"in proportion to the extension: {_pm(data, 'gain', '', 100, '%')}")
    console.print(f"verdict: {data['verdict']}{_limit(data['marks'][-1]['limit'])}")
    _tell(console, data)


def show_register(console: Console, data: dict[str, Any]) -> None:
    for one in data["surfaces"]:
        console.print(f"flange to {one['to']}: {_pm(one, 'distance', 'm', 1e3, 'mm')}")
        if tilt := one["tilt"]:
            console.print(
                f"  tilt: right side {_pm(tilt, 'right', 'rad', 3437.75, 'arcmin')}, top "
                f"{_pm(tilt, 'up', 'rad', 3437.75, 'arcmin')} deeper"
            )
    if data["error_m"] is not None:
        console.print(f"error: {_pm(data, 'error', 'm', 1e3, 'mm')}")
        console.print(f"verdict: {data['verdict']}{_limit(data['limit'])}")
    if data["channel_m"] is not None:
        console.print(
            f"film channel: {_pm(data, 'channel', 'm', 1e3, 'mm')}, {data['channel_verdict']}"
            f"{_limit(data['channel_limit'])}; film floats by {_pm(data, 'film_float', 'm', 1e3, 'mm')}"
        )
    for one in data["screws"]:
        x, y = one["place_m"]
        console.print(f"screw at {1e3 * x:g},{1e3 * y:g} mm: {_pm(one, 'change', 'm', 1e3, 'mm')}")
    _tell(console, data)
