"""What the workshop chooses for itself."""

from __future__ import annotations

import click

from pegwood.cli._open import json_option, say, who, with_book, with_book_or_new
from pegwood.cli._terminal import terminal


@click.group(epilog="Example: pegwood settings set name='The Lantern Bench' currency=EUR")
def settings() -> None:
    """The workshop's name, money, limits and the rest."""


@settings.command("list", epilog="Example: pegwood settings list --json")
@json_option
@with_book
def list_(as_json: bool) -> None:
    """Show every setting, what it is for, and how it stands."""
    from pegwood.book.workshop import says, workshop
    from pegwood.book.workshop import settings as all_settings

    chosen = workshop()
    values = {name: getattr(chosen, name) for name in all_settings()}
    if as_json:
        say(values)
        return
    from rich import box
    from rich.table import Table

    table = Table("setting", "value", "what it is for", box=box.SIMPLE)
    for name, value in values.items():
        table.add_row(name, str(value), says(name))
    terminal().print(table)


@settings.command("set", epilog="Example: pegwood settings set hourly_rate=6200 time_zone=Europe/Oslo")
@click.argument("pairs", nargs=-1, required=True, metavar="NAME=VALUE...")
@with_book_or_new
def set_(pairs: tuple[str, ...]) -> None:
    """Change settings; all of them, or none if one cannot be."""
    from pegwood.book.workshop import change_settings

    new = dict(_pair(pair) for pair in pairs)
    change_settings(new, by=who())
    click.echo(f"Set: {', '.join(new)}.")


def _pair(text: str) -> tuple[str, str]:
    name, equals, value = text.partition("=")
    if not equals:
        raise click.BadParameter(f"{text!r} is not NAME=VALUE, such as currency=EUR")
    return name.strip(), value
