"""What a substance does to people and to the room."""

from __future__ import annotations

import click

from pegwood.cli.trade._show import json_option, reference, show, told_in_one_line


@click.command(epilog="Example: pegwood trade safety heptane")
@click.argument("substance", nargs=-1, required=True)
@json_option
def safety(substance: tuple[str, ...], as_json: bool) -> None:
    """How a substance burns, poisons and is labelled, and what to do."""
    from pegwood.trade.safety import tell_substance

    with told_in_one_line():
        show(tell_substance(reference(), " ".join(substance)), as_json)
