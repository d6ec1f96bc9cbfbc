"""How thick a lubricant is, warm and cold."""

from __future__ import annotations

import click

from pegwood.cli.trade._amounts import amount
from pegwood.cli.trade._show import json_option, reference, show, told_in_one_line
from pegwood.trade.numbers import ZERO_C_K


def _kelvin(text: str) -> float:
    return amount(text, ("C", "°C"), "temperature", "-10 or -10C") + ZERO_C_K


@click.command(epilog='Example: pegwood trade oil "mineral oil VG 32" --winter')
@click.argument("lubricant", nargs=-1, required=True)
@click.option(
    "--at", "temperatures", multiple=True, metavar="°C", help="At this temperature; may be repeated."
)
@click.option("--winter", is_flag=True, help="What slows in the cold, at -10 °C or at the one given.")
@json_option
def oil(lubricant: tuple[str, ...], temperatures: tuple[str, ...], winter: bool, as_json: bool) -> None:
    """
    How thick an oil or grease is, warm and cold; winter check.

    A class such as "synthetic oil VG 10", or points from its tin: "32@40 5.4@100", "32@40 VI 95".
    """
    from pegwood.trade.lubricants import tell_cold, tell_lubricant

    with told_in_one_line():
        word, kelvin = " ".join(lubricant), [_kelvin(one) for one in temperatures]
        if winter:
            for one in kelvin or [-10 + ZERO_C_K]:
                show(tell_cold(reference(), word, one), as_json)
        elif kelvin:
            show(tell_lubricant(reference(), word, kelvin), as_json)
        else:
            show(tell_lubricant(reference(), word), as_json)
