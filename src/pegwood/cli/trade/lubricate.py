"""What goes on a place of a camera."""

from __future__ import annotations

import click

from pegwood.cli.trade._show import json_option, reference, show, told_in_one_line


@click.command(epilog="Example: pegwood trade lubricate helicoid")
@click.argument("place", nargs=-1, required=True)
@json_option
def lubricate(place: tuple[str, ...], as_json: bool) -> None:
    """What goes on a place, how much, and where none may be."""
    from pegwood.trade.lubricants import tell_place

    with told_in_one_line():
        show(tell_place(reference(), " ".join(place)), as_json)
