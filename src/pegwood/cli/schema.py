"""What the answers of `--json` hold, as JSON Schema."""

from __future__ import annotations

import json

import click

from pegwood.cli._open import OneLine
from pegwood.cli._schemas import schema as whole
from pegwood.cli._schemas import schema_names


@click.command(epilog="Example: pegwood schema measure.meter")
@click.argument("name", required=False)
def schema(name: str | None) -> None:
    """
    Print what an answer of --json holds, as JSON Schema.

    Without a name it lists those there are.
    """
    if name is None:
        click.echo("\n".join(schema_names()))
        return
    if name not in schema_names():
        raise OneLine(f"No answer {name!r} is described. There are: {', '.join(schema_names())}.", 2)
    click.echo(json.dumps(whole(name), indent=2, ensure_ascii=False))
