"""Readings of a rangefinder at the command line."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pegwood.cli._open import OneLine, refused
from pegwood.cli._options import together
from pegwood.cli._terminal import terminal

if TYPE_CHECKING:
    from rich.console import Console

_known = together(
    click.option("--format", "film_format", default="135", help="Film format, for the limit: 135, 6x6 ..."),
    click.option("--circle-mm", type=float, help="Circle of confusion, instead of the format's."),
    click.option(
        "--acuity", default="practice", help="Of the eye: vernier (10 arcsec), practice, arcminute."
    ),
    click.option("--acuity-arcsec", type=float, help="The same as a figure of your own."),
    click.option("--reading-dpt", type=float, help="How well the scale is read, one standard deviation."),
    click.option("--true-mm", type=float, default=0.0, help="How well the true distances are known."),
    click.option("--nearest", help="Nearest mark on the scale: 1, 0.9 m, 3 ft."),
    click.option(
        "--from",
        "measured_from",
        type=click.Choice(["lens", "film"]),
        default="lens",
        help="What the distances are told from; for the error on the film.",
    ),
)
_turned = together(
    click.option("--screw-dpt-per-turn", type=float, help="What one turn of the infinity screw does."),
    click.option("--gain-per-turn", type=float, help="What one turn of the gain's adjuster does."),
    click.option("--lever-ratio", type=float, help="Turn of the mirror for a turn of the lever."),
    click.option("--lever-tilt-deg", type=float, help="Follower's arm off square at infinity."),
    click.option(
        "--before", type=click.Path(path_type=Path), help="Readings from before the last round of turning."
    ),
    click.option(
        "--vertical-arcmin",
        type=float,
        multiple=True,
        help="Height of the moving image over the fixed one, without magnification; may be given repeatedly.",
    ),
)


@click.command(
    epilog="Example: pegwood measure rangefinder found.csv --base-mm 40 --magnification 0.7 --focal-mm 50 "
    "--stop 2"
)
@click.argument("readings", type=click.Path(path_type=Path))
@click.option("--base-mm", type=float, help="From window to window.")
@click.option("--prism-deg", type=float, help="A split-image screen's wedge angle, instead of a base.")
@click.option("--prism-index", type=float, default=1.49, show_default=True, help="What the wedge is made of.")
@click.option("--magnification", type=float, required=True, help="Of the finder: 0.7.")
@click.option("--focal-mm", type=float, required=True, help="Of the lens.")
@click.option("--stop", type=float, required=True, help="Its widest stop: 2.")
@click.option("--uncoupled", is_flag=True, help="Shown is the finder's own scale; the lens is set by hand.")
@_known
@_turned
@click.option("--json", "as_json", is_flag=True, help="For scripts: one object.")
def rangefinder(
    readings: Path, before: Path | None, vertical_arcmin: tuple[float, ...], as_json: bool, **asked: Any
) -> None:
    """
    Say what readings of a rangefinder tell, and what to turn.

    READINGS is a CSV file with the columns true_m and shown_m (or true_ft, shown_ft): what the scale shows
    when the images coincide, at three true distances or more. inf stands for infinity, 10 ft for
    feet in any cell; beyond is shown where the lens reaches its stop before the images meet. A column
    round marks readings from before the last round of turning: before.
    """
    from pegwood.instruments.rangefinder import analyse_told
    from pegwood.instruments.readings import RefusedReadings, open_figures

    told = {**asked, "kind": _kind(asked), "vertical_arcmin": vertical_arcmin}
    try:
        result = analyse_told(
            open_figures(readings), told, before=None if before is None else open_figures(before)
        ).to_json()
    except RefusedReadings as refusal:
        raise refused(refusal) from None
    except OSError as error:
        raise OneLine(f"{error.filename}: {error.strerror}.", 2) from None
    if as_json:
        click.echo(json.dumps({**result, "file": str(readings)}, ensure_ascii=False))
    else:
        _show(terminal(), str(readings), result)


def _kind(asked: dict[str, Any]) -> str:
    screen = asked["prism_deg"] is not None
    if screen == (asked["base_mm"] is not None):
        raise OneLine("Give either --base-mm, or --prism-deg for a split-image screen.", 2)
    if screen and asked["uncoupled"]:
        raise OneLine("A split-image screen is read off the lens: leave out --uncoupled.", 2)
    return "screen" if screen else "uncoupled" if asked["uncoupled"] else "coupled"


def _show(console: Console, file: str, result: dict[str, Any]) -> None:
    """A result for a person."""
    from rich import box
    from rich.table import Table
    from rich.text import Text

    limit = result["limit"]
    console.print(Text.assemble((file, "bold"), "  rangefinder: ", (result["verdict"], "bold")))
    for name, key, unit, title in (
        ("offset", "_dpt", " dpt", "infinity"),
        ("gain", "", "", "gain"),
        ("curvature", "_per_dpt", " /dpt", "bow"),
    ):
        console.print(f"{title}: {_plus_minus(result, name, key)}{unit}")
    table = Table("true", "readings", "on the film", "verdict", "a setting by eye", box=box.SIMPLE)
    for one in result["distances"]:
        true = "infinity" if one["true_m"] is None else f"{one['true_m']:.3g} m"
        film = _plus_minus(one, "film_error", "_m", 1e3)
        best = f"{1e3 * one['base_film_error_m']:.3f} mm"
        table.add_row(true, str(one["n"]), f"{film} mm", one["verdict"], best)
    console.print(table)
    console.print(
        f"limit: ± {1e3 * result['limit_m']:.3f} mm, {limit['note']} ({limit['source']}; {limit['mark']})"
    )
    if result["vertical"]:
        vertical = result["vertical"]
        moved = _plus_minus(vertical, "error", "_rad", 60 * 180 / math.pi)
        console.print(
            f"vertical: {moved} arcmin, {vertical['verdict']} ({vertical['limit']['note']}: "
            f"{vertical['limit']['source']}; {vertical['limit']['mark']})"
        )
    for line in result["advice"]:
        console.print(Text.assemble(("do: ", "bold"), line))
    for line in result["warnings"]:
        console.print(Text.assemble(("note: ", "bold"), line))
    for line in result["notes"]:
        console.print(Text(line, "dim"))


def _plus_minus(one: dict[str, Any], name: str, end: str, scale: float = 1.0) -> str:
    """A figure and its 95 % half-width, to two digits of that."""
    value, interval = one[f"{name}{end}"], one[f"{name}_95{end}"]
    if value is None:
        return "–"
    half = scale * (interval[1] - interval[0]) / 2
    digits = 4 if half <= 0 else max(0, min(6, 1 - math.floor(math.log10(half))))
    return f"{scale * value:+.{digits}f} ± {half:.{digits}f}"
