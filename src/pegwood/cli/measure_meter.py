"""Reading an exposure meter's errors at the command line."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pegwood.cli._into_job import UNREADABLE, say_why_not
from pegwood.cli._open import OneLine
from pegwood.cli._options import together
from pegwood.cli._terminal import terminal

if TYPE_CHECKING:
    from pegwood.instruments.meter import Calibration
    from pegwood.instruments.uncertainty import Measured

__all__ = ["calibration", "constants", "meter"]

#: `--k`, `--c`, `--receptor` and `--iso`, for a command that takes them by these names.
constants = together(
    click.option("--k", type=float, help="ISO 2720's K for reflected light; 12.5 if not given."),
    click.option("--c", type=float, help="ISO 2720's C for incident light; 250 flat, 340 dome if not given."),
    click.option(
        "--receptor", type=click.Choice(["flat", "dome"]), default="flat", help="Of the incident meter."
    ),
    click.option("--iso", "film_speed", type=float, default=100.0, help="Film speed the EVs are for; 100."),
)
LIGHTS = "A, D55, D65, LED-B3 or a temperature such as 2700K"


@click.command(epilog="Example: pegwood measure meter readings.csv --cell cds --reference-u-ev 0.05 --json")
@click.argument("file", type=click.Path(path_type=Path))
@constants
@click.option(
    "--cell",
    type=click.Choice(["selenium", "cds", "unknown"]),
    default="unknown",
    help="What sees the light.",
)
@click.option(
    "--reference-u-ev", type=float, help="Standard uncertainty of the reference, alike for all readings."
)
@click.option("--reference-slope-u", type=float, default=0.0, help="That of its own slope, EV for each EV.")
@click.option("--division-ev", type=float, help="Step to which the scale was read; found from the figures.")
@click.option(
    "--scale",
    nargs=2,
    type=float,
    metavar="LOW HIGH",
    help="Ends of the scale in EV: readings there are left out.",
)
@click.option("--light", help=f"With --cell: take off what this light's colour does. {LIGHTS}.")
@click.option("--meant-for", default="D55", help="With --light: the light it should be right in; D55.")
@click.option("--movement-ohm", type=float, help="Resistance of the movement: tells the shunt for the shift.")
@click.option("--shunt-ohm", type=float, help="Shunt that is there now.")
@click.option("--limit-ev", type=float, help="Own limit for the error, plus or minus.")
@click.option("--json", "as_json", is_flag=True, help="For scripts: one object on one line.")
def meter(
    file: Path,
    k: float | None,
    c: float | None,
    receptor: Any,
    film_speed: float,
    cell: Any,
    reference_u_ev: float | None,
    reference_slope_u: float,
    division_ev: float | None,
    scale: tuple[float, float] | None,
    light: str | None,
    meant_for: str,
    movement_ohm: float | None,
    shunt_ohm: float | None,
    limit_ev: float | None,
    as_json: bool,
) -> None:
    """
    Hold an exposure meter against a reference over its range.

    FILE is a CSV table: reference_ev,shown_ev and maybe direction (up, down: which way the light was
    changed). The reference may be reference_cd_m2 or reference_lx instead. A reading beyond the scale is
    written as "off". Errors are shown less true: above zero it sees too much light, and pictures come out
    too dark.

    Caution: an old battery may be a mercury cell; never open, heat or bin it. Selenium and cadmium are
    poisonous as dust. No ohmmeter across cell or movement. The maker's sheet comes first.
    """
    from pegwood.instruments.meter import Against, analyse_meter, readings_of
    from pegwood.instruments.readings import RefusedReadings, open_figures

    try:
        used = calibration(k, c, receptor, film_speed)
        readings = readings_of(open_figures(file), used, division=division_ev, scale=scale or None)
        against = Against(
            reference_u_ev, reference_slope_u, _colour(cell, light, meant_for), _limits(limit_ev), cell,
            movement_ohm, shunt_ohm,
        )  # fmt: skip
        result = analyse_meter(readings, against).to_json()
    except (RefusedReadings, OSError) as error:
        say_why_not(file, error)
        raise click.exceptions.Exit(UNREADABLE) from None
    constant = {"cd_m2": "K", "fl": "K", "lx": "C", "fc": "C"}.get(readings.unit)
    if constant:
        result["warnings"] += used.warnings(constant)
        value = used.k_used if constant == "K" else used.c_used
        result["notes"].append(
            f"EV from {readings.unit} by ISO 2720 with {constant} = {value:g} at ISO {film_speed:g}."
        )
    if as_json:
        click.echo(json.dumps({**result, "file": str(file)}, ensure_ascii=False))
    else:
        _show(str(file), result)


def calibration(k: float | None, c: float | None, receptor: Any, film_speed: float) -> Calibration:
    """ISO 2720's constants as they were told."""
    from pegwood.instruments.meter import Calibration

    return Calibration(k, c, receptor, film_speed)


