"""Shell completion."""

from __future__ import annotations

import click
from click.shell_completion import get_completion_class


@click.command(epilog='Example: eval "$(pegwood completion bash)"')
@click.argument("shell", type=click.Choice(["bash", "zsh", "fish"]))
def completion(shell: str) -> None:
    """Let your shell complete the commands."""
    from pegwood.cli.root import main

    kind = get_completion_class(shell)
    assert kind is not None
    click.echo(kind(main, {}, "pegwood", "_PEGWOOD_COMPLETE").source())
