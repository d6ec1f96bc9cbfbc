"""How tight a small screw may be."""

from __future__ import annotations

import click

from pegwood.cli.trade._show import json_option, reference, show, told_in_one_line


@click.command(epilog="Example: pegwood trade torque M2x0.4 --in brass")
@click.argument("thread")
@click.option(
    "--in", "hole", metavar="MATERIAL", default="steel", show_default=True, help="What the hole is cut in."
)
@json_option
def torque(thread: str, hole: str, as_json: bool) -> None:
    """Ask how tight a small screw may be in its hole."""
    from pegwood.trade.threads import tell_torque

    with told_in_one_line():
        answer = tell_torque(reference(), thread, hole)
    show(answer, as_json)
