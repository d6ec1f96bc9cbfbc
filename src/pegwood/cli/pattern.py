"""What the pattern of errors over all speeds says, at the command line."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pegwood.cli._open import OneLine, job_numbered, need_a_book, open_book
from pegwood.cli._terminal import terminal

if TYPE_CHECKING:
    from pegwood.instruments.shutter import Pattern, Sign, SpeedReading


@click.command(epilog="Example: pegwood measure pattern found.jsonl --kind leaf")
@click.argument("files", nargs=-1, type=click.Path(path_type=Path))
@click.option("--job", "number", type=int, help="The accepted readings of this job, as found and as left.")
@click.option("--kind", type=click.Choice(["leaf", "focal-plane"]), help="Kind of shutter, for the advice.")
@click.option("--json", "as_json", is_flag=True, help="For scripts: one object a line.")
def pattern(files: tuple[Path, ...], number: int | None, kind: str | None, as_json: bool) -> None:
    """
    Say what the errors of all speeds show together.

    FILES hold what `pegwood measure shutter --json` printed, a line for each recording, all of one shutter in
    one state. Each sign comes with its probability, its size, what is usually done about it and in which
    order. How often a sign is met is practice: the maker's service sheet comes first.
    """
    if bool(files) == (number is not None):
        raise OneLine("Give the files with the results, or a job: --job 417.", 2)
    if number is None:
        readings = [reading for file in files for reading in _read(file)]
        if not readings:
            raise OneLine("No line holds a speed with its error. Measure with --marked and --json.", 2)
        _say({"files": [str(file) for file in files]}, "", readings, kind, as_json)
        return
    if kind:
        raise OneLine("With --job the camera says what kind of shutter it has. Leave out --kind.", 2)
    need_a_book()
    open_book()
    from pegwood.book.measuring import accepted_speeds
    from pegwood.instruments.shutter import KINDS

    job = job_numbered(number)
    phases = accepted_speeds(job)
    shutter = job.camera.kind.shutter if job.camera.kind.shutter in KINDS else None
    if not phases:
        raise OneLine(f"Job {number} has no accepted reading of a marked speed by light. Accept one first.")
    for phase, readings in phases.items():
        _say({"job": number, "phase": phase}, f"{phase}: ", readings, shutter, as_json)


def _read(file: Path) -> list[SpeedReading]:
    """Every speed a file holds; what says nothing about one is told on stderr."""
    from pegwood.instruments.shutter import NoError, SpeedReading

    try:
        lines = file.read_text("utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        why = getattr(error, "strerror", None) or "it is no text"
        raise OneLine(f"{file}: {why}.", 2) from None
    found = []
    for place, line in enumerate(lines, 1):
        if not line.strip():
            continue
        try:
            result = json.loads(line)
        except ValueError:
            raise OneLine(
                f"{file}, line {place}: no JSON. Save what 'pegwood measure shutter --json' prints.", 2
            ) from None
        try:
            found.append(SpeedReading.from_result(result))
        except NoError as reason:
            click.echo(f"pegwood: {file}, line {place}: left out: {reason}", err=True)
    return found


def _say(
    of: dict[str, Any], title: str, readings: list[SpeedReading], kind: str | None, as_json: bool
) -> None:
    from pegwood.instruments.shutter import what_the_pattern_says

    said = what_the_pattern_says(readings, kind)
    if as_json:
        click.echo(json.dumps({**of, **said.to_json()}, ensure_ascii=False, allow_nan=False))
    else:
        _show(title, said)


def _show(title: str, said: Pattern) -> None:
    from rich import box
    from rich.table import Table
    from rich.text import Text

    from pegwood.papers.signs import ADVISED, LEAST_SHOWN, chance, where

    console = terminal()
    measured = list(dict.fromkeys(one.marked for one in said.readings))
    console.print(Text.assemble((f"{title}what the pattern says", "bold"), f"  {', '.join(measured)}"))
    likely = [sign for sign in said.signs if sign.tells and sign.probability >= LEAST_SHOWN]
    table = Table("chance", "sign", "how much", "at", box=box.SIMPLE)
    for sign in likely:
        table.add_row(chance(sign.probability), sign.name, _how_much(sign), where(sign, measured) or "all")
    console.print(table)
    for sign in [sign for sign in likely if sign.probability >= ADVISED]:
        console.print(Text(f"{sign.name} [{sign.mark}]", "bold"))
        for place, step in enumerate(sign.order, 1):
            console.print(f"  {place}. {step}", markup=False)
        console.print(f"  caution: {sign.caution}", markup=False)
    for sign in said.signs:
        if not sign.tells:
            console.print(f"cannot tell: {sign.name}. {sign.to_tell}", markup=False)
    if said.next is not None:
        console.print(f"measure next: {said.next.marked}, if the dial has it: it decides most", markup=False)
    for note in said.notes:
        console.print(Text.assemble(("note:", "bold"), f" {note}"))


def _how_much(sign: Sign) -> str:
    """As a keyboard types it: a typeset minus is no number to whoever copies it."""
    from pegwood.papers.figures import MINUS
    from pegwood.papers.signs import figure

    return figure(sign, "en").replace(MINUS, "-") or "–"
