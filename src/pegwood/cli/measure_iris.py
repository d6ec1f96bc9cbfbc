"""Measuring a diaphragm at the command line: from a photograph, or from a calliper's readings."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pegwood.cli._into_job import UNREADABLE, say_why_not
from pegwood.cli._open import OneLine
from pegwood.cli._terminal import terminal

if TYPE_CHECKING:
    from rich.console import Console

    from pegwood.instruments.iris import IrisResult, Scale

PATH = click.Path(path_type=Path)
#: What a note asks for, and by which option it is told here: the instrument itself knows of none.
_OPTIONS = {
    "how large a pixel is": "--mm-per-px, or --scale",
    "focal length is not told": "--focal-mm",
    "number of blades": "--blades, --across",
    "Darker pictures of": "--darker",
}


@click.command(epilog="Example: pegwood measure iris at-f8.jpg --mm-per-px 0.0252 --marked 8 --focal-mm 50")
@click.argument("file", required=False, type=PATH)
@click.option("--mm-per-px", type=float, help="Millimetres in a pixel, in the plane of the opening.")
@click.option("--scale", "points", metavar="X1,Y1,X2,Y2,MM", help="Two points of the picture, and their mm.")
@click.option("--scale-u", type=float, help="Relative standard uncertainty of the scale: 0.002 is 0.2 %.")
@click.option("--marked", help="What the ring says: 8 or f/8.")
@click.option("--focal-mm", type=float, help="Focal length, for f-number and error.")
@click.option("--focal-u", type=float, help="Its relative standard uncertainty, if measured.")
@click.option("--returns", type=PATH, help="A second photograph: the same stop set once more.")
@click.option("--closing", type=PATH, help="A second photograph: the stop reached by closing.")
@click.option(
    "--darker",
    type=(PATH, float),
    multiple=True,
    metavar="PHOTO EV",
    help="The same opening exposed less, once each for 1, 2 and 3 EV: tells the camera's own curve.",
)
@click.option("--limit-ev", type=float, help="Your own limit of the error, both ways.")
@click.option("--blades", type=int, help="For a table: how many, where the opening has corners.")
@click.option(
    "--across", type=click.Choice(["corners", "flats"]), help="With --blades: what the calliper touched."
)
@click.option("--calliper-u-mm", type=float, help="For a table: standard uncertainty of a reading.")
@click.option("--json", "as_json", is_flag=True, help="For scripts: one object, see 'schema measure.iris'.")
def iris(
    file: Path | None,
    mm_per_px: float | None,
    points: str | None,
    scale_u: float | None,
    marked: str | None,
    focal_mm: float | None,
    focal_u: float | None,
    returns: Path | None,
    closing: Path | None,
    darker: tuple[tuple[Path, float], ...],
    limit_ev: float | None,
    blades: int | None,
    across: Any,
    calliper_u_mm: float | None,
    as_json: bool,
) -> None:
    """
    Measure a diaphragm from a photograph or a calliper's readings.

    FILE is a photograph of the opening, lit from behind and seen along the axis from the front, all else
    dark; or a table (CSV) with the columns marked, diameter_mm and maybe direction (opening or closing).

    From a photograph: diameter of the circle with the opening's area, roundness (smallest over largest
    calliper diameter), number of blades, and which blade is late or bent. With --marked and --focal-mm the
    f-number and its error in EV; positive lets in too much light.

    Caution: leave the blades alone while the ring moves, and never oil them.
    """
    from pegwood.instruments.readings import RefusedReadings

    if file is None:
        raise OneLine("Give a photograph or a table: pegwood measure iris FILE.", 2)
    try:
        if file.suffix.casefold() in (".csv", ".txt", ".tsv"):
            _not_for("a table", mm_per_px=mm_per_px, scale=points, scale_u=scale_u, marked=marked,
                     returns=returns, closing=closing, darker=darker or None)  # fmt: skip
            result = _by_calliper(file, focal_mm, focal_u, limit_ev, blades, across, calliper_u_mm)
        else:
            _not_for("a photograph", blades=blades, across=across, calliper_u_mm=calliper_u_mm)
            scale = _scale(mm_per_px, points, scale_u)
            result = _by_photograph(
                file,
                scale,
                marked,
                focal_mm,
                focal_u,
                {"again": returns, "closing": closing},
                darker,
                limit_ev,
            )
    except (RefusedReadings, OSError) as error:
        named = getattr(error, "filename", None)
        say_why_not(Path(named) if named else file, error)
        raise click.exceptions.Exit(UNREADABLE) from None
    if as_json:
        click.echo(json.dumps({**result.to_json(), "file": str(file)}, ensure_ascii=False, allow_nan=False))
    else:
        _show(terminal(), str(file), result)


def _not_for(what: str, **given: Any) -> None:
    extra = [name for name, value in given.items() if value is not None]
    if extra:
        raise OneLine(f"--{extra[0].replace('_', '-')} does not go with {what}. Leave it out.", 2)


def _scale(mm_per_px: float | None, points: str | None, u_rel: float | None) -> Scale | None:
    from pegwood.instruments.iris import Scale, practice

    if mm_per_px is not None and points is not None:
        raise OneLine("Give --mm-per-px or --scale, not both.", 2)
    if mm_per_px is not None:
        return Scale.told(mm_per_px, u_rel, practice())
    if points is None:
        return None
    try:
        x1, y1, x2, y2, mm = (float(one) for one in points.split(","))
    except ValueError:
        raise OneLine(
            f"{points[:60]!r} is no scale. Write X1,Y1,X2,Y2,MM: two points in pixels and the millimetres "
            "between them.",
            2,
        ) from None
    return Scale.between((x1, y1, x2, y2), mm, u_rel, practice())


def _given(focal_mm: float | None, focal_u: float | None, limit_ev: float | None) -> dict[str, Any]:
    import math

    from pegwood.instruments.iris import FocalLength, practice
    from pegwood.instruments.verdicts import Bounds

    if focal_u is not None and not (math.isfinite(focal_u) and 0 <= focal_u < 0.5):
        raise OneLine(f"{focal_u:g} is no relative uncertainty of a focal length. Write 0.01 for 1 %.", 2)
    if limit_ev is not None and not (math.isfinite(limit_ev) and limit_ev > 0):
        raise OneLine(f"A limit of {limit_ev:g} EV can't be. Write such as 0.33.", 2)
    focal = None if focal_mm is None else FocalLength.told(focal_mm, focal_u, practice())
    own = (
        None if limit_ev is None else Bounds(-limit_ev, limit_ev, "ev", "as told with --limit-ev", "practice")
    )
    return {"focal": focal, "limit": own}


def _by_photograph(
    file: Path,
    scale: Scale | None,
    marked: str | None,
    focal_mm: float | None,
    focal_u: float | None,
    more: dict[str, Path | None],
    darker: tuple[tuple[Path, float], ...],
    limit_ev: float | None,
) -> IrisResult:
    from pegwood.instruments.iris import Darker, MarkedStop, analyse_iris
    from pegwood.instruments.photographs import open_photograph

    others: dict[str, Any] = {name: path and open_photograph(path) for name, path in more.items()}
    return analyse_iris(
        open_photograph(file),
        scale=scale,
        marked=None if marked is None else MarkedStop.parse(marked),
        darker=[Darker(open_photograph(path), by_ev) for path, by_ev in darker],
        **others,
        **_given(focal_mm, focal_u, limit_ev),
    )


def _by_calliper(
    file: Path,
    focal_mm: float | None,
    focal_u: float | None,
    limit_ev: float | None,
    blades: int | None,
    across: Any,
    u_mm: float | None,
) -> IrisResult:
    from pegwood.instruments.iris import analyse_callipers, calliper_readings
    from pegwood.instruments.readings import open_figures

    if (blades is None) != (across is None):
        raise OneLine("--blades and --across go together: how many, and whether corners or flats.", 2)
    return analyse_callipers(
        calliper_readings(open_figures(file)),
        blades=blades,
        across=across or "corners",
        u_mm=u_mm,
        **_given(focal_mm, focal_u, limit_ev),
    )


def _show(console: Console, file: str, result: IrisResult) -> None:
    """For a person: every figure with its 95 % half-width, the verdict with whose limit it is."""
    from rich.text import Text

    console.print(Text(file, "bold"))
    if result.marks:
        _show_marks(console, result)
    else:
        if result.diameter:
            console.print(f"diameter: {stated(result.diameter, 'mm', 1e3)}")
        elif result.diameter_px:
            console.print(f"diameter: {stated(result.diameter_px, 'pixels')}, no scale")
        if result.roundness:
            console.print(f"roundness: {stated(result.roundness, '')}")
        console.print(f"blades: {result.blades or 'not told'}")
        if result.stop.f_number:
            console.print(f"f-number: f/{stated(result.stop.f_number, '')}")
        if result.stop.error and result.stop.marked:
            exact = f"taken as f/{result.stop.marked.exact:.4g}"
            console.print(
                f"marked {result.stop.marked.text}, {exact}: {stated(result.stop.error, 'EV', sign=True)}"
            )
            console.print(judged(result.stop.verdict, result.stop.limit))
    for what, one in (("set again", result.returns), ("opening against closing", result.hysteresis)):
        if one:
            same = "the same within the uncertainty" if one.same else "not the same"
            console.print(f"{what}: {stated(one.ev, 'EV', sign=True)}, {same}")
            console.print(judged(one.verdict, one.limit))
    for warning in result.warnings:
        console.print(Text.assemble(("note:", "bold"), f" {warning}{options_for(warning, _OPTIONS)}"))
    for note in result.notes:
        console.print(Text(note, "dim"))


def _show_marks(console: Console, result: IrisResult) -> None:
    from rich import box
    from rich.table import Table

    table = Table("mark", "turned", "diameter", "f-number", "error", "verdict", box=box.SIMPLE)
    for one in result.marks:
        table.add_row(
            one.stop.marked.text if one.stop.marked else "",
            one.direction,
            stated(one.diameter, "mm", 1e3),
            stated(one.stop.f_number, ""),
            stated(one.stop.error, "EV", sign=True),
            one.stop.verdict,
        )
    console.print(table)
    limits = {one.stop.limit for one in result.marks if one.stop.limit}
    for limit in sorted(limits, key=lambda limit: limit.high or 0.0):
        console.print(f"limit {limit.low:+.2f} to {limit.high:+.2f} EV: {limit.source} [{limit.mark}]")


def options_for(said: str, options: Mapping[str, str]) -> str:
    """The options a note asks for, to be put behind it; nothing where it asks for none."""
    asked = [option for what, option in options.items() if what in said]
    return f" [{'; '.join(asked)}]" if asked else ""


def judged(said: str, limit: Any) -> str:
    """A verdict and whose limit it rests on."""
    if limit is None:
        return f"verdict: {said}"
    sides = " to ".join("open" if side is None else f"{side:+.2f}" for side in (limit.low, limit.high))
    return f"verdict: {said} (limit {sides} {limit.unit.upper()}: {limit.source} [{limit.mark}])"


def stated(measured: Any, unit: str, factor: float = 1.0, sign: bool = False) -> str:
    """A figure and its 95 % half-width, to two digits of that."""
    import math

    if measured is None:
        return "–"
    low, high = measured.coverage_interval()
    value, half = factor * measured.value, factor * (high - low) / 2
    digits = max(0, min(6, 1 - math.floor(math.log10(half)))) if half > 0 else 4
    return f"{value:{'+' if sign else ''}.{digits}f} ± {half:.{digits}f} {unit}".rstrip()
