"""Options that every command has which holds a time against its marking."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click

__all__ = ["judged"]

_OPTIONS = (
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


def judged(command: Callable[..., Any]) -> Callable[..., Any]:
    """
    Give a command `--reading`, `--kind` and `--age`.

    Parameters
    ----------
    command : callable
        Takes `reading`, `kind` and `age`.

    Returns
    -------
    command : callable
        The same with the options.
    """
    for option in reversed(_OPTIONS):
        command = option(command)
    return command
