"""Reading microphone recordings of a shutter at the command line."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pegwood.cli._into_job import UNREADABLE, IntoJob, kept_in_job, need_a_job, say_why_not
from pegwood.cli._open import OneLine
from pegwood.cli._options import judged
from pegwood.cli._progress import progress
from pegwood.cli._terminal import terminal

if TYPE_CHECKING:
    from rich.console import Console

    from pegwood.book.taken import Taken
    from pegwood.cli.measure import _Asked
    from pegwood.instruments.sound import SoundResult


@click.command(epilog="Example: pegwood measure sound slow.wav --marked 1/8 --kind leaf --mirror none --json")
@click.argument("files", nargs=-1, type=click.Path(path_type=Path))
@click.option("--marked", help="The speed on the dial: 1/8, 1, 2s, B.")
@judged
@click.option(
    "--mirror",
    type=click.Choice(["none", "locked", "moving"]),
    help="Whether a mirror strokes as well; not known if not given.",
)
@kept_in_job
@click.option("--json", "as_json", is_flag=True, help="For scripts: one object a line for each file.")
def sound(
    files: tuple[Path, ...],
    marked: str | None,
    reading: Any,
    kind: str | None,
    age: str | None,
    mirror: Any,
    number: int | None,
    phase: str | None,
    gear: str | None,
    as_json: bool,
) -> None:
    """
    Read slow speeds from a microphone's recording.

    For 1/30 s and slower, where opening and closing are heard apart. Where they can't be told, it says so and
    why. WAV, FLAC and AIFF; Ogg and MP3 too, less certain. A file that cannot be read is said on stderr and
    makes the command end with 2; the others are read all the same.

    What is heard are strokes, not light: the time of a light gate is better in every case.

    With --job it is kept like a reading by light and says so wherever it stands.
    """
    from pegwood.cli.measure import _asked
    from pegwood.instruments.recordings import RefusedRecording

    if not files:
        raise OneLine("Give at least one recording: pegwood measure sound FILE.", 2)
    if number is not None:
        into = IntoJob(number, phase, gear, as_json)
        into.check(files, marked, kind or age or reading)
        ended = into.keep(
            files,
            marked or "",
            lambda _job: {"taken": _taken(mirror or "not told")},
            lambda file, result: _show(terminal(), file, result),
        )
        raise click.exceptions.Exit(ended)
    need_a_job(phase, gear)
    asked = _asked(marked, reading, kind, age or "older")
    ended = 0
    for file in files:
        try:
            result = _read(file, asked, mirror or "not told").to_json()
        except (RefusedRecording, OSError) as error:
            ended = UNREADABLE
            say_why_not(file, error)
            continue
        if as_json:
            click.echo(json.dumps({**result, "file": str(file)}, ensure_ascii=False))
        else:
            _show(terminal(), str(file), result)
    if ended:
        raise click.exceptions.Exit(ended)


def _taken(mirror: Any) -> Taken:
    from pegwood.book.taken import Taken

    return Taken(by="sound", mirror=mirror)


def _read(file: Path, asked: _Asked, mirror: Any) -> SoundResult:
    from pegwood.instruments.recordings import open_recording
    from pegwood.instruments.sound import analyse_sound

    with progress(file.name) as told:
        return analyse_sound(
            open_recording(file, compressed=True),
            marked=asked.marked,
            reading=asked.reading,
            limit=asked.limit,
            kind=asked.kind,
            mirror=mirror,
            progress=lambda share: told(share, 1.0),
        )


def _show(console: Console, file: str, result: dict[str, Any]) -> None:
    """A result for a person; every time with its 95 % uncertainty and the chance that it is one."""
    from rich import box
    from rich.table import Table
    from rich.text import Text

    from pegwood.cli.measure import _half_width, _show_summary, _time
    from pegwood.instruments.sound import chance_in_words

    heard = result["sound"]
    console.print(Text.assemble((file, "bold"), f"  sound, {heard['format']}"))
    if result["shots"]:
        table = Table("at", "time", "between the sounds", "chance", box=box.SIMPLE)
        for shot, firing in zip(result["shots"], heard["firings"], strict=True):
            table.add_row(
                f"{shot['at_s']:.2f} s",
                _time(shot["effective_s"], _half_width(shot["effective_95_s"])),
                _time(firing["between_s"], _half_width(firing["between_95_s"])),
                chance_in_words(firing["chance"]),
            )
        console.print(table)
        _show_summary(console, result)
    else:
        console.print("cannot tell")
    for warning in result["warnings"]:
        console.print(Text.assemble(("note:", "bold"), f" {warning}"))
    for note in result["notes"]:
        console.print(Text(note, "dim"))
