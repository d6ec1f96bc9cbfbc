"""A way in, told to somebody at the bench or as data."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from pegwood.anatomy.planning.in_reach import InReach
    from pegwood.anatomy.planning.plan import Plan, Step


def show(found: Plan, also: tuple[InReach, ...], orders: int | None) -> None:
    """Print a plan, step by step, and what else there is."""
    for number, step in enumerate(found.steps, 1):
        _show_step(number, step)
    proved = (
        "proved the cheapest" if found.is_optimal else f"at most {found.gap:.0%} dearer than the cheapest"
    )
    click.secho(
        f"\n{found.minutes:.0f} min of work, {found.changes_min:g} of them for tools and turns; ",
        bold=True,
        nl=False,
    )
    click.secho(f"{found.cost:.0f} with what may go wrong: {proved}.", bold=True)
    if found.limits:
        dearer = f"{found.dearer_min:.0f} min dearer than" if found.dearer_min >= 0.5 else "as cheap as"
        click.echo(f"With what you ask for it is {dearer} the way in without.")
    click.echo(_orders(orders))
    for one in found.alternatives:
        click.echo(f"Without '{one.instead_of.part.name}' {one.instead_of.way.name}: {one.cost:.0f}.")
    if also:
        click.secho("While you are in there:", bold=True)
        for each in also:
            _show_also(each)


def _orders(orders: int | None) -> str:
    if orders is None:
        return "The joins allow more orders than can be counted here."
    if orders <= 1:
        return "The joins allow no other order."
    return f"One of {f'{orders:,}' if orders < 1e9 else f'{orders:.1e}'} orders the joins allow."


def _show_also(one: InReach) -> None:
    others = ", ".join(step.part.name for step in one.steps[:-1])
    also = f", with {others}" if others else ""
    alone = f"; {one.alone:.0f} another day" if one.alone > one.extra + 0.5 else ""
    click.echo(f"     {one.part.name}{also}: {one.extra:.0f} min more{alone}. {one.worth.says}.")


def _show_step(number: int, step: Step) -> None:
    way = step.way
    named = f", {way.name}" if way.name else ""
    click.secho(f"{number:3}. {step.part.name}{named}", bold=True)
    low, high = f"{way.minutes.low:g}", f"{way.minutes.high:g}"
    click.echo(f"     {way.tool}, {way.side}; {way.minutes.likely:g} min ({low} to {high})")
    for note in way.before:
        click.echo(f"     first: {note.kind}. {note.says}")
    for risk in way.risks:
        click.echo(f"     risk: {risk.what}, {risk.chance:.0%}, {risk.minutes:g} min more")
    for caution in way.cautions:
        click.secho(f"     ! {caution}", fg="red")


def as_data(found: Plan, also: tuple[InReach, ...], orders: int | None) -> dict[str, Any]:
    """A plan as plain data: minutes are minutes."""
    return {
        "steps": [
            {
                "part": step.part.id,
                "way": step.way.name,
                "minutes": step.way.minutes.likely,
                "risk": step.risk_minutes,
                "after": list(step.way.after),
                "source": step.part.source,
                "mark": step.part.mark,
            }
            for step in found.steps
        ],
        "minutes": found.minutes,
        "cost": found.cost,
        "changes": found.changes_min,
        "optimal": found.is_optimal,
        "gap": found.gap,
        "order_gap_minutes": found.order_gap_min,
        "alternatives": [
            {
                "instead_of": {"part": one.instead_of.part.id, "way": one.instead_of.way.name},
                "cost": one.cost,
                "more": list(one.more),
                "fewer": list(one.fewer),
            }
            for one in found.alternatives
        ],
        "dearer": found.dearer_min,
        "orders": orders,
        "also": [
            {
                "part": one.part.id,
                "minutes": one.extra_minutes,
                "risk": one.extra_risk,
                "alone": one.alone,
                "with": [step.part.id for step in one.steps[:-1]],
                "why": one.worth.kind,
                "says": one.worth.says,
                "source": one.worth.source,
                "mark": one.worth.mark,
            }
            for one in also
        ],
    }
