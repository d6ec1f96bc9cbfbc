"""Asking what the trade knows."""

from __future__ import annotations

import click

from pegwood.cli.lazy import LazyGroup

#: One module a question; each takes `--json` and prints through `_show`.
QUESTIONS: dict[str, tuple[str, str]] = {
    "ask": ("pegwood.cli.trade.ask:ask", "Ask in plain words; the word `ask` may be left out."),
}


class PlainWords(LazyGroup):
    """Commands by name; what begins with none of them is a question in plain words."""

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if args[0] not in self.lazy and not args[0].startswith("-"):
            args = ["ask", *args]
        return super().resolve_command(ctx, args)


@click.group(cls=PlainWords, lazy=QUESTIONS, epilog='Example: pegwood trade "brass + steel, salt"')
def trade() -> None:
    """Ask what the trade knows: metals, agents, threads, oils."""
