"""Asking how a family comes apart."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from pegwood.cli._families import FAMILY, FIRST, construction_named, known_families, told_in_one_line
from pegwood.cli._open import json_option, say
from pegwood.cli.strip._telling import as_data, show


@click.command(epilog="Example: pegwood strip families")
@json_option
def families(as_json: bool) -> None:
    """List the families whose construction is known."""
    for one in known_families().constructions.values():
        if as_json:
            say(
                {
                    "family": one.id,
                    "name": one.name,
                    "parts": len(one.parts),
                    "mark": one.ground.mark,
                    "own": one.ground.own,
                }
            )
        else:
            own = "; your own" if one.ground.own else ""
            click.echo(f"{one.id}\n    {one.name}; {len(one.parts)} parts{own}")


@click.command(epilog="Example: pegwood strip parts box")
@FAMILY
@json_option
def parts(family: str, as_json: bool) -> None:
    """List a family's parts with how they come off."""
    with told_in_one_line():
        found = construction_named(family)
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


@click.command(epilog="Example: pegwood strip plan box --reach shutter.sector --spare 'box covering'")
@FAMILY
@click.option(
    "--reach",
    "targets",
    multiple=True,
    required=True,
    metavar="PART",
    help="A part to reach, by id or by name; may be repeated.",
)
@click.option("--off", multiple=True, metavar="PART", help="A part that is off already.")
@click.option("--spare", multiple=True, metavar="PART", help="A part that must stay.")
@click.option(
    "--avoid", multiple=True, metavar="JOINT", help="A kind of joint not to undo: glue, solder, rivet, press."
)
@click.option(
    "--from",
    "sides",
    multiple=True,
    metavar="SIDE",
    help="A side to go in from, and no other: front, top, base, back, left, right.",
)
@json_option
def plan(
    family: str,
    targets: tuple[str, ...],
    off: tuple[str, ...],
    spare: tuple[str, ...],
    avoid: tuple[str, ...],
    sides: tuple[str, ...],
    as_json: bool,
) -> None:
    """Find the cheapest way in to some parts of a family."""
    from pegwood.anatomy.part_names import find_part
    from pegwood.anatomy.planning.in_reach import in_reach
    from pegwood.anatomy.planning.orders import orders
    from pegwood.anatomy.planning.plan import plan as planned

    with told_in_one_line():
        construction = construction_named(family)
        reach, gone, stay = (
            [find_part(construction, one).id for one in said] for said in (targets, off, spare)
        )
        found = planned(construction, reach, gone, stay, avoid=avoid, only_from=sides)
    also = in_reach(construction, found)
    several = orders(found.ways, found.off)
    if as_json:
        say(as_data(found, also, several))
    else:
        show(found, also, several)
        click.echo(FIRST)


@click.command(epilog="Example: pegwood strip check my-family.toml")
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
def check(file: Path) -> None:
    """Check a file that describes a family or a mechanism."""
    from pegwood.anatomy.construction import read_construction
    from pegwood.anatomy.mechanism import read_mechanism
    from pegwood.frame.workshop import current
    from pegwood.trade.reference import reference_in
    from pegwood.trade.typed_toml import Source

    reference = reference_in(current().tables)
    with told_in_one_line():
        try:
            text = file.read_text("utf-8")
        except UnicodeDecodeError:
            raise ValueError(f"{file} is no text in UTF-8. Save it as UTF-8.") from None
        if _is_family(file, Source(text, str(file)).table()):
            family = read_construction(text, str(file), known_families().mechanisms, reference, own=True)
            click.echo(f"{family.id}: a family of {len(family.parts)} parts; nothing amiss.")
        else:
            mechanism = read_mechanism(text, str(file), reference, own=True)
            click.echo(f"{mechanism.id}: a mechanism of {len(mechanism.part)} parts; nothing amiss.")


def _is_family(file: Path, table: dict[str, Any]) -> bool:
    """Whether a file is about a family rather than a mechanism: by what is in it, or where it lies."""
    from pegwood.anatomy.own_families import FAMILIES

    of_families = {"use", "also", "shutter", "picked", "learned"}
    return bool(of_families & table.keys()) or file.resolve().parent.name == FAMILIES


@click.command(epilog="Example: pegwood strip export box")
@FAMILY
def export(family: str) -> None:
    """Print a family's parts and ways as plain JSON."""
    from pegwood.anatomy.planning.order import TOOL_CHANGE_MIN, TURN_MIN

    with told_in_one_line():
        found = construction_named(family)
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
            "tool_change_minutes": TOOL_CHANGE_MIN,
            "turn_minutes": TURN_MIN,
        }
    )
