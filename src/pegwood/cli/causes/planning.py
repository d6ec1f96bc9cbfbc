"""What to do next."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import click

from pegwood.cli._families import FAMILY, FIRST, told_in_one_line
from pegwood.cli._open import json_option, say
from pegwood.cli.causes._given import given, given_options

if TYPE_CHECKING:
    from pegwood.causes.family_net import FamilyCauses
    from pegwood.causes.planning import Proposal


PAYS = "Worth its time, with a comeback at its price:"
PAYS_EVEN_IF = "Worth its time even if a comeback cost {:.0%} of what it does:"


@click.command("next", epilog="Example: pegwood causes next box --closed --story unused-long")
@FAMILY
@given_options
@click.option("--off", multiple=True, metavar="PART", help="A part that is off already.")
@click.option("--mended", multiple=True, metavar="FAULT", help="A fault that was put right.")
@click.option(
    "--closed", is_flag=True, help="The bench check for an estimate: only looks for which nothing comes off."
)
@click.option(
    "--comeback", type=float, help="What a camera that comes back costs besides the work, in minutes."
)
@json_option
def next_(
    family: str,
    off: tuple[str, ...],
    mended: tuple[str, ...],
    closed: bool,
    comeback: float | None,
    as_json: bool,
    **told: Any,
) -> None:
    """Say what to look at, open or mend next: what saves the whole job most for each minute it takes."""
    from pegwood.anatomy.part_names import find_part
    from pegwood.causes.planning import FOR_ESTIMATE, Prices, next_actions

    with told_in_one_line():
        here = given(family, **told)
        prices = FOR_ESTIMATE if closed else Prices()
        if comeback is not None:
            prices = replace(prices, comeback=comeback)
        advice = next_actions(
            here.causes,
            here.construction,
            here.case,
            off=[find_part(here.construction, one).id for one in off],
            mended=mended,
            prices=prices,
            from_outside=closed,
        )
    if as_json:
        say(
            {
                "says": advice.says,
                "expected_minutes": advice.expected_minutes,
                "contradiction": list(advice.contradiction),
                "proposals": [_as_data(one) for one in advice.proposals],
            }
        )
        return
    click.secho(advice.says, bold=True)
    reckoned = None
    for number, one in enumerate(advice.proposals, 1):
        if one.kind != "stop" and one.oversight != reckoned:
            reckoned = one.oversight
            click.echo(PAYS if reckoned == 1 else PAYS_EVEN_IF.format(reckoned))
        _show(number, one, here.causes)
    if not advice.contradiction:
        click.echo(
            f"The rest of the job: about {advice.expected_minutes:.0f} min, mends and comebacks with it."
        )
    click.echo(FIRST)


def _as_data(one: Proposal) -> dict[str, Any]:
    return {
        "kind": one.kind,
        "id": one.id,
        "says": one.says,
        "minutes": one.minutes,
        "access_minutes": one.access_minutes,
        "worth_minutes": one.worth_minutes,
        "oversight": one.oversight,
        "access": [step.part.id for step in one.access],
        "parts": list(one.parts),
        "opens_for": [{"fault": fault, "p": chance} for fault, chance in one.opens_for],
        "with_look": one.with_look or None,
        "cautions": list(one.cautions),
    }


def _show(number: int, one: Proposal, causes: FamilyCauses) -> None:
    if one.kind == "stop":
        click.echo(f"{number:3}. {one.says}")
        return
    click.secho(f"{number:3}. {one.says}", bold=True, nl=False)
    click.echo(f"  ({one.id})")
    takes = f"{one.minutes:g} min"
    if one.access:
        parts = ", ".join(step.part.name for step in one.access)
        takes += f", and {one.access_minutes:.0f} for the way there: {parts}"
    click.echo(f"     {takes}; saves {one.worth_minutes:.1f} min beyond that")
    if one.kind == "look":
        click.echo(f"     {' / '.join(causes.signs[one.id].answers)}")
    for fault, chance in one.opens_for[:4]:
        click.echo(f"     {chance:.0%} {causes.faults[fault].name}")
    for caution in one.cautions:
        click.secho(f"     ! {caution}", fg="red")