def _colour(cell: str, light: str | None, meant_for: str) -> Measured | None:
    if light is None:
        return None
    if cell == "unknown":
        raise OneLine("What a light's colour does depends on the cell: say --cell selenium or --cell cds.", 2)
    from pegwood.instruments.meter import mismatch

    return mismatch(cell, light, meant_for).error


def _limits(limit_ev: float | None) -> Any:
    from dataclasses import replace

    from pegwood.instruments.meter import default_limits
    from pegwood.instruments.readings import RefusedReadings
    from pegwood.instruments.verdicts import Bounds

    if limit_ev is None:
        return default_limits()
    if not 0 < limit_ev < float("inf"):
        raise RefusedReadings(f"A limit is above zero, in EV, not {limit_ev:g}.")
    own = Bounds(-limit_ev, limit_ev, "ev", "told on the command line", "practice")
    return replace(default_limits(), error=own)


def _show(file: str, result: dict[str, Any]) -> None:
    """A result for a person: figures with their 95 % uncertainty, the verdict, what to turn."""
    from rich import box
    from rich.table import Table
    from rich.text import Text

    console = terminal()
    console.print(
        Text.assemble(
            (file, "bold"), f"  {result['n']} readings, EV {result['low_ev']:.4g} to {result['high_ev']:.4g}"
        )
    )
    table = Table("", "found", "95 %", box=box.SIMPLE)
    for name, key, unit in (
        (f"error at EV {result['middle_ev']:.4g}", "offset", "ev"),
        ("slope, EV for each EV", "slope", ""),
        ("curvature, ends less middle", "curvature", "ev"),
        ("hysteresis, up less down", "hysteresis", "ev"),
    ):
        end = f"_{unit}" if unit else ""
        value, interval = result[key + end], result[f"{key}_95{end}"]
        told = "–" if value is None else f"{value:+.3f}{' EV' if unit else ''}"
        table.add_row(name, told, "–" if value is None else f"± {(interval[1] - interval[0]) / 2:.3f}")
    if result["scatter_ev"] is not None:
        table.add_row("scatter of a reading", f"{result['scatter_ev']:.3f} EV", "")
    console.print(table)
    for one in result["judged"]:
        if one["verdict"] != "within":
            where = "" if one["ev"] is None else f" (EV {one['ev']:.4g})"
            half = (one["value_95_ev"][1] - one["value_95_ev"][0]) / 2
            console.print(f"{one['what']}{where}: {one['value_ev']:+.2f} ± {half:.2f} EV: {one['verdict']}")
    console.print(f"verdict: {result['verdict']}{_limit(result)}")
    console.print(f"pattern: {result['pattern']}: {result['pattern_means']}")
    for line in result["advice"]:
        console.print(f"- {line}")
    for line in result["cautions"]:
        console.print(Text.assemble(("caution:", "bold"), f" {line}"))
    for line in result["warnings"]:
        console.print(Text.assemble(("note:", "bold"), f" {line}"))
    for line in result["notes"]:
        console.print(Text(line, "dim"))


def _limit(result: dict[str, Any]) -> str:
    limit = next((one["limit"] for one in result["judged"] if one["limit"]), None)
    if limit is None:
        return ""
    return f" (limit {limit['low_ev']:+g} to {limit['high_ev']:+g} EV: {limit['source']} [{limit['mark']}])"
