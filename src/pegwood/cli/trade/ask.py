"""A question in plain words."""

from __future__ import annotations

import click

from pegwood.cli.trade._show import json_option, reference, show, told_in_one_line


@click.command(epilog='Example: pegwood trade ask "acetone on celluloid"')
@click.argument("words", nargs=-1, required=True)
@json_option
def ask(words: tuple[str, ...], as_json: bool) -> None:
    """Ask in plain words; the word `ask` may be left out."""
    from pegwood.trade.asking import ask as asked

    with told_in_one_line():
        show(asked(reference(), " ".join(words)), as_json)
