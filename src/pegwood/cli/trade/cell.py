"""`pegwood trade cell`."""

from __future__ import annotations

import click

from pegwood.cli.trade._show import json_option, reference, show, told_in_one_line


@click.command(epilog="Example: pegwood trade cell MR9")
@click.argument("designation", nargs=-1, required=True)
@json_option
def cell(designation: tuple[str, ...], as_json: bool) -> None:
    """
    A battery: size, volts, and what may stand in for it.

    DESIGNATION as IEC 60086 has it (LR44, MR9), or the number in the battery chamber (625).
    """
    from pegwood.trade.cells import tell_cell

    with told_in_one_line():
        answer = tell_cell(reference(), " ".join(designation))
    show(answer, as_json)
