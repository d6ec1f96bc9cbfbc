"""The `pegwood` command. Nothing is imported before it is needed: `pegwood --help` must answer at once."""

from pegwood.cli.root import main

__all__ = ["main"]
