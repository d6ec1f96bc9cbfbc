"""What two substances make when they meet."""

from __future__ import annotations

import click

from pegwood.cli.trade._show import json_option, reference, show, told_in_one_line


@click.command(epilog="Example: pegwood trade mix bleach vinegar")
@click.argument("one")
@click.argument("other")
@json_option
def mix(one: str, other: str, as_json: bool) -> None:
    """Whether two substances may meet, or follow one another."""
    from pegwood.trade.safety import tell_mixture

    with told_in_one_line():
        show(tell_mixture(reference(), one, other), as_json)
