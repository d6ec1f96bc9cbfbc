"""How bad rust is."""

from __future__ import annotations

import click

from pegwood.cli.trade._show import json_option, reference, show, told_in_one_line


@click.command(epilog='Example: pegwood trade rust 0.3 --flag "moving part"')
@click.argument("area_or_look", nargs=-1, required=True)
@click.option("--flag", "flags", multiple=True, help="pitted, cracked, swollen, moving part or optical face.")
@json_option
def rust(area_or_look: tuple[str, ...], flags: tuple[str, ...], as_json: bool) -> None:
    """Grade rust by its area in percent or by its look."""
    from pegwood.trade.metals import tell_rust

    with told_in_one_line():
        show(tell_rust(reference(), " ".join(area_or_look), flags), as_json)
