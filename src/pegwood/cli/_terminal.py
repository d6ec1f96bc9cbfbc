"""Tables and bold words on a terminal, and every text as it was written."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.console import Console


def terminal(*, stderr: bool = False) -> Console:
    """
    A terminal that prints what it is given.

    Brackets and colons in a file's name or a setting are not taken for marks of style: "[/x]" would end the
    command, ":key:" would become a picture.
    """
    from rich.console import Console

    return Console(stderr=stderr, markup=False, emoji=False, highlight=False)
