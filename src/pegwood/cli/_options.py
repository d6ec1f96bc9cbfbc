"""Options that several commands share, given all at once."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click

__all__ = ["judged", "together"]

Command = Callable[..., Any]


def together(*options: Callable[[Command], Command]) -> Callable[[Command], Command]:
    """
    One decorator of several options, in the order in which `--help` lists them.

    Parameters
    ----------
    *options : callable
        As `click.option` makes them.

    Returns
    -------
    decorator : callable
    """

    def decorated(command: Command) -> Command:
        for option in reversed(options):
            command = option(command)
        return command

    return decorated


#: What every command is asked that holds a time against its marking.
judged = together(
    click.option(
        "--reading",
        type=click.Choice(["exact", "as marked"]),
        help="How the dial is read; the workshop's way if not given.",
    ),
    click.option(
        "--kind", type=click.Choice(["leaf", "focal-plane"]), help="Kind of shutter, for the limit."
    ),
    click.option(
        "--age",
        type=click.Choice(["older", "newer"]),
        help="About before or after 1960, for the limit; older if not given.",
    ),
)
