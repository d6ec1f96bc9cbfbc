"""Dictation at the command line: what a narration says of a camera, and what becomes of it."""

from __future__ import annotations

import io
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pegwood.book.narration_text import LARGEST_FILE, text_of
from pegwood.cli._open import (
    OneLine,
    has_book,
    job_numbered,
    json_option,
    need_a_book,
    one_line,
    open_book,
    say,
    who,
)
from pegwood.cli._progress import progress

if TYPE_CHECKING:
    from pegwood.book.told import Told
    from pegwood.hearing import Heard

NO_FILE = "It could not be read"


@click.command(epilog="Example: pegwood hear strip-down.srt --job 417")
@click.argument("file", type=click.Path(dir_okay=False, allow_dash=True, path_type=Path))
@click.option("--job", "number", type=int, help="Keep what is heard with this job, to be confirmed.")
@click.option("--family", help="The kind of camera, where no job says it: `pegwood strip families`.")
@click.option("--language", default="en", show_default=True, help="What is spoken.")
@json_option
def hear(file: Path, number: int | None, family: str | None, language: str, as_json: bool) -> None:
    """
    Hear what a narration says of a camera, to be confirmed.

    Text, SRT or WebVTT, from any recogniser; - reads from the pipe. Without --job nothing is stored. With it
    every finding waits to be kept, mended or dropped, on the page or by `pegwood heard`.
    """
    if (number is None) == (family is None):
        raise OneLine("Of which camera? Give --job NUMBER, or --family ID where there is no job.", 2)
    content = _content(file)
    name = "" if str(file) == "-" else file.name
    if number is not None:
        _into_job(number, content, name, language, as_json)
        return
    heard, lines = _only_heard(content, name, str(family), language)
    if as_json:
        from pegwood.hearing import as_data

        say(as_data(heard))
        return
    from pegwood.book.told import in_order, told_from

    rows = in_order(heard)
    for n, (_, kind, row) in enumerate(rows, 1):
        _line(told_from({"kind": kind, **row}), n, "")
    told = f"{len(rows)} heard in {lines} line{'' if lines == 1 else 's'}."
    click.echo(f"{told} Nothing was stored; --job NUMBER keeps it to be confirmed.")


@click.command(epilog="Example: pegwood heard 417 --keep 1,3-5 --drop 2")
@click.argument("number", type=int)
@click.option("--narration", "narration_id", type=int, help="Another than the latest.")
@click.option("--keep", "keeping", default="", help="Numbers to keep, as 1,3-5.")
@click.option("--drop", "dropping", default="", help="Numbers to drop.")
@click.option("--reason", default="", help="Why they are dropped.")
@click.option("--plain", is_flag=True, help="Keep all that was said plainly of a part that is known.")
@click.option("--undo", is_flag=True, help="Take the last decision back.")
@click.option("--all", "everything", is_flag=True, help="Also what is settled.")
@json_option
def heard(
    number: int,
    narration_id: int | None,
    keeping: str,
    dropping: str,
    reason: str,
    plain: bool,
    undo: bool,
    everything: bool,
    as_json: bool,
) -> None:
    """
    List what was heard on a job, and keep or drop it.

    Mending is done on the page.
    """
    need_a_book()
    open_book()
    with one_line():
        from pegwood.book import hearing

        narration = _narration(number, narration_id)
        wanted = _numbers(keeping, "--keep"), _numbers(dropping, "--drop")
        if both := sorted(wanted[0] & wanted[1]):
            raise OneLine(f"{both[0]} cannot be kept and dropped.", 2)
        known = {one.order: one for one in narration.proposals.all()}
        if strange := sorted((wanted[0] | wanted[1]) - known.keys()):
            raise OneLine(f"There is no number {strange[0]}; there are 1 to {len(known)}.", 2)
        for order in sorted(wanted[0] | wanted[1]):
            if not known[order].is_open and not undo:
                raise OneLine(f"Number {order} is {known[order].state} already. --undo takes it back.")
        if undo:
            click.echo(f"{hearing.undo(narration, by=who())} open again.", err=as_json)
        for order in sorted(wanted[0]):
            hearing.keep(known[order], by=who())
        for order in sorted(wanted[1]):
            hearing.drop(known[order], by=who(), reason=reason)
        if plain:
            click.echo(f"{hearing.keep_plain(narration, by=who())} kept.", err=as_json)
        _list(narration, everything, as_json)


def _list(narration: Any, everything: bool, as_json: bool) -> None:
    from pegwood.book.hearing import told_of

    proposals = narration.proposals.all()
    shown = [one for one in proposals if everything or one.is_open]
    if as_json:
        for one in shown:
            told = {"number": one.order, "state": one.state, "kind": told_of(one).kind}
            say(
                {
                    **told,
                    "narration": narration.pk,
                    "says": told_of(one).in_short,
                    "words": told_of(one).words,
                }
            )
        return
    for one in shown:
        _line(told_of(one), one.order, "" if one.is_open else one.state)
    still = sum(one.is_open for one in proposals)
    click.echo(f"{len(proposals) - still} of {len(proposals)} settled.")


