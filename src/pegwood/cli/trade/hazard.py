"""What in a camera or beside it can hurt."""

from __future__ import annotations

import click

from pegwood.cli.trade._show import json_option, reference, show, told_in_one_line


@click.command(epilog='Example: pegwood trade hazard "mercury cell"')
@click.argument("hazard", nargs=-1, required=True)
@json_option
def hazard(hazard: tuple[str, ...], as_json: bool) -> None:
    """What can hurt: how to recognise it, what to do, what never."""
    from pegwood.trade.safety import tell_hazard

    with told_in_one_line():
        show(tell_hazard(reference(), " ".join(hazard)), as_json)
