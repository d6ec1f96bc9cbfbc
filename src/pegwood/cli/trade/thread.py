"""Which thread a measured screw has."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from pegwood.cli.trade._show import json_option, reference, show, told_in_one_line

if TYPE_CHECKING:
    from pegwood.trade.threads.rows import Crest

INCH_M = 0.0254


@click.command(epilog="Example: pegwood trade thread 2.48 0.45 --from japan")
@click.argument("diameter", type=float)
@click.argument("pitch", type=float, required=False)
@click.option(
    "--turns", type=float, metavar="N", help="Instead of the pitch: turns from crest to crest, with --over."
)
@click.option("--over", type=float, metavar="MM", help="The length of those turns.")
@click.option("--u-over", type=float, metavar="MM", help="Its standard uncertainty.  [default: 0.03]")
@click.option("--tpi", type=float, metavar="N", help="Instead of the pitch: threads per inch.")
@click.option("--inch", is_flag=True, help="Diameter, pitch and lengths are in inches.")
@click.option("--angle", type=float, metavar="DEGREES", help="The angle between the flanks, if measured.")
@click.option("--u-angle", type=float, metavar="DEGREES", help="Its standard uncertainty.  [default: 2]")
@click.option("--crest", type=click.Choice(["flat", "rounded"]), help="The form of the crests, if seen.")
@click.option("--from", "origin", metavar="ORIGIN", help="japan, continent, britain, america or watch.")
@click.option(
    "--u-diameter", type=float, metavar="MM", help="Standard uncertainty of the diameter.  [default: 0.02]"
)
@click.option("--u-pitch-percent", type=float, metavar="PERCENT", help="Of the pitch.  [default: 2]")
@json_option
def thread(
    diameter: float,
    pitch: float | None,
    turns: float | None,
    over: float | None,
    u_over: float | None,
    tpi: float | None,
    inch: bool,
    angle: float | None,
    u_angle: float | None,
    crest: Crest | None,
    origin: str | None,
    u_diameter: float | None,
    u_pitch_percent: float | None,
    as_json: bool,
) -> None:
    """Ask which thread a measured screw has."""
    from pegwood.trade.threads import pitch_of_turns, tell_thread
    from pegwood.trade.threads.measured import U_ANGLE_DEG, U_DIAMETER_M

    unit = INCH_M if inch else 1e-3
    with told_in_one_line():
        u_pitch_m = None
        if sum(given is not None for given in (pitch, turns, tpi)) != 1:
            raise ValueError(
                "Give the pitch once: a second figure (2.48 0.45), --turns 10 --over 4.5, or --tpi 56."
            )
        if turns is not None:
            if over is None:
                raise ValueError(
                    "--turns needs --over, the length of those turns, such as --turns 10 --over 4.5."
                )
            pitch_m, u_pitch_m = pitch_of_turns(
                turns, over * unit, 0.03e-3 if u_over is None else u_over * unit
            )
        elif tpi is not None:
            if tpi <= 0:
                raise ValueError(f"{tpi:g} threads per inch. Give a number above zero, such as --tpi 56.")
            pitch_m = INCH_M / tpi
        else:
            pitch_m = (pitch or 0.0) * unit
        if u_pitch_percent is not None:
            u_pitch_m = pitch_m * u_pitch_percent / 100
        answer = tell_thread(
            reference(),
            diameter * unit,
            pitch_m,
            u_diameter_m=U_DIAMETER_M if u_diameter is None else u_diameter * unit,
            u_pitch_m=u_pitch_m,
            angle_deg=angle,
            u_angle_deg=U_ANGLE_DEG if u_angle is None else u_angle,
            crest=crest,
            origin=origin,
        )
    show(answer, as_json)
