"""What to look for."""

from __future__ import annotations

from typing import Any

import click

from pegwood.cli._open import json_option, say, with_book


@click.command(epilog="Example: pegwood spares short --family box")
@click.option("--family", default="", help="Only for this kind of camera, by its slug.")
@click.option("--most", default=30, show_default=True, type=click.IntRange(1, 10_000), help="How many.")
@json_option
@with_book
def short(family: str, most: int, as_json: bool) -> None:
    """
    Tell which parts to look for, and what to pay.

    What open jobs are likely to need, and cameras still to come, against what lies on the shelf. The price
    worth paying is told once somebody said, on the shopping list's page, what having one is worth.
    """
    from django.utils import timezone

    from pegwood.book.spares.short import short_parts
    from pegwood.book.workshop import workshop

    found = short_parts(timezone.now(), family=family)
    for one in found[:most]:
        if as_json:
            say(_as_data(one))
        else:
            _show(one, workshop().locale)
    if not found and not as_json:
        click.echo("Nothing is likely to run out.")
    elif len(found) > most and not as_json:
        click.echo(f"And {len(found) - most} more: --most shows them.")


def _show(one: Any, locale: str) -> None:
    click.secho(f"{one.name}", bold=True, nl=False)
    click.echo(f", {one.family_name}  ({one.part})")
    jobs = ", ".join(f"{number} ({chance:.0%})" for number, chance in one.jobs)
    there = f"{one.there} there" if one.there else "none there"
    still = f", about {one.good:.1f} still good half-way" if one.good < one.there - 0.05 else ""
    ahead = "a year" if one.years == 1 else f"{one.years:g} years"
    when = f"within {ahead}" if one.used else "with the open jobs"
    click.echo(f"    runs out {when}: {one.runs_out:.0%}; {there}{still}")
    if jobs:
        click.echo(f"    open jobs that may need it: {jobs}")
    past = f"{one.used} of {one.visits} such cameras needed it" if one.used else "no closed job needed it yet"
    click.echo(f"    {past}; about {one.expected:.1f} wanted")
    if one.buy:
        click.echo(f"    look for {one.buy}, {one.why_so_many}")
    if one.worth is not None:
        click.echo(f"    one more is worth up to {one.worth.format(locale)}")
    else:
        click.echo(f"    one more is worth up to {one.runs_out:.0%} of what having one is worth to you")


def _as_data(one: Any) -> dict[str, Any]:
    return {
        "family": one.family,
        "part": one.part,
        "name": one.name,
        "scarce": one.scarce,
        "there": one.there,
        "still_good": one.good,
        "jobs": [{"job": number, "p": chance} for number, chance in one.jobs],
        "used": one.used,
        "visits": one.visits,
        "years": one.years,
        "expected": one.expected,
        "runs_out": one.runs_out,
        "buy": one.buy,
        "why_so_many": one.why_so_many,
        "worth_minor": one.worth.minor if one.worth else None,
        "currency": one.worth.currency if one.worth else None,
    }
