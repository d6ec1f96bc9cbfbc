"""`pegwood trade fit`."""

from __future__ import annotations

import click

from pegwood.cli.trade._show import json_option, reference, show, told_in_one_line


@click.command(epilog="Example: pegwood trade fit brass aluminium --diameter 50 --to 60 --clearance 0.02")
@click.argument("outer")
@click.argument("inner")
@click.option("--diameter", type=float, required=True, help="Of the fit, mm.")
@click.option("--from", "from_c", type=float, default=20.0, help="Degrees Celsius.  [default: 20]")
@click.option("--to", "to_c", type=float, default=-10.0, help="Degrees Celsius.  [default: -10]")
@click.option("--clearance", type=float, help="Between the two at the first temperature, across, mm.")
@click.option("--clearance-u", type=float, default=0.005, help="How sure that is, mm.  [default: 0.005]")
@json_option
def fit(
    outer: str,
    inner: str,
    diameter: float,
    from_c: float,
    to_c: float,
    clearance: float | None,
    clearance_u: float,
    as_json: bool,
) -> None:
    """
    What warmth does to the clearance between two metals.

    OUTER is the ring, INNER what turns in it.
    """
    from pegwood.trade.fits import tell_fit
    from pegwood.trade.measured import Measured

    with told_in_one_line():
        answer = tell_fit(
            reference(),
            outer,
            inner,
            diameter_m=diameter / 1000,
            from_c=from_c,
            to_c=to_c,
            clearance=None if clearance is None else Measured(clearance / 1000, clearance_u / 1000),
        )
    show(answer, as_json)
