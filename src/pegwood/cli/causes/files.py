"""Knowledge of faults as files: checked, and written for general-purpose libraries."""

from __future__ import annotations

from pathlib import Path

import click

from pegwood.cli._families import FAMILY, construction_named, known_families, told_in_one_line
from pegwood.cli._open import OneLine, say
from pegwood.cli.causes._given import causes_of


@click.command(epilog="Example: pegwood causes check my-shutter.toml")
@click.argument("files", nargs=-1, type=click.Path(exists=True, dir_okay=False, path_type=Path))
def check(files: tuple[Path, ...]) -> None:
    """
    Check files that say what is known of faults, with file and line.

    Without a file: all that came, and the workshop's own.
    """
    from pegwood.causes.own_knowledge import KNOWLEDGE, check_knowledge, knowledge_in
    from pegwood.frame.workshop import current
    from pegwood.trade.reference import reference_in

    here = current()
    reference = reference_in(here.tables)
    families = known_families()
    if not files:
        known = knowledge_in(here.root, families, reference)
        faults = sum(len(one.fault) for one in known.knowledge.values())
        signs = sum(len(one.sign) for one in known.knowledge.values())
        click.echo(f"{len(known.knowledge)} mechanisms, {faults} faults and {signs} signs can be read.")
        files = tuple(sorted((here.root / KNOWLEDGE).glob("*.toml")))
    broken = 0
    for one in check_knowledge(*files, known=families, reference=reference):
        if one.found is None:
            broken += 1
            click.echo(f"pegwood: {one.slip}", err=True)
            continue
        found = one.found
        click.echo(f"{found.mechanism}: {len(found.fault)} faults, {len(found.sign)} signs can be read.")
        for doubt in one.doubts:
            click.echo(f"    {doubt}")
    if broken:
        raise OneLine(f"{broken} of {len(files)} files cannot be read.", 2)


@click.command(epilog="Example: pegwood causes export box --as bif > box.bif")
@FAMILY
@click.option(
    "--as",
    "form",
    type=click.Choice(["bif", "xmlbif", "uai"]),
    default="bif",
    show_default=True,
    help="The file's format.",
)
@click.option("--story", "told", multiple=True, metavar="WORD", help="What is told: soaked-salt, dropped.")
@click.option("--not", "denied", multiple=True, metavar="WORD", help="What is told not to be so.")
@click.option("--names", is_flag=True, help="Print instead which variable stands for what, as JSON.")
def export(family: str, form: str, told: tuple[str, ...], denied: tuple[str, ...], names: bool) -> None:
    """
    Print a family's net of faults and signs, with the story behind them.

    A general-purpose library reads it back to the same chances as `causes likely`. In UAI variables have
    numbers and no names: --names says which is which.
    """
    from pegwood.causes.interchange import bif, uai, xmlbif
    from pegwood.causes.interchange.of_family import general_family

    with told_in_one_line():
        net = general_family(causes_of(construction_named(family)), told, denied)
    if names:
        say(
            {(str(n) if form == "uai" else one.name): one.of for n, one in enumerate(net.variables) if one.of}
        )
        return
    written = {"bif": bif.written, "xmlbif": xmlbif.written, "uai": uai.written}
    click.echo(written[form](net), nl=False)
