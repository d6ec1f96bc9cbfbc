"""What may touch a material."""

from __future__ import annotations

import click

from pegwood.cli.trade._show import json_option, reference, show, told_in_one_line


@click.command(epilog="Example: pegwood trade material shellac")
@click.argument("material")
@json_option
def material(material: str, as_json: bool) -> None:
    """Tell what may touch a material, and what never."""
    from pegwood.trade.agents import tell_material
    from pegwood.trade.beside import with_hazards

    with told_in_one_line():
        tables = reference()
        show(with_hazards(tables, [material], tell_material(tables, material)), as_json)
