"""`pegwood trade series`."""

from __future__ import annotations

import click

from pegwood.cli.trade._show import json_option, reference, show, told_in_one_line


@click.command(epilog="Example: pegwood trade series f/8 1/125")
@click.argument("words", nargs=-1, required=True)
@click.option("--iso", type=float, default=100.0, help="Film speed for an EV.  [default: 100]")
@json_option
def series(words: tuple[str, ...], iso: float, as_json: bool) -> None:
    """
    What a stop or speed is marked for exactly, and exposure values.

    WORDS: a stop (f/5.6), a time (1/60, 8s), both, "ev 15", or a series: stops, half-stops,
    third-stops, old-stops, times, long-times, half-times, third-times, old-leaf-times, old-curtain-times.
    """
    from pegwood.trade.series import tell_markings

    with told_in_one_line():
        answer = tell_markings(reference(), words, iso)
    show(answer, as_json)
