"""How far long work has come, on a terminal only: a script's stderr stays clean."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from pegwood.cli._terminal import terminal


@contextmanager
def progress(what: str) -> Iterator[Callable[[float, float], None]]:
    """A bar that is told what is done, and out of how much."""
    from rich.markup import escape
    from rich.progress import Progress

    console = terminal(stderr=True)
    with Progress(console=console, transient=True, disable=not console.is_terminal) as bars:
        bar = bars.add_task(escape(what), total=None)  # the bar's own column reads marks of style

        def told(done: float, of: float) -> None:
            bars.update(bar, completed=done, total=of)

        yield told
