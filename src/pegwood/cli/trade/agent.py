"""What an agent does to materials."""

from __future__ import annotations

import click

from pegwood.cli.trade._show import json_option, reference, show, told_in_one_line


@click.command(epilog="Example: pegwood trade agent naphtha --on shellac,nickel-plate")
@click.argument("agent")
@click.option("--on", "materials", default="", help="Materials, with commas between; without, all of them.")
@click.option("--by", "method", help="How it is put on: swab, local-drop, soak, ultrasonic-jar and so on.")
@json_option
def agent(agent: str, materials: str, method: str | None, as_json: bool) -> None:
    """Tell what an agent does to materials."""
    from pegwood.trade.agents import tell_agent
    from pegwood.trade.beside import with_hazards, with_safety

    on = [one.strip() for one in materials.split(",") if one.strip()]
    with told_in_one_line():
        tables = reference()
        told = with_safety(tables, agent, tell_agent(tables, agent, on, method))
        show(with_hazards(tables, on, told), as_json)
