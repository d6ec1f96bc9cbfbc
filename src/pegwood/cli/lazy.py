"""A group of commands that are imported only when one of them is called."""

from __future__ import annotations

from importlib import import_module
from typing import Any

import click


class LazyGroup(click.Group):
    """
    Commands by name, each as ``"module:object"`` with its line of help.

    The line stands here and not in the module, so that the list of commands can be shown without importing
    any of them; a test holds both to the same words.
    """

    def __init__(self, *args: Any, lazy: dict[str, tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.lazy = lazy

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(self.lazy)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in self.lazy:
            return None
        module, _, name = self.lazy[cmd_name][0].partition(":")
        command: click.Command = getattr(import_module(module), name)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, line) for name, (_, line) in self.lazy.items()])
