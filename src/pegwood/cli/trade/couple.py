"""Two metals that touch."""

from __future__ import annotations

import click

from pegwood.cli.trade._show import json_option, reference, show, told_in_one_line


@click.command(epilog="Example: pegwood trade couple brass steel --in salt --area-ratio 0.1")
@click.argument("a")
@click.argument("b")
@click.option(
    "--in", "environment", default="normal", show_default=True, help="Where: salt, indoor, dry cabinet."
)
@click.option("--area-ratio", type=float, help="Area of the nobler metal over that of the baser one.")
@json_option
def couple(a: str, b: str, environment: str, area_ratio: float | None, as_json: bool) -> None:
    """Judge two metals that touch: which one suffers, and where."""
    from pegwood.trade.beside import with_hazards
    from pegwood.trade.metals import tell_couple

    with told_in_one_line():
        tables = reference()
        told = tell_couple(tables, a, b, environment, area_ratio)
        show(with_hazards(tables, [a, b], told), as_json)
