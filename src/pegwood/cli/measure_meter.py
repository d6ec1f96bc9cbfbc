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
#: What a habit or a guess stands for until it is told.
_BETTER = {
    "reference_u_ev": "--reference-u-ev",
    "division_ev": "--division-ev",
    "limit_ev": "--limit-ev",
}
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
def meter(file: Path, as_json: bool, **told: Any) -> None:
    """
    Hold an exposure meter against a reference over its range.

    FILE is a CSV table: reference_ev,shown_ev and maybe direction (up, down: which way the light was
    changed). The reference may be reference_cd_m2 or reference_lx instead. A reading beyond the scale is
    written as "off". Errors are shown less true: above zero it sees too much light, and pictures come out
    too dark.

    Caution: an old battery may be a mercury cell; never open, heat or bin it. Selenium and cadmium are
    poisonous as dust. No ohmmeter across cell or movement. The maker's sheet comes first.
    """
    from pegwood.instruments.meter import analyse_told
    from pegwood.instruments.readings import RefusedReadings, open_figures

    if told["light"] and told["cell"] == "unknown":
        raise OneLine("What a light's colour does depends on the cell: say --cell selenium or --cell cds.", 2)
    try:
        result = analyse_told(open_figures(file), told).to_json()
    except (RefusedReadings, OSError) as error:
        say_why_not(file, error)
        raise click.exceptions.Exit(UNREADABLE) from None
    if as_json:
        click.echo(json.dumps({**result, "file": str(file)}, ensure_ascii=False))
    else:
        _show(str(file), result)
        better = [option for name, option in _BETTER.items() if told[name] is None]
        if better:
            terminal().print(f"Told better by {', '.join(better)}.", style="dim")


def calibration(k: float | None, c: float | None, receptor: Any, film_speed: float) -> Calibration:
    """ISO 2720's constants as they were told."""
    from pegwood.instruments.meter import Calibration

    return Calibration(k, c, receptor, film_speed)


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