def _content(file: Path) -> bytes:
    """At most one byte more than may be: what is longer is refused by whoever reads it."""
    if str(file) == "-":
        return sys.stdin.buffer.read(LARGEST_FILE + 1)
    try:
        with file.open("rb") as content:
            return content.read(LARGEST_FILE + 1)
    except OSError as error:
        raise OneLine(f"{file}: {NO_FILE}: {error.strerror}.", 2) from None


def _only_heard(content: bytes, name: str, family: str, language: str) -> tuple[Heard, int]:
    """Heard and not stored; with what this bench taught where it has a book."""
    if not has_book():
        return _without_book(content, name, family, language)
    open_book()
    from pegwood.book.families import families
    from pegwood.book.hearing import hear_for, lines_from
    from pegwood.book.refusal import Refused

    if family not in families():
        raise OneLine(f"There is no kind {family!r}. There are: {', '.join(families())}.", 2)
    try:
        lines = lines_from(content, name)
        with progress("hearing") as told:
            return hear_for(family, lines, language=language, progress=_share(told)), len(lines)
    except Refused as reason:
        raise OneLine(_about(name, reason), 2) from None


def _about(name: str, reason: Exception) -> str:
    """A reason, with the file's name where there is one and the reason does not begin with it."""
    told = str(reason)
    return told if told.startswith(name) else f"{name}: {told}"


def _without_book(content: bytes, name: str, family: str, language: str) -> tuple[Heard, int]:
    """The same where there is no workshop, and none is made."""
    from pegwood.cli._families import construction_named, told_in_one_line
    from pegwood.hearing import NamedPart, hear, read_narration, vocabulary

    with told_in_one_line():  # what the ear refuses is a ValueError in one line
        parts = construction_named(family).parts.values()
        named = tuple(NamedPart(id=part.id, name=part.name, also=part.also) for part in parts)
        lines = read_narration(text_of(content), name=name)
        with progress("hearing") as told:
            return hear(lines, named, vocabulary(language), progress=_share(told)), len(lines)


def _into_job(number: int, content: bytes, name: str, language: str, as_json: bool) -> None:
    need_a_book()
    open_book()
    from pegwood.book.hearing import take_narration
    from pegwood.book.refusal import Refused

    job = job_numbered(number)
    try:
        with progress("hearing") as told:
            narration = take_narration(
                job,
                file=io.BytesIO(content),
                name=name or "from the pipe.txt",
                how="file",
                language=language,
                by=who(),
                progress=_share(told),
            )
    except Refused as reason:
        raise OneLine(_about(name, reason), 2) from None
    if not as_json:
        _list(narration, True, False)
        click.echo(f"Nothing stands on the card before it is kept: `pegwood heard {number}`, or the page.")
        return
    kinds = {"findings": "finding", "remarks": "remark", "work": "work", "unplaced": "unplaced"}
    proposals = list(narration.proposals.all())
    heard = {name: [one.data for one in proposals if one.kind == kind] for name, kind in kinds.items()}
    say({**heard, "narration": narration.pk})


def _share(told: Callable[[float, float], None]) -> Callable[[float], None]:
    return lambda done: told(done, 1.0)


def _line(told: Told, number: int, state: str) -> None:
    """One thing heard: when, what, how bad, and why it was not placed."""
    from pegwood.book.told import moment

    asides = [
        f"grade {told.grade}" if told.grade else "",
        told.place,
        f"to do: {told.work_said}" if told.kind == "finding" and told.work else "",
        "earlier work" if told.earlier_repair else "",
        told.why,
        state,
    ]
    more = "; ".join(filter(None, asides))
    at = moment(told.at_s)
    click.echo(f"{number:>4}  {at:>8}  {told.in_short}" + (f"  ({more})" if more else ""))


def _narration(number: int, narration_id: int | None) -> Any:
    told = job_numbered(number).narrations.order_by("-at", "-pk")
    narration = told.first() if narration_id is None else told.filter(pk=narration_id).first()
    if narration is None:
        which = "" if narration_id is None else f" {narration_id}"
        raise OneLine(
            f"Job {number} has no narration{which}. `pegwood hear FILE --job {number}` takes one in."
        )
    return narration


def _numbers(typed: str, option: str) -> set[int]:
    """Numbers as they are typed: 1,3-5."""
    found: set[int] = set()
    for piece in filter(None, (one.strip() for one in typed.split(","))):
        first, _, last = piece.partition("-")
        if not all(one.isascii() and one.isdecimal() and len(one) <= 6 for one in (first, last or first)):
            raise OneLine(f"{option}: {piece!r} is no number. Write them as 1,3-5.", 2)
        found.update(range(int(first), int(last or first) + 1))
    return found
