"""`pegwood trade clutch`."""

from __future__ import annotations

import click

from pegwood.cli.trade._show import json_option, show, told_in_one_line


@click.command(
    epilog="Example: pegwood trade clutch --friction 0.15 --force 2 --faces 2 --outside 10 --inside 6"
)
@click.option("--friction", type=float, required=True, help="Coefficient between the faces.")
@click.option("--force", type=float, required=True, help="That presses them, N.")
@click.option("--faces", type=int, default=1, help="Pairs of faces that rub.  [default: 1]")
@click.option("--outside", type=float, required=True, help="Outer diameter of the faces, mm.")
@click.option("--inside", type=float, required=True, help="Inner diameter of the faces, mm.")
@json_option
def clutch(friction: float, force: float, faces: int, outside: float, inside: float, as_json: bool) -> None:
    """The torque at which a friction clutch slips."""
    from pegwood.trade.fits import Clutch, tell_clutch

    with told_in_one_line():
        answer = tell_clutch(
            Clutch(
                friction=friction,
                force_n=force,
                faces=faces,
                outer_m=outside / 2000,
                inner_m=inside / 2000,
            )
        )
    show(answer, as_json)
