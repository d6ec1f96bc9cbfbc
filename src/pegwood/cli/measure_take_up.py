"""The take-up spool, its clutch and the counter, at the command line."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import click

from pegwood.cli._open import refused
from pegwood.cli._terminal import terminal

if TYPE_CHECKING:
    from rich.console import Console


@click.command(
    "take-up",
    epilog="Example: pegwood measure take-up --core-mm 14 --force 0.8 --force 0.9 --force 0.8 --radius-mm 12",
)
@click.option("--core-mm", type=float, required=True, help="Diameter of the empty take-up spool.")
@click.option("--core-within-mm", type=float, default=0.1, show_default=True, help="How well, either side.")
@click.option("--roll", "roll_name", default="135-36", show_default=True, help="135-36, 135-24 or 135-12.")
@click.option("--length-m", type=float, help="Length of the film instead, tongue to cassette.")
@click.option("--pitch-mm", type=float, help="From frame to frame; 8 perforations if not given.")
@click.option(
    "--thickness-mm", type=float, help="Of the film, by a micrometer; ordinary film's if not given."
)
@click.option("--thickness-within-mm", type=float, default=0.005, show_default=True, help="How well.")
@click.option("--drive-turns", type=float, help="Turns an advance gives the spool while the clutch holds.")
@click.option("--counted", type=int, help="Frames after which the camera stopped at the film's end.")
@click.option("--force", "forces", type=float, multiple=True, help="Spring balance, in newtons; repeatedly.")
@click.option("--radius-mm", type=float, help="Radius at which the thread pulls.")
@click.option("--what", default=None, help="Its limit: rewind, advance-empty or advance-film.")
@click.option("--json", "as_json", is_flag=True, help="For scripts: one object.")
def take_up(as_json: bool, **asked: Any) -> None:
    """
    Tell how a take-up spool winds, what its clutch slips, and how hard it turns.

    Pull slowly and square to the radius, battery and film out; a thread round the spool or its knob does.
    """
    from pegwood.instruments.readings import RefusedReadings

    try:
        result = _answer(asked)
    except RefusedReadings as refusal:
        raise refused(refusal) from None
    if as_json:
        click.echo(json.dumps(result, ensure_ascii=False))
    else:
        _show(terminal(), result)


def _answer(asked: dict[str, Any]) -> dict[str, Any]:
    from pegwood.instruments.readings import RefusedReadings
    from pegwood.instruments.transport.told import friction_told, take_up_told

    wound = take_up_told([asked["core_mm"]], asked)
    if bool(asked["forces"]) != (asked["radius_mm"] is not None):
        raise RefusedReadings("A torque wants both: --force, several times, and --radius-mm.")
    turned = None
    if asked["forces"]:
        spool = (asked["core_mm"] / 1e3, wound.full.value)
        told = {"radius_mm": asked["radius_mm"], "what": asked["what"]}
        turned = friction_told(asked["forces"], told, spool_m=spool)
    return {
        **wound.to_json(),
        "friction": None if turned is None else turned.to_json(),
        "warnings": [*wound.warnings, *(() if turned is None else turned.warnings)],
        "notes": list(wound.notes),
    }


def _show(console: Console, result: dict[str, Any]) -> None:
    from rich.text import Text

    def figure(name: str, unit: str, scale: float = 1.0, digits: int = 3) -> str:
        value, ends = result[f"{name}_{unit}"], result[f"{name}_95_{unit}"]
        return (
            "–"
            if value is None
            else f"{scale * value:.{digits}f} ± {scale * (ends[1] - ends[0]) / 2:.{digits}f}"
        )

    console.print(f"full spool: {figure('full', 'm', 1e3, 2)} mm")
    console.print(f"turns an advance: first {figure('first', 'turns')}, last {figure('last', 'turns')}")
    console.print(f"the clutch must slip {figure('slip', 'turns')} turns an advance by the last frame")
    if result["first_slip_turns"] is not None:
        first, last = figure("first_slip", "turns"), figure("last_slip", "turns")
        source = f"{result['slip_limit']['source']}; {result['slip_limit']['mark']}"
        console.print(f"it slips: first {first}, last {last}: {result['slip_verdict']} ({source})")
    low, high = result["expected_frames"]
    console.print(f"frames to expect: {low} to {high}")
    if result["counted"]:
        console.print(result["counted"])
    turned = result["friction"]
    if turned and turned["torque_n_m"] is not None:
        ends = turned["torque_95_n_m"]
        console.print(
            f"torque: {1e3 * turned['torque_n_m']:.1f} ± {500 * (ends[1] - ends[0]):.1f} mN m (95 %)"
        )
        if turned["limit"]:
            limit = turned["limit"]
            console.print(
                f"{turned['verdict']}: at most {1e3 * limit['high_n_m']:g} mN m, {limit['note']} "
                f"({limit['source']}; {limit['mark']})"
            )
        if turned["pull_n"]:
            console.print(
                f"as a clutch it pulls {turned['pull_n'][0]:.2f} N empty, {turned['pull_n'][1]:.2f} N full"
            )
    for line in result["warnings"]:
        console.print(Text.assemble(("note: ", "bold"), line))
    for line in result["notes"]:
        console.print(Text(line, "dim"))
