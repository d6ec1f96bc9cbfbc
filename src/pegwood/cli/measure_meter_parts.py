"""What stands beside a meter's readings: light and its colour, the supply, the cell."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import click

from pegwood.cli._into_job import UNREADABLE, say_why_not
from pegwood.cli._open import OneLine
from pegwood.cli._terminal import terminal
from pegwood.cli.measure_meter import LIGHTS, calibration, constants

__all__ = ["meter_cell", "meter_light", "meter_supply"]

SYSTEMS = ["mercury", "mercury-manganese", "silver-oxide", "zinc-air", "alkaline"]


@click.command("meter-light", epilog="Example: pegwood measure meter-light --ev 15 --cell selenium --light A")
@click.option("--ev", type=float, help="Exposure value.")
@click.option("--cd-m2", type=float, help="Luminance.")
@click.option("--lx", type=float, help="Illuminance.")
@click.option("--f-number", type=float, help="With --time-s: the stop.")
@click.option("--time-s", type=float, help="With --f-number: the time.")
@constants
@click.option("--cell", type=click.Choice(["selenium", "cds"]), help="With --light: what sees it.")
@click.option("--light", help=f"Test light: {LIGHTS}.")
@click.option("--meant-for", default="D55", help="With --light: the light the meter should be right in; D55.")
@click.option("--json", "as_json", is_flag=True, help="For scripts: one object on one line.")
def meter_light(
    ev: float | None,
    cd_m2: float | None,
    lx: float | None,
    f_number: float | None,
    time_s: float | None,
    k: float | None,
    c: float | None,
    receptor: Any,
    film_speed: float,
    cell: str | None,
    light: str | None,
    meant_for: str,
    as_json: bool,
) -> None:
    """
    Convert EV, cd/m2 and lx by ISO 2720; tell what a light's colour does.

    One of --ev, --cd-m2, --lx, or --f-number with --time-s. K and C outside the ranges of ISO 2720 are warned
    of. With --cell and --light: how much more a meter of that cell shows in that light than in daylight, from
    typical responses (memory; cells differ, and the uncertainty says so).
    """
    from pegwood.instruments.meter import ev_of_setting, mismatch
    from pegwood.instruments.readings import RefusedReadings

    setting = f_number is not None or time_s is not None
    if sum((ev is not None, cd_m2 is not None, lx is not None, setting)) != 1:
        raise OneLine("Give one of --ev, --cd-m2, --lx, or --f-number with --time-s.", 2)
    if setting and (f_number is None or time_s is None):
        raise OneLine("A setting is a stop and a time: --f-number 8 --time-s 1.", 2)
    if (cell is None) != (light is None):
        raise OneLine("The colour of a light needs both: --cell selenium --light A.", 2)
    try:
        used = calibration(k, c, receptor, film_speed)
        if cd_m2 is not None:
            ev = used.ev_of_luminance(cd_m2)
        elif lx is not None:
            ev = used.ev_of_illuminance(lx)
        elif setting:
            ev = ev_of_setting(f_number or 0.0, time_s or 0.0)
        value = ev or 0.0
        colour = mismatch(cell, light, meant_for).to_json() if cell and light else None
        result = {
            "ev": value,
            "luminance_cd_m2": used.luminance(value),
            "illuminance_lx": used.illuminance(value),
            "k": used.k_used,
            "c": used.c_used,
            "receptor": receptor,
            "film_speed": film_speed,
            "colour": colour,
            "warnings": list(used.warnings()),
        }
    except RefusedReadings as error:
        raise OneLine(str(error), 2) from None
    if as_json:
        click.echo(json.dumps(result, ensure_ascii=False))
        return
    console = terminal()
    console.print(
        f"EV {value:.4g} at ISO {film_speed:g}: {result['luminance_cd_m2']:.4g} cd/m2 (K {used.k_used:g}), "
        f"{result['illuminance_lx']:.5g} lx (C {used.c_used:g}, {receptor})"
    )
    if colour:
        half = (colour["mismatch_95_ev"][1] - colour["mismatch_95_ev"][0]) / 2
        console.print(
            f"{cell} in light {light} against {meant_for}: shows {colour['mismatch_ev']:+.2f} ± "
            f"{half:.2f} EV (95 %; "
            f"{colour['source']} [{colour['mark']}])"
        )
    _warn(result["warnings"])


@click.command(
    "meter-supply", epilog="Example: pegwood measure meter-supply --current-ua 50 --is silver-oxide --json"
)
@click.option(
    "--current-ua", type=float, required=True, help="What the meter draws in the middle of its scale."
)
@click.option("--was", type=click.Choice(SYSTEMS), default="mercury", help="Cell it was made for; mercury.")
@click.option("--is", "is_", type=click.Choice(SYSTEMS), help="Cell that is in it now.")
@click.option("--volts", type=float, help="Instead of --is: voltage of the new cell.")
@click.option(
    "--circuit", type=click.Choice(["series", "bridge"]), default="series", help="Needle or null; series."
)
@click.option("--series-ohm", type=float, default=0.0, help="Fixed resistance in series, movement included.")
@click.option("--gamma", type=float, help="Of the CdS cell; 0.7 if not given.")
@click.option("--range-ev", type=float, default=10.0, help="Width of the scale; 10.")
@click.option("--json", "as_json", is_flag=True, help="For scripts: one object on one line.")
def meter_supply(
    current_ua: float,
    was: str,
    is_: str | None,
    volts: float | None,
    circuit: str,
    series_ohm: float,
    gamma: float | None,
    range_ev: float,
    as_json: bool,
) -> None:
    """
    Tell what another battery does to a CdS meter, and what puts it right.

    The error over the scale on the new cell, with nothing, the film-speed dial, a resistor or a diode against
    it; a diode's drop varies with the current, and the table shows how much that leaves. A bridge read at its
    null does not depend on the voltage.

    Caution: mercury cells are poisonous: never open, heat or bin one; bag it for the collection of hazardous
    waste. Solder no lead to a cell.
    """
    from pegwood.instruments.meter import SeriesMeter, supply_of, systems, usual_gamma
    from pegwood.instruments.readings import RefusedReadings

    if (is_ is None) == (volts is None):
        raise OneLine("Say which cell is in it now: --is silver-oxide, or --volts 1.55.", 2)
    now = systems()[is_] if is_ else volts or 0.0
    used = usual_gamma() if gamma is None else gamma
    try:
        made = SeriesMeter(systems()[was], current_ua * 1e-6, used, series_ohm, range_ev / 2)
        result = supply_of(made, now, circuit).to_json()
    except RefusedReadings as error:
        raise OneLine(str(error), 2) from None
    if as_json:
        click.echo(json.dumps(result, ensure_ascii=False))
    else:
        _show_supply(result)


def _show_supply(result: dict[str, Any]) -> None:
    from rich import box
    from rich.table import Table

    console = terminal()
    middle = "beyond the scale"
    if result["error_ev"] is not None:
        half = (result["error_95_ev"][1] - result["error_95_ev"][0]) / 2
        middle = f"{result['error_ev']:+.2f} ± {half:.2f} EV (95 %)"
    console.print(
        f"{result['was_v']:g} V to {result['is_v']:g} V, {result['circuit']}: in the middle {middle}"
    )
    places = [one["from_middle_ev"] for one in result["fixes"][0]["errors"]][::2]
    table = Table("with", *(f"{place:+g} EV" for place in places), "largest", box=box.SIMPLE)
    for fix in result["fixes"]:
        what = fix["fix"]
        if fix["resistor_ohm"] is not None:
            what += f" {fix['resistor_ohm']:.4g} ohm"
        if fix["drop_v"] is not None:
            what += f", drops {fix['drop_v']:.2f} V"
        if fix["shift_ev"] is not None:
            what += f" {fix['shift_ev']:+.2f} EV"
        table.add_row(
            what, *(_ev(one["error_ev"]) for one in fix["errors"][::2]), _ev(fix["worst_ev"], sign=False)
        )
    console.print(table)
    console.print(f"least error: {result['best']}")
    _warn(result["warnings"], result["cautions"], result["notes"])


def _ev(value: float | None, *, sign: bool = True) -> str:
    return "beyond" if value is None else f"{value:+.2f}" if sign else f"{value:.2f}"


@click.command("meter-cell", epilog="Example: pegwood measure meter-cell cells.csv --division-ua 0.1 --json")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--division-ua", type=float, default=0.0, help="Step of the microammeter.")
@click.option(
    "--illuminance-u-ev", type=float, default=0.1, help="Standard uncertainty of the illuminance; 0.1."
)
@click.option("--json", "as_json", is_flag=True, help="For scripts: one object on one line.")
def meter_cell(file: Path, division_ua: float, illuminance_u_ev: float, as_json: bool) -> None:
    """
    Compare cells by short-circuit current: the better of two tired ones.

    FILE is a CSV table: cell,illuminance_lx,current_ua. Read all cells at the same four or more levels.

    Caution: let a selenium cell lie in each light before reading. Use a meter of low resistance (well under
    100 ohm); never an ohmmeter across the cell. Selenium dust is poisonous: do not scrape or break it.
    """
    from pegwood.instruments.meter import cells_told
    from pegwood.instruments.readings import RefusedReadings, open_figures

    try:
        told = {"division_ua": division_ua, "illuminance_u_ev": illuminance_u_ev}
        result = cells_told(open_figures(file), told).to_json()
    except (RefusedReadings, OSError) as error:
        say_why_not(file, error)
        raise click.exceptions.Exit(UNREADABLE) from None
    if as_json:
        click.echo(json.dumps({**result, "file": str(file)}, ensure_ascii=False))
        return
    console = terminal()
    for one in result["cells"]:
        if one["sensitivity_a_per_lx"] is not None:
            console.print(
                f"{one['name']}: {1e6 * one['sensitivity_a_per_lx']:.3g} ± "
                f"{1e6 * _half(one['sensitivity_95_a_per_lx']):.1g} uA/lx, exponent {one['exponent']:.3f} ± "
                f"{_half(one['exponent_95']):.3f} (95 %): {one['says']}"
            )
    for one in result["comparisons"]:
        if one["middle_ev"] is not None:
            middle, weakest = (
                f"{one[f'{where}_ev']:+.2f} ± {_half(one[f'{where}_95_ev']):.2f} EV"
                for where in ("middle", "weakest")
            )
            console.print(
                f"{one['cell']} against {one['against']}: {middle}, at {one['weakest_lx']:.3g} lx {weakest}: "
                f"{one['better']}"
            )
    console.print(f"the better cell: {result['best'] or 'too close to call'}")
    _warn(result["warnings"], result["cautions"])


def _half(interval: list[float]) -> float:
    return (interval[1] - interval[0]) / 2


def _warn(warnings: list[str], cautions: list[str] | None = None, notes: list[str] | None = None) -> None:
    from rich.text import Text

    console = terminal()
    for line in cautions or []:
        console.print(Text.assemble(("caution:", "bold"), f" {line}"))
    for line in warnings:
        console.print(Text.assemble(("note:", "bold"), f" {line}"))
    for line in notes or []:
        console.print(Text(line, "dim"))
