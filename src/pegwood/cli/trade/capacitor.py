"""Letting a charged capacitor down."""

from __future__ import annotations

import click

from pegwood.cli.trade._amounts import amount
from pegwood.cli.trade._show import json_option, reference, show, told_in_one_line

#: Printed on the can without a unit, a value is in microfarads: none for a flash is a farad.
_MICRO = 1e-6


@click.command(epilog="Example: pegwood trade capacitor 1000uF 330V --through 1k")
@click.argument("capacitance")
@click.argument("voltage")
@click.option("--through", metavar="OHM", help="The resistor at hand; left out, one is chosen.")
@click.option("--safe", metavar="V", default="5 V", show_default=True, help="The voltage taken for safe.")
@json_option
def capacitor(capacitance: str, voltage: str, through: str | None, safe: str, as_json: bool) -> None:
    """Let a charged capacitor down: energy, resistor, time."""
    from pegwood.trade.safety import tell_capacitor

    with told_in_one_line():
        value = amount(capacitance, ("F",), "capacitance", "1000uF")
        if value >= 1 and capacitance.strip().lower()[-1:].isdigit():
            value *= _MICRO
        ohm = amount(through, ("ohm", "Ω"), "resistance", "1k or 470 ohm") if through else None
        show(
            tell_capacitor(
                reference(),
                value,
                amount(voltage, ("V",), "voltage", "330V"),
                ohm,
                amount(safe, ("V",), "voltage", "5V"),
            ),
            as_json,
        )
