"""What can be looked at on a kind of camera, and what it may have."""

from __future__ import annotations

import click

from pegwood.cli._families import FAMILY, FIRST, construction_named, told_in_one_line
from pegwood.cli._open import json_option, say
from pegwood.cli.causes._given import causes_of


@click.command(epilog="Example: pegwood causes signs box")
@FAMILY
@json_option
def signs(family: str, as_json: bool) -> None:
    """List what can be looked at on such a camera."""
    with told_in_one_line():
        construction = construction_named(family)
    for one in causes_of(construction).signs.values():
        if as_json:
            say(
                {
                    "id": one.id,
                    "asks": one.asks,
                    "by": one.by,
                    "answers": list(one.answers),
                    "minutes": one.minutes,
                    "off": list(one.off),
                    "source": one.source,
                    "mark": one.mark,
                }
            )
            continue
        click.secho(one.id, bold=True)
        click.echo(f"    {one.asks} {' / '.join(one.answers)}")
        off = ", ".join(construction.parts[part].name for part in one.off)
        click.echo(f"    by {one.by}, {one.minutes:g} min" + (f"; off: {off}" if off else ""))
    if not as_json:
        click.echo(FIRST)


@click.command(epilog="Example: pegwood causes faults box")
@FAMILY
@json_option
def faults(family: str, as_json: bool) -> None:
    """List what such a camera may have, how often, and its mends with their cautions."""
    with told_in_one_line():
        construction = construction_named(family)
    for one in causes_of(construction).faults.values():
        if as_json:
            say(
                {
                    "id": one.id,
                    "name": one.name,
                    "part": one.part,
                    "p": one.prior,
                    "raised": {each.by: each.odds for each in one.raised},
                    "mends": [
                        {
                            "name": mend.name,
                            "minutes": [mend.minutes.low, mend.minutes.likely, mend.minutes.high],
                            "success": mend.success,
                            "parts": list(mend.parts),
                            "agents": list(mend.agents),
                            "breaks": {each.fault: each.chance for each in mend.breaks},
                            "cautions": list(mend.cautions),
                        }
                        for mend in one.mends
                    ],
                    "source": one.source,
                    "mark": one.mark,
                }
            )
            continue
        click.secho(f"{one.id}", bold=True, nl=False)
        click.echo(f"  {one.name}; {construction.parts[one.part].name}; {one.prior:.1%}")
        for mend in one.mends:
            took = mend.minutes
            click.echo(
                f"    {mend.name}: {took.likely:g} min ({took.low:g} to {took.high:g}), "
                f"does it {mend.success:.0%} of the time"
            )
            for caution in mend.cautions:
                click.secho(f"      ! {caution}", fg="red")
    if not as_json:
        click.echo(FIRST)
