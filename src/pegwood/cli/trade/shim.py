"""`pegwood trade shim`."""

from __future__ import annotations

import click

from pegwood.cli.trade._show import json_option, reference, show, told_in_one_line


@click.command(epilog="Example: pegwood trade shim 0.37 --stock 0.05x4,0.1x2,0.2,0.02")
@click.argument("thickness", type=float)
@click.option(
    "--stock",
    default="metric",
    help="Leaves at hand, mm or in: 0.05x4,0.1x2,0.002inx3; or a set to cut from: metric, rings, inch, "
    "fine-inch.  [default: metric]",
)
@json_option
def shim(thickness: float, stock: str, as_json: bool) -> None:
    """
    The fewest leaves of foil that add to a thickness.

    THICKNESS in mm.
    """
    from pegwood.trade.shims import tell_shims

    with told_in_one_line():
        answer = tell_shims(reference(), thickness, stock)
    show(answer, as_json)
