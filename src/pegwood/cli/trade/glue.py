"""Glues and coverings."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from pegwood.cli.trade._show import json_option, reference, show, told_in_one_line
from pegwood.trade.numbers import ZERO_C_K

if TYPE_CHECKING:
    from pegwood.trade.answers import Answer


@click.command(epilog="Example: pegwood trade glue leather aluminium")
@click.argument("names", nargs=-1, required=True)
@click.option("--near-optics", is_flag=True, help="Glass is near enough for a vapour to reach.")
@click.option("--for-good", is_flag=True, help="A broken part: it need not come off again.")
@click.option("--at", "celsius", type=float, help="Temperature of the piece while the glue sets, in C.")
@json_option
def glue(
    names: tuple[str, ...], near_optics: bool, for_good: bool, celsius: float | None, as_json: bool
) -> None:
    """Ask what holds two things together, or show one glue or covering."""
    from pegwood.trade.glues import tell_join

    with told_in_one_line():
        if len(names) == 1:
            show(_one(names[0], celsius), as_json)
        elif len(names) == 2:
            told = tell_join(reference(), *names, near_optics=near_optics, must_come_off_again=not for_good)
            show(told, as_json)
        else:
            raise ValueError('Name one glue or covering, or two materials; put names of several words in "".')


def _one(name: str, celsius: float | None) -> Answer:
    """A glue, or a covering where no glue has that name."""
    from pegwood.trade.glues import tell_covering, tell_glue
    from pegwood.trade.names import UnknownWord

    try:
        return tell_glue(reference(), name, None if celsius is None else celsius + ZERO_C_K)
    except UnknownWord:
        try:
            return tell_covering(reference(), name)
        except UnknownWord:
            pass
        raise
