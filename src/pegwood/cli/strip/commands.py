"""Asking how a family comes apart."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pegwood.cli._open import OneLine, json_option, say

if TYPE_CHECKING:
    from pegwood.anatomy.construction import Construction
    from pegwood.anatomy.planning.plan import Plan, Step

FIRST = "Common practice. The maker's service sheet comes first."
FAMILY = click.argument("family")


@contextmanager
def told_in_one_line() -> Iterator[None]:
    """Turn a part or family that is not there, a slip in a file, or a way that is closed into one line."""
    try:
        yield
    except ValueError as reason:
        raise OneLine(str(reason), 2) from None


def _construction(slug: str) -> Construction:
    from pegwood.anatomy.construction import constructions
    from pegwood.trade.names import nearest

    known = constructions()
    if slug not in known:
        raise ValueError(
            f"{slug!r} is no family whose construction is known. Nearest: {', '.join(nearest(slug, known))}."
        )
    return known[slug]


@click.command(epilog="Example: pegwood strip families")
@json_option
def families(as_json: bool) -> None:
    """List the families whose construction is known."""
    from pegwood.anatomy.construction import constructions

    for one in constructions().values():
        if as_json:
            say({"family": one.id, "name": one.name, "parts": len(one.parts), "mark": one.ground.mark})
        else:
            click.echo(f"{one.id}\n    {one.name}; {len(one.parts)} parts")


@click.command(epilog="Example: pegwood strip parts box")
@FAMILY
@json_option
def parts(family: str, as_json: bool) -> None:
    """List a family's parts with how they come off."""
    with told_in_one_line():
        found = _construction(family)
    for part in found.parts.values():
        if as_json:
            say(
                {
                    "id": part.id,
                    "name": part.name,
                    "also": list(part.also),
                    "materials": list(part.materials),
                    "ways": len(part.ways),
                    "source": part.source,
                    "mark": part.mark,
                }
            )
            continue
        also = f" ({', '.join(part.also)})" if part.also else ""
        click.echo(f"{part.id}: {part.name}{also}; {', '.join(part.materials)}")
        for way in part.ways:
            after = f" after {', '.join(way.after)}" if way.after else ""
            named = f"{way.name}: " if way.name else ""
            click.echo(f"    {named}{way.tool}, {way.side}, {way.minutes.likely:g} min{after}")
    if not as_json:
        click.echo(FIRST)


@click.command(epilog="Example: pegwood strip plan box --reach shutter.sector")
@FAMILY
@click.option(
    "--reach",
    "targets",
    multiple=True,
    required=True,
    metavar="PART",
    help="A part to reach; may be repeated.",
)
@click.option("--off", multiple=True, metavar="PART", help="A part that is off already.")
@click.option("--spare", multiple=True, metavar="PART", help="A part that must stay.")
@json_option
def plan(
    family: str, targets: tuple[str, ...], off: tuple[str, ...], spare: tuple[str, ...], as_json: bool
) -> None:
    """Find the cheapest way in to some parts of a family."""
    from pegwood.anatomy.planning.plan import plan as planned

    with told_in_one_line():
        found = planned(_construction(family), targets, off, spare)
    if as_json:
        say(_as_data(found))
        return
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
    for one in found.alternatives:
        click.echo(f"Without '{one.instead_of.part.name}' {one.instead_of.way.name}: {one.cost:.0f}.")
    click.echo(FIRST)


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


def _as_data(found: Plan) -> dict[str, Any]:
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
    }


@click.command(epilog="Example: pegwood strip check my-family.toml")
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
def check(file: Path) -> None:
    """Check a file that describes a family or a mechanism."""
    from pegwood.anatomy.construction import read_construction
    from pegwood.anatomy.mechanism import mechanisms, read_mechanism
    from pegwood.trade.reference import Reference
    from pegwood.trade.typed_toml import Source

    with told_in_one_line():
        try:
            text = file.read_text("utf-8")
        except UnicodeDecodeError:
            raise ValueError(f"{file} is no text in UTF-8. Save it as UTF-8.") from None
        if "use" in Source(text, str(file)).table():
            family = read_construction(text, str(file), mechanisms())
            click.echo(f"{family.id}: a family of {len(family.parts)} parts; nothing amiss.")
        else:
            mechanism = read_mechanism(text, str(file), Reference())
            click.echo(f"{mechanism.id}: a mechanism of {len(mechanism.part)} parts; nothing amiss.")


@click.command(epilog="Example: pegwood strip export box")
@FAMILY
def export(family: str) -> None:
    """Print a family's parts and ways as plain JSON."""
    with told_in_one_line():
        found = _construction(family)
    say(
        {
            "family": found.id,
            "source": found.ground.source,
            "mark": found.ground.mark,
            "parts": [
                {"id": part.id, "name": part.name, "source": part.source, "mark": part.mark}
                for part in found.parts.values()
            ],
            "ways": [
                {
                    "part": part.id,
                    "way": way.name,
                    "after": list(way.after),
                    "minutes": [way.minutes.low, way.minutes.likely, way.minutes.high],
                    "cost": way.cost_minutes,
                    "tool": way.tool,
                    "side": way.side,
                }
                for part in found.parts.values()
                for way in part.ways
            ],
        }
    )
