"""Asking what the trade knows."""

from __future__ import annotations

import click

from pegwood.cli.lazy import LazyGroup

#: One module a question; each takes `--json` and prints through `_show`.
QUESTIONS: dict[str, tuple[str, str]] = {}


@click.group(cls=LazyGroup, lazy=QUESTIONS, epilog="Example: pegwood trade --help")
def trade() -> None:
    """Ask what the trade knows: metals, agents, threads, oils."""
