"""Weighing what is wrong, and saying why."""

from __future__ import annotations

from typing import Any

import click

from pegwood.cli._families import FAMILY, FIRST, told_in_one_line
from pegwood.cli._open import json_option, say
from pegwood.cli.causes._given import given, given_options

#: How many faults are shown to a person, and how likely the last of them must be.
SHOWN, LEAST = 12, 0.005
BAR = 24


@click.command(epilog="Example: pegwood causes likely box --story soaked-salt --story sand")
@FAMILY
@given_options
@click.option("--all", "everything", is_flag=True, help="Show every fault, however unlikely.")
@json_option
def likely(family: str, everything: bool, as_json: bool, **told: Any) -> None:
    """Weigh what is wrong, after a story and some signs."""
    from pegwood.causes.weighing import weigh

    with told_in_one_line():
        here = given(family, **told)
    weighed = weigh(here.causes, here.case)
    if as_json:
        say(
            {
                "faults": [
                    {"id": one.fault.id, "part": one.fault.part, "p": one.chance} for one in weighed.faults
                ],
                "evidence_p": weighed.evidence_p,
                "unexplained": [one.sign.id for one in weighed.unexplained],
                "approximate": weighed.approximate,
                "off": weighed.off,
                "possible": weighed.is_possible,
            }
        )
        return
    if not weighed.is_possible:
        click.secho("The knowledge holds this impossible: these are the chances without it.", fg="red")
    shown = weighed.faults if everything else weighed.faults[:SHOWN]
    for one in shown:
        if one.chance >= LEAST or everything:
            bar = "█" * round(BAR * one.chance)
            click.echo(f"{one.chance:6.1%} {bar:{BAR}} {one.fault.name}  ({one.fault.id})")
    for sign in weighed.unexplained:
        click.secho(f"None of these explains: {sign.sign.asks} ({sign.sign.id})", bold=True)
    if weighed.approximate:
        click.echo(f"Approximate: {how_far_off(weighed.off)}.")
    click.echo(FIRST)


@click.command(epilog="Example: pegwood causes why box shutter.sector-gummed --story unused-long")
@FAMILY
@click.argument("fault")
@given_options
@json_option
def why(family: str, fault: str, as_json: bool, **told: Any) -> None:
    """Say why a fault is as likely as it is: what raised it, what lowered it, and by how much."""
    from pegwood.causes.why import why as reasons_for

    with told_in_one_line():
        here = given(family, **told)
        found = reasons_for(here.causes, here.case, fault)
    if as_json:
        say(
            {
                "fault": fault,
                "before": found.before,
                "p": found.now,
                "reasons": [
                    {
                        "kind": one.kind,
                        "about": one.about,
                        "p": one.chance,
                        "log_odds": one.log_odds,
                        "without": one.without,
                    }
                    for one in found.reasons
                ],
                "source": found.fault.source,
                "mark": found.fault.mark,
            }
        )
        return
    click.secho(f"{found.fault.name}: {found.before:.1%} before, {found.now:.1%} now", bold=True)
    for one in found.reasons:
        if one.changes:
            said = in_words(one.factor)
            click.echo(f"  {one.chance:6.1%}  {one.about}: {said}; without it {one.without:.1%}")
    if quiet := sum(not one.changes for one in found.reasons):
        click.echo(f"  {quiet} more change nothing.")
    click.echo(f"{found.fault.source} ({found.fault.mark})")


def how_far_off(off: float) -> str:
    """What can be said of how far off a chance may be; at 1 no bound is known."""
    if off >= 1:
        return "by how much a chance is off, nobody can say"
    return f"a chance may be up to {off:.1%} off"


def in_words(factor: float) -> str:
    """What a factor does to odds, as it is said."""
    if factor >= 1:
        return f"odds {factor:.3g} times as high"
    return f"odds down to 1/{1 / factor:.3g}"
