"""Reading recordings at the command line."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import click

from pegwood.cli._open import OneLine, job_numbered, one_line, open_book, who
from pegwood.cli._progress import progress


@click.group(epilog="Example: pegwood measure shutter firings.wav --marked 1/125")
def measure() -> None:
    """Read a recording of a shutter."""


@measure.command(epilog="Example: pegwood measure shutter found-*.wav --marked 1/125 --kind leaf --json")
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--marked", help="The speed on the dial: 1/125, 2s, B, T.")
@click.option(
    "--reading",
    type=click.Choice(["exact", "as marked"]),
    help="How the dial is read; the workshop's way if not given.",
)
@click.option("--kind", type=click.Choice(["leaf", "focal-plane"]), help="Kind of shutter, for the limit.")
@click.option(
    "--age",
    type=click.Choice(["older", "newer"]),
    default="older",
    show_default=True,
    help="About before or after 1960, for the limit.",
)
@click.option("--job", "number", type=int, help="Keep the recording and the reading in this job.")
@click.option(
    "--as", "phase", type=click.Choice(["found", "left"]), help="With --job: accept it as found or as left."
)
@click.option("--json", "as_json", is_flag=True, help="For scripts: one object a line for each file.")
def shutter(
    files: tuple[Path, ...],
    marked: str | None,
    reading: Any,
    kind: str | None,
    age: str,
    number: int | None,
    phase: str | None,
    as_json: bool,
) -> None:
    """
    Read light-gate recordings (WAV, FLAC, AIFF, CSV).

    For each firing the effective exposure time as ISO 516 defines it, with its uncertainty; over all of them
    the mean, the spread and the error against the marked speed. A file that cannot be read is said on stderr
    and makes the command end with 2; the others are read all the same.
    """
    if phase and number is None:
        raise OneLine("Accepting a reading needs the job it belongs to: --job NUMBER.", 2)
    if number is not None:
        if marked is None:
            raise OneLine("A reading kept in a job needs the speed on the dial: --marked 1/125.", 2)
        failed = _into_job(number, files, marked, phase, as_json)
    else:
        failed = _read_only(files, marked, reading, kind, age, as_json)
    if failed:
        raise click.exceptions.Exit(2)


def _read_only(
    files: tuple[Path, ...],
    marked: str | None,
    reading: Any,
    kind: str | None,
    age: str,
    as_json: bool,
) -> int:
    from pegwood.instruments.recordings import RefusedRecording, open_recording
    from pegwood.instruments.shutter import MarkedSpeed, analyse, limit_for

    chosen = _workshop_choices()
    try:
        speed = MarkedSpeed.parse(marked) if marked else None
    except ValueError as error:
        raise OneLine(str(error), 2) from None
    limit = limit_for(kind, age, speed, chosen["limits"]) if kind and speed else None
    failed = 0
    for file in files:
        try:
            with progress(file.name) as told:
                result = analyse(
                    open_recording(file),
                    marked=speed,
                    reading=reading or chosen["reading"],
                    limit=limit,
                    progress=lambda share: told(share, 1.0),
                )
        except (RefusedRecording, OSError) as error:
            failed += 1
            _cannot_read(file, error)
            continue
        if as_json:
            click.echo(json.dumps({**result.to_json(), "file": str(file)}, ensure_ascii=False))
        else:
            _show(str(file), result.to_json())
    return failed


def _into_job(number: int, files: tuple[Path, ...], marked: str, phase: str | None, as_json: bool) -> int:
    open_book()
    from pegwood.book import measuring
    from pegwood.book.refusal import Refused

    job = job_numbered(number)
    failed = 0
    for file in files:
        try:
            with file.open("rb") as content:
                kept = measuring.keep_recording(job, content, file.name, marked=marked, by=who())
            with progress(file.name) as told:
                kept = measuring.read_recording(kept, by=who(), told=lambda share: told(share, 1.0))
            if kept.result is None:
                raise Refused(kept.reason)
        except (Refused, OSError) as error:
            failed += 1
            _cannot_read(file, error)
            continue
        if as_json:
            click.echo(
                json.dumps({**kept.result, "file": str(file), "measurement": kept.pk}, ensure_ascii=False)
            )
        else:
            _show(str(file), kept.result)
        if phase:
            with one_line():
                measuring.accept_measurement(kept, f"as {phase}", by=who())
    return failed


def _cannot_read(file: Path, error: Exception) -> None:
    why = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
    click.echo(f"pegwood: {file}: {' '.join(why.split())}", err=True)


def _workshop_choices() -> dict[str, Any]:
    """The workshop's way of reading the dial and its limits; the defaults where there is no workshop yet."""
    from pegwood.frame.workshop import current

    if not current().database.exists():
        return {"reading": "exact", "limits": []}
    open_book()
    from pegwood.book.workshop import workshop

    chosen = workshop()
    return {"reading": chosen.reading, "limits": chosen.limits}


def _show(file: str, result: dict[str, Any]) -> None:
    """A result for a person: every figure with its 95 % uncertainty."""
    from rich import box
    from rich.console import Console
    from rich.table import Table

    console = Console()
    console.print(f"[bold]{file}[/bold]  {result['coupling']}, {result['sample_rate_hz']:g} samples a second")
    if result["shots"]:
        table = Table("at", "effective", "total", "opening", "closing", "efficiency", "", box=box.SIMPLE)
        for shot in result["shots"]:
            table.add_row(
                f"{shot['at_s']:.2f} s",
                _ms(shot["effective_s"], _half_width(shot["effective_95_s"])),
                _ms(shot["total_s"]),
                _ms(shot["opening_s"]),
                _ms(shot["closing_s"]),
                "–" if shot["efficiency"] is None else f"{shot['efficiency']:.2f}",
                "bounces" if shot["bounce"] else "",
            )
        console.print(table)
        _show_summary(console, result)
    for warning in result["warnings"]:
        console.print(f"[bold]note:[/bold] {warning}")


def _show_summary(console: Any, result: dict[str, Any]) -> None:
    summary = result["summary"]
    mean = _ms(summary["effective_s"], _half_width(summary["effective_95_s"]))
    line = f"mean of {summary['n']}: {mean} (95 %)"
    if summary["error_ev"] is not None:
        half = _half_width(summary["error_95_ev"])
        within = "" if half is None else f" ± {half:.2f}"
        line += (
            f"; {result['marked']} taken as {_ms(result['marked_s'])}: {summary['error_ev']:+.2f}{within} EV"
        )
    console.print(line)
    console.print(
        f"verdict: {summary['verdict']}"
        + (f" (limit {_ends(summary)}: {summary['limit_source']})" if summary["limit_source"] else "")
    )


def _ends(summary: dict[str, Any]) -> str:
    low, high = summary["limit_low_ev"], summary["limit_high_ev"]
    return f"{'' if low is None else f'{low:+.2f}'} to {'' if high is None else f'{high:+.2f}'} EV"


def _half_width(interval: list[float | None] | None) -> float | None:
    if interval is None or interval[0] is None or interval[1] is None:
        return None
    return (interval[1] - interval[0]) / 2


def _ms(seconds: float | None, half_width: float | None = None) -> str:
    """A time in ms, no finer than two digits of its uncertainty."""
    from math import floor, log10

    if seconds is None:
        return "–"
    if half_width is None or half_width <= 0:
        return f"{seconds * 1e3:.4g} ms"
    decimals = max(0, 1 - floor(log10(half_width * 1e3)))
    return f"{seconds * 1e3:.{decimals}f} ± {half_width * 1e3:.{decimals}f} ms"
