"""`pegwood trade film`."""

from __future__ import annotations

import click

from pegwood.cli.trade._show import json_option, reference, show, told_in_one_line


@click.command(epilog="Example: pegwood trade film 120")
@click.argument("name", nargs=-1, required=True)
@json_option
def film(name: tuple[str, ...], as_json: bool) -> None:
    """
    A film format: width, frames, spacing, spool.

    NAME is the format: 135, 120, 220, 127, 116, 616, 620, 828, 126, 110.
    """
    from pegwood.trade.films import tell_film

    with told_in_one_line():
        answer = tell_film(reference(), " ".join(name))
    show(answer, as_json)
