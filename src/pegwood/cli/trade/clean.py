"""How a whole assembly may be cleaned."""

from __future__ import annotations

from typing import Any

import click

from pegwood.cli.trade._show import json_option, reference, show, told_in_one_line


@click.command(epilog="Example: pegwood trade clean brass,barrel=nickel-plate,doublet=balsam")
@click.argument("parts", nargs=-1, required=True)
@click.option("--off", "dirt", help="What is to come off: oil, rust, verdigris, fungus and so on.")
@json_option
def clean(parts: tuple[str, ...], dirt: Any, as_json: bool) -> None:
    """Tell how an assembly may be cleaned, and what must come off it first."""
    from pegwood.trade.agents import tell_routes
    from pegwood.trade.beside import with_hazards

    named = [one.strip() for one in " ".join(parts).split(",") if one.strip()]
    with told_in_one_line():
        tables, assembly = reference(), [_part(one) for one in named]
        made_of = [one if isinstance(one, str) else one[1] for one in assembly]
        show(with_hazards(tables, made_of, tell_routes(tables, assembly, dirt)), as_json)


def _part(told: str) -> str | tuple[str, str]:
    name, equals, material = told.partition("=")
    return (name.strip(), material.strip()) if equals else told
