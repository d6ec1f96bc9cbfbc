"""What was seen on a part."""

from __future__ import annotations

import click

from pegwood.cli.trade._show import json_option, reference, show, told_in_one_line


@click.command(epilog='Example: pegwood trade corrosion "green wax on brass"')
@click.argument("look", nargs=-1, required=True)
@json_option
def corrosion(look: tuple[str, ...], as_json: bool) -> None:
    """Name corrosion or decay by its look, and what undoes it."""
    from pegwood.trade.metals import tell_corrosion

    with told_in_one_line():
        show(tell_corrosion(reference(), " ".join(look)), as_json)
