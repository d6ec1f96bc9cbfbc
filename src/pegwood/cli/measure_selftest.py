"""Testing a measuring chain without reference gear, at the command line."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pegwood.cli._open import OneLine
from pegwood.cli._progress import progress
from pegwood.cli._terminal import terminal

if TYPE_CHECKING:
    from pegwood.instruments.recordings import Recording
    from pegwood.instruments.shutter import Disc, SelfTest

DISC_OR_SCREEN = "Give the disc, --slot-mm --radius-mm --window-mm, or the screen, --refresh-hz."


@click.command(epilog="Example: pegwood measure selftest disc.wav --slot-mm 10 --radius-mm 40 --window-mm 5")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--slot-mm", type=float, help="Disc: width of the slot, between parallel sides.")
@click.option("--radius-mm", type=float, help="Disc: from its axis to the middle of the window.")
@click.option("--window-mm", type=float, help="Disc: diameter of the round hole before the sensor.")
@click.option("--good-to-mm", type=float, help="Disc: what the three may be off by; 0.2 if not given.")
@click.option("--refresh-hz", type=float, help="Screen: its refresh rate, to the decimals: 59.94, 75, 144.")
@click.option("--json", "as_json", is_flag=True, help="For scripts: one object on one line.")
def selftest(
    file: Path,
    slot_mm: float | None,
    radius_mm: float | None,
    window_mm: float | None,
    good_to_mm: float | None,
    refresh_hz: float | None,
    as_json: bool,
) -> None:
    """
    Test lamp, sensor, input and analysis without reference gear.

    A torch behind a disc with one slot that turns evenly before the sensor: which share of a turn lets light
    through follows from its measures, whatever its speed. A screen of known refresh rate tests the recorder's
    clock. Ends with 0 for a pass, 1 for anything else, 2 where the recording can't be used.

    Caution: a disc that turns can fly apart or catch a finger. Card, not metal or glass; low speed; a guard,
    and eyes protected. Do not look into the lamp.
    """
    from pegwood.cli._into_job import UNREADABLE, say_why_not
    from pegwood.instruments.recordings import RefusedRecording, open_recording

    measures = {"slot": slot_mm, "radius": radius_mm, "window": window_mm}
    given = [value for value in (*measures.values(), good_to_mm) if value is not None]
    if (refresh_hz is None) == (not given):
        raise OneLine(DISC_OR_SCREEN, 2)
    disc = None if refresh_hz is not None else _disc(measures, 0.2 if good_to_mm is None else good_to_mm)
    try:
        test = _test(open_recording(file), disc, refresh_hz)
    except (RefusedRecording, OSError) as error:
        say_why_not(file, error)
        raise click.exceptions.Exit(UNREADABLE) from None
    except ValueError as error:
        raise OneLine(str(error), 2) from None
    if as_json:
        click.echo(json.dumps({**test.to_json(), "file": str(file)}, ensure_ascii=False))
    else:
        _show(str(file), test)
    if test.outcome != "pass":
        raise click.exceptions.Exit(1)


def _disc(measures: dict[str, float | None], good_to_mm: float) -> Disc:
    from pegwood.instruments.shutter import Disc
    from pegwood.instruments.uncertainty import Component, combine

    missing = [f"--{name}-mm" for name, value in measures.items() if value is None]
    if missing:
        raise OneLine(f"A disc needs all three measures: {' and '.join(missing)} lacking.", 2)
    finite = all(value is not None and math.isfinite(value) for value in measures.values())
    if not (finite and math.isfinite(good_to_mm) and good_to_mm > 0):
        raise OneLine("Measures are in mm and above zero, such as --slot-mm 10 --good-to-mm 0.1.", 2)
    note = f"anywhere within {good_to_mm:g} mm"
    in_metres: dict[str, Any] = {
        name: combine((value or 0.0) / 1e3, [Component(name, good_to_mm / 1e3 / math.sqrt(3), note=note)])
        for name, value in measures.items()
    }
    try:
        return Disc(**in_metres)
    except ValueError as error:
        raise OneLine(f"{error}.", 2) from None


def _test(recording: Recording, disc: Disc | None, refresh_hz: float | None) -> SelfTest:
    from pegwood.instruments.shutter import analyse, check_disc, check_screen

    if disc is None:
        return check_screen(recording, refresh_hz or 0.0)
    with progress(recording.name) as told:
        return check_disc(analyse(recording, progress=lambda share: told(share, 1.0)), disc)


def _show(file: str, test: SelfTest) -> None:
    from rich import box
    from rich.table import Table
    from rich.text import Text

    console = terminal()
    console.print(Text(file, "bold"))
    console.print(f"outcome: {test.outcome}")
    if test.checks:
        table = Table("", "found", "computed", "error", "limit", "", box=box.SIMPLE)
        for check in test.checks:
            low, high = check.error.coverage_interval()
            unit = f" {check.unit}".rstrip()
            table.add_row(
                check.name,
                f"{check.found.value:.6g}{unit}",
                f"{check.computed.value:.6g}{unit}",
                f"{_percent(check.error.value)} ({_percent(low)} to {_percent(high)})",
                check.limit.note.removeprefix("Meant as ").rstrip("."),
                check.outcome,
            )
        console.print(table)
        worst = max(test.checks[0].error.budget, key=lambda part: part.u)
        console.print(f"limits: {test.checks[0].limit.source} [{test.checks[0].limit.mark}]", markup=False)
        console.print(f"most of the doubt about {test.checks[0].name}: {worst.name}")
    for reason in test.against:
        console.print(Text.assemble(("against it:", "bold"), f" {reason}"))
    for note in test.notes:
        console.print(Text(note, "dim"))


def _percent(error_ev: float) -> str:
    """An error in EV as a share, with the digits it needs."""
    percent = 100 * (2**error_ev - 1)
    return f"{percent:+.3f} %" if abs(percent) < 0.1 else f"{percent:+.2f} %"
