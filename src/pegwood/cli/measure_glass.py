"""Grading a lens's glass at the command line: in side light, twice or once, and by veiling glare."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pegwood.cli._into_job import UNREADABLE, say_why_not
from pegwood.cli._open import OneLine
from pegwood.cli._terminal import terminal

if TYPE_CHECKING:
    from rich.console import Console

    from pegwood.instruments.glass import GlassResult

PATH = click.Path(path_type=Path)
#: What a note or a refusal asks for, and by which option it is told here.
_OPTIONS = {
    "white card": "--white X,Y,W,H",
    "where the glass is": "--glass X,Y,R",
    "dark patch": "--patch X,Y,W,H",
    "black patch": "--patch X,Y,W,H",
    "camera's own glare": "--own",
}


@click.command(epilog="Example: pegwood measure glass --before found.jpg --after cleaned.jpg --kind fungus")
@click.argument("file", required=False, type=PATH)
@click.option("--before", type=PATH, help="In side light, before cleaning.")
@click.option("--after", type=PATH, help="The same after cleaning, taken alike.")
@click.option("--glass", "circle", metavar="X,Y,R", help="Where the glass is, in pixels; found if not told.")
@click.option("--white", metavar="X,Y,W,H", help="A white card in the same light, in pixels: tells haze.")
@click.option(
    "--kind",
    type=click.Choice(["marks", "fungus", "separation", "cement", "haze"]),
    help="What it is, for the grade; marks if not told.",
)
@click.option("--veil", type=PATH, help="Through the lens: a black patch amid white, for veiling glare.")
@click.option("--patch", metavar="X,Y,W,H", help="With --veil: where the patch is; found if not told.")
@click.option("--own", type=PATH, help="With --veil: the same by the camera alone, to be taken off.")
@click.option("--json", "as_json", is_flag=True, help="For scripts: one object, see 'schema measure.glass'.")
def glass(
    file: Path | None,
    before: Path | None,
    after: Path | None,
    circle: str | None,
    white: str | None,
    kind: str | None,
    veil: Path | None,
    patch: str | None,
    own: Path | None,
    as_json: bool,
) -> None:
    """
    Grade a lens's glass, and say in numbers what cleaning changed.

    FILE is one photograph with the lens lit from the side against black: what scatters light is bright. With
    --before and --after two of them are laid over each other: changed area in percent, and how much less
    light is scattered. With --veil the veiling glare, from a photograph of a black patch amid white.

    Caution: some old glass is radioactive, and fungus gets about: gloves, no breathing in, hands washed.
    Never look through a lens at the sun. Coatings and cement come off: try a solvent at the rim first.
    """
    from pegwood.instruments.readings import RefusedReadings

    first = before or file
    if veil is None and first is None:
        raise OneLine("Give a photograph: pegwood measure glass FILE, or --before and --after, or --veil.", 2)
    if file is not None and (before is not None or veil is not None):
        raise OneLine("Give FILE alone, or --before and --after, or --veil.", 2)
    if veil is not None and first is not None:
        raise OneLine("Veiling glare is read by itself: leave --before out.", 2)
    if before is not None and after is None:
        raise OneLine("--before wants --after. For one photograph leave --before out.", 2)
    if veil is None and (patch or own):
        raise OneLine("--patch and --own go with --veil.", 2)
    if veil is not None and (circle or white or kind or after):
        raise OneLine("--glass, --white, --kind and --after do not go with --veil.", 2)
    try:
        if veil is not None:
            shown, result = veil, _veil(veil, patch, own)
        else:
            assert first is not None
            shown, result = first, _graded(first, after, circle, white, kind or "marks")
    except (RefusedReadings, OSError) as error:
        named = getattr(error, "filename", None)
        from pegwood.cli.measure_iris import options_for

        where = Path(named) if named else (veil or first or Path())
        say_why_not(where, error, options_for(str(error), _OPTIONS))
        raise click.exceptions.Exit(UNREADABLE) from None
    if as_json:
        line = {**result.to_json(), "file": str(shown), "after_file": str(after) if after else None}
        click.echo(json.dumps(line, ensure_ascii=False, allow_nan=False))
    else:
        _show(terminal(), str(shown), result)


def _numbers(text: str, names: str) -> tuple[float, ...]:
    try:
        found = tuple(float(one) for one in text.split(","))
    except ValueError:
        found = ()
    if len(found) != len(names.split(",")) or not all(abs(one) < 1e6 for one in found):
        raise OneLine(f"{text[:60]!r} is no place in a picture. Write {names} in pixels.", 2)
    return found


def _graded(first: Path, after: Path | None, circle: str | None, white: str | None, kind: str) -> GlassResult:
    from pegwood.instruments.glass import Glass, analyse_glass
    from pegwood.instruments.photographs import open_photograph

    card: Any = None if white is None else _numbers(white, "X,Y,W,H")
    place = None if circle is None else Glass(*_numbers(circle, "X,Y,R"))
    return analyse_glass(
        open_photograph(first),
        None if after is None else open_photograph(after),
        glass=place,
        white=card,
        kind=kind,
    )


def _veil(veil: Path, patch: str | None, own: Path | None) -> GlassResult:
    from pegwood.instruments.glass import Patch, analyse_veil
    from pegwood.instruments.photographs import open_photograph

    place = None if patch is None else Patch(*_numbers(patch, "X,Y,W,H"))
    return analyse_veil(open_photograph(veil), patch=place, own=None if own is None else open_photograph(own))


def _show(console: Console, file: str, result: GlassResult) -> None:
    """For a person: every figure with its 95 % half-width, the grade with whose it is."""
    from rich.text import Text

    from pegwood.cli.measure_iris import options_for, stated

    console.print(Text(file, "bold"))
    for when, one in (("before" if result.after else "", result.before), ("after", result.after)):
        if one is None:
            continue
        begin = f"{when}: " if when else ""
        console.print(f"{begin}{stated(one.share, '% of the glass')} stands out, in {one.n} marks")
        if one.haze:
            console.print(f"{begin}haze {stated(one.haze, '% of a white card')}")
        if one.graded:
            sure = one.graded.low == one.graded.high
            spread = "" if sure else f", it may be {one.graded.low} to {one.graded.high}"
            console.print(
                f"{begin}grade {one.graded.grade} ({one.graded.kind}){spread}: {one.graded.source} "
                f"[{one.graded.mark}]"
            )
    if result.change:
        console.print(f"cleaner on {stated(result.change.gone, '% of the glass')}")
        console.print(f"more marked on {stated(result.change.come, '% of the glass')}")
        console.print(f"scattered light less by {stated(result.change.scattered_less, '%')}")
    if result.veil:
        console.print(f"veiling glare: {stated(result.veil.glare, '%')}")
        if result.veil.camera:
            console.print(
                f"with the camera's own {stated(result.veil.with_camera, '%')}, that alone "
                f"{stated(result.veil.camera, '%')}"
            )
    for warning in result.warnings:
        console.print(Text.assemble(("note:", "bold"), f" {warning}{options_for(warning, _OPTIONS)}"))
    for note in result.notes:
        console.print(Text(note, "dim"))
