"""The card of one metal."""

from __future__ import annotations

import click

from pegwood.cli.trade._show import json_option, reference, show, told_in_one_line


@click.command(epilog="Example: pegwood trade metal zinc die-cast")
@click.argument("name", nargs=-1, required=True)
@json_option
def metal(name: tuple[str, ...], as_json: bool) -> None:
    """Show a metal or finish: its index and what comes on it."""
    from pegwood.trade.beside import with_hazards
    from pegwood.trade.metals import tell_metal

    with told_in_one_line():
        tables, one = reference(), " ".join(name)
        show(with_hazards(tables, [one], tell_metal(tables, one)), as_json)
