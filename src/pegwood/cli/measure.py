"""Reading recordings at the command line."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pegwood.cli._beside import show_contacts, show_stops
from pegwood.cli._gate import sensors_across
from pegwood.cli._into_job import UNREADABLE, IntoJob, kept_in_job, need_a_job, say_why_not
from pegwood.cli._open import OneLine, has_book, open_book
from pegwood.cli._options import judged
from pegwood.cli._progress import progress
from pegwood.cli._terminal import terminal
from pegwood.cli.calibrate import clock as clock_command
from pegwood.cli.calibrate import input_ as input_command
from pegwood.cli.calibrate import saved
from pegwood.cli.measure_focus import focus
from pegwood.cli.measure_glass import glass
from pegwood.cli.measure_iris import iris
from pegwood.cli.measure_leaks import leaks
from pegwood.cli.measure_meter import meter
from pegwood.cli.measure_meter_parts import meter_cell, meter_light, meter_supply
from pegwood.cli.measure_rangefinder import rangefinder
from pegwood.cli.measure_selftest import selftest
from pegwood.cli.measure_sound import sound
from pegwood.cli.measure_take_up import take_up
from pegwood.cli.measure_transport import transport
from pegwood.cli.measure_video import video
from pegwood.cli.pattern import pattern

if TYPE_CHECKING:
    from rich.console import Console

    from pegwood.book.arrangement import Arrangement
    from pegwood.instruments.clock import ClockCalibration
    from pegwood.instruments.shutter import InputCalibration, MarkedSpeed, Sensors, ShutterResult
    from pegwood.instruments.verdicts import Limit
    from pegwood.papers.figures import Stated

TERMINAL = "en"
"""Figures stand here as the program's own words do, in English: a point, and no locale of the papers'."""


@click.group(epilog="Example: pegwood measure shutter firings.wav --marked 1/125")
def measure() -> None:
    """Measure: shutter, meter, diaphragm, focus, transport and more."""


measure.add_command(clock_command)
measure.add_command(input_command)
measure.add_command(meter)
measure.add_command(meter_light)
measure.add_command(meter_supply)
measure.add_command(meter_cell)
measure.add_command(focus)
measure.add_command(pattern)
measure.add_command(video)
measure.add_command(selftest)
measure.add_command(sound)
measure.add_command(rangefinder)
measure.add_command(take_up)
measure.add_command(transport)
measure.add_command(leaks)
measure.add_command(iris)
measure.add_command(glass)


@measure.command(epilog="Example: pegwood measure shutter found-*.wav --marked 1/125 --kind leaf --json")
@click.argument("files", nargs=-1, type=click.Path(path_type=Path))
@click.option("--marked", help="The speed on the dial: 1/125, 2s, B, T.")
@judged
@kept_in_job
@click.option(
    "--contact",
    type=click.IntRange(min=0),
    help="Channel with a flash contact, counted from 0. Caution above.",
)
@click.option(
    "--widest", type=float, help="f-number of the open leaf shutter's lens: tells the smaller stops."
)
@click.option(
    "--sensors",
    metavar="MM,MM[,MM]",
    help="Sensors across a gate, along the travel: one channel each. 0,18,36",
)
@click.option(
    "--at",
    "moved",
    type=(float, click.Path(path_type=Path)),
    multiple=True,
    metavar="MM FILE",
    help="One sensor moved between firings: a recording for each place. Repeat it.",
)
@click.option("--gate-mm", type=float, help="With --sensors: length of the gate, from place 0.")
@click.option("--sensor-mm", type=float, help="With --sensors: a sensor's window along the travel.")
@click.option("--gap-mm", type=float, help="With --sensors and --f-number: curtain to film.")
@click.option("--f-number", type=float, help="With --sensors and --gap-mm: stop of the lens.")
@click.option("--clock", type=click.Path(path_type=Path), help="Calibration of the clock: 'measure clock'.")
@click.option(
    "--input", "through", type=click.Path(path_type=Path), help="Calibration of the input: 'measure input'."
)
@click.option("--json", "as_json", is_flag=True, help="For scripts: one object a line for each file.")
def shutter(
    files: tuple[Path, ...],
    marked: str | None,
    reading: Any,
    kind: str | None,
    age: str | None,
    number: int | None,
    phase: str | None,
    gear: str | None,
    contact: int | None,
    widest: float | None,
    sensors: str | None,
    moved: tuple[tuple[float, Path], ...],
    gate_mm: float | None,
    sensor_mm: float | None,
    gap_mm: float | None,
    f_number: float | None,
    clock: Path | None,
    through: Path | None,
    as_json: bool,
) -> None:
    """
    Read light-gate recordings (WAV, FLAC, AIFF, CSV).

    For each firing the effective exposure time as ISO 516 defines it, with its uncertainty; over all of them
    the mean, the spread and the error against the marked speed. A file that cannot be read is said on stderr
    and makes the command end with 2; the others are read all the same.

    With --job the camera on the job and the workshop's settings choose the limit and how the dial is read;
    --contact, --widest and --sensors are kept with the reading.

    With --sensors the channels are two or three sensors across the gate of a focal-plane shutter: also the
    travel time of each curtain, slit, taper over the gate, capping, and whether flash covers the gate.
    With --at one sensor was moved: the exposure at each place and the taper, less certain, and nothing that
    needs a common clock.

    Caution with --contact: a flash and its capacitor stay charged. Never wire a charged flash's contact to a
    sound card; take the flash off and let the contact switch a few volts through a resistor divider. The
    maker's sheet comes first.
    """
    geometry = {"gate_mm": gate_mm, "sensor_mm": sensor_mm, "gap_mm": gap_mm, "f_number": f_number}
    across = sensors_across(files, sensors, moved, geometry, kind, number)
    if (across or moved) and (contact is not None or widest is not None):
        raise OneLine("--contact and --widest need one light channel. Leave out --sensors and --at.", 2)
    if across and number is None:
        kind = "focal-plane"
    if number is None:
        need_a_job(phase, gear)
    calibrations = _calibrations(clock, through)
    if moved:
        asked = replace(_asked(marked, reading, "focal-plane", age or "older"), **calibrations)
        ended = _read_moved(asked, moved, as_json)
    elif number is None:
        asked = _asked(marked, reading, kind, age or "older", contact, _full_aperture(widest, kind))
        asked = replace(asked, **calibrations)
        ended = _read_only(asked, files, across, as_json)
    else:
        if any(calibrations.values()):
            option = "clock" if clock else "input"
            raise OneLine(
                f"In a job those of the gear are used: pegwood measure {option} FILE --gear NAME, then "
                f"--gear NAME here. Leave out --{option}.",
                2,
            )
        into = IntoJob(number, phase, gear, as_json)
        into.check(files, marked, kind or age or reading)
        ended = into.keep(
            files,
            marked or "",
            lambda job: {"arrangement": _arrangement(job, across, contact, widest)},
            lambda file, result: _show_with_beside(file, result, contact),
        )
    if ended:
        raise click.exceptions.Exit(ended)


@dataclass(frozen=True)
class _Asked:
    """What is the same for every file of a command."""

    marked: MarkedSpeed | None
    reading: Any
    limit: Limit | None
    kind: str | None
    contact: int | None
    widest: float | None
    clock: ClockCalibration | None = None
    through: InputCalibration | None = None

    def read(self, file: Path) -> ShutterResult:
        from pegwood.instruments.recordings import open_recording
        from pegwood.instruments.shutter import analyse

        recording = open_recording(file)
        if self.clock is not None:
            recording = self.clock.applied_to(recording)
        with progress(file.name) as told:
            return analyse(
                recording,
                marked=self.marked,
                reading=self.reading,
                limit=self.limit,
                kind=self.kind,
                contact=self.contact,
                widest=self.widest,
                calibrated=self.through,
                progress=lambda share: told(share, 1.0),
            )


def _calibrations(clock: Path | None, through: Path | None) -> dict[str, Any]:
    """What was calibrated beforehand, as `_Asked` takes it."""
    from pegwood.instruments.clock import ClockCalibration
    from pegwood.instruments.shutter import InputCalibration

    return {
        "clock": saved(clock, ClockCalibration.from_mapping),
        "through": saved(through, InputCalibration.from_mapping),
    }


def _asked(
    marked: str | None,
    reading: Any,
    kind: str | None,
    age: str,
    contact: int | None = None,
    widest: float | None = None,
) -> _Asked:
    from pegwood.instruments.shutter import MarkedSpeed, limit_for

    chosen = _workshop_choices()
    try:
        speed = MarkedSpeed.parse(marked) if marked else None
    except ValueError as error:
        raise OneLine(str(error), 2) from None
    limit = limit_for(kind, age, speed, chosen["limits"]) if kind and speed else None
    return _Asked(speed, reading or chosen["reading"], limit, kind, contact, widest)


def _read_only(asked: _Asked, files: tuple[Path, ...], across: Sensors | None, as_json: bool) -> int:
    from pegwood.instruments.recordings import RefusedRecording
    from pegwood.instruments.shutter import RefusedCurtains, with_curtains

    ended = 0
    for file in files:
        try:
            result = asked.read(file)
            if across is not None:
                result = with_curtains(result, across)
        except (RefusedRecording, RefusedCurtains, OSError) as error:
            ended = UNREADABLE
            say_why_not(file, error)
            continue
        found = result.to_json()
        if across is not None:
            found.setdefault("curtains", None)
        if as_json:
            click.echo(json.dumps({**found, "file": str(file)}, ensure_ascii=False))
        else:
            _show(str(file), found)
            _show_beside(found, asked.contact)
    return ended


def _full_aperture(widest: float | None, kind: str | None) -> float | None:
    """The f-number of the full aperture, if smaller stops can be told from it."""
    if widest is None:
        return None
    if kind == "focal-plane":
        raise OneLine("Smaller stops are for a leaf shutter. Leave out --widest.", 2)
    from pegwood.instruments.shutter.stops import stops_below

    try:
        stops_below(widest)
    except ValueError as error:
        raise OneLine(str(error), 2) from None
    return widest


def _show_beside(result: dict[str, Any], contact: int | None) -> None:
    console = terminal()
    show_stops(console, result.get("at_stops", []))
    if contact is not None:
        show_contacts(console, result.get("contacts", []), contact)


def _show_with_beside(file: str, result: dict[str, Any], contact: int | None) -> None:
    _show(file, result)
    _show_beside(result, contact)


def _arrangement(job: Any, across: Sensors | None, contact: int | None, widest: float | None) -> Arrangement:
    from pegwood.book.arrangement import Arrangement

    arrangement = Arrangement.from_gate(across, contact=contact, widest=widest)
    arrangement.check(job.camera.kind.shutter)
    return arrangement


def _read_moved(asked: _Asked, moved: tuple[tuple[float, Path], ...], as_json: bool) -> int:
    """One sensor at several places: each recording by itself, then what they say together."""
    from pegwood.instruments.recordings import RefusedRecording
    from pegwood.instruments.shutter import RefusedCurtains, compare_places

    read: list[tuple[float, ShutterResult]] = []
    for place_mm, file in moved:
        try:
            read.append((place_mm / 1e3, asked.read(file)))
        except (RefusedRecording, OSError) as error:
            say_why_not(file, error)
            return UNREADABLE
    try:
        curtains = compare_places(read).to_json()
    except RefusedCurtains as error:
        raise OneLine(f"{error}.", UNREADABLE) from None
    files = [str(file) for _, file in moved]
    for name, (at_m, result) in zip(files, read, strict=True):
        if as_json:
            click.echo(json.dumps({**result.to_json(), "file": name, "at_m": at_m}, ensure_ascii=False))
        else:
            _show(f"{name} at {1e3 * at_m:g} mm", result.to_json())
    if as_json:
        click.echo(json.dumps({"files": files, "curtains": curtains}, ensure_ascii=False))
    else:
        _show_curtains(terminal(), curtains)
        for warning in curtains["warnings"]:
            terminal().print(f"note: {warning}")
    return 0


def _workshop_choices() -> dict[str, Any]:
    """The workshop's way of reading the dial and its limits; the defaults where there is no workshop yet."""
    if not has_book():
        return {"reading": "exact", "limits": []}
    open_book()
    from pegwood.book.workshop import workshop

    chosen = workshop()
    return {"reading": chosen.reading, "limits": chosen.limits}


def _show(file: str, result: dict[str, Any]) -> None:
    """A result for a person: every figure with its 95 % uncertainty."""
    from rich import box
    from rich.table import Table
    from rich.text import Text

    console = terminal()
    rate = f"{result['sample_rate_hz']:g} samples a second"
    console.print(Text.assemble((file, "bold"), f"  {result['coupling']}, {rate}"))
    if result["shots"]:
        table = Table("at", "effective", "total", "opening", "closing", "efficiency", "", box=box.SIMPLE)
        for shot in result["shots"]:
            table.add_row(
                f"{shot['at_s']:.2f} s",
                _time(shot["effective_s"], _half_width(shot["effective_95_s"])),
                _time(shot["total_s"]),
                _time(shot["opening_s"]),
                _time(shot["closing_s"]),
                "–" if shot["efficiency"] is None else f"{shot['efficiency']:.2f}",
                "bounces" if shot["bounce"] else "",
            )
        console.print(table)
        if result["summary"]["n"]:
            _show_summary(console, result)
    if result.get("curtains"):
        _show_curtains(console, result["curtains"])
    for warning in result["warnings"]:
        console.print(Text.assemble(("note:", "bold"), f" {warning}"))
    for note in result["notes"]:
        console.print(Text(note, "dim"))


def _show_summary(console: Console, result: dict[str, Any]) -> None:
    summary = result["summary"]
    mean = _time(summary["effective_s"], _half_width(summary["effective_95_s"]))
    line = f"mean of {summary['n']}: {mean} (95 %)"
    if summary["error_ev"] is not None:
        error = _error(summary["error_ev"], _half_width(summary["error_95_ev"]))
        line += f"; {result['marked']} taken as {_time(result['marked_s'])}: {error}"
    console.print(line)
    console.print(
        f"verdict: {summary['verdict']}"
        + (
            f" (limit {_ends(summary)}: {summary['limit_source']} [{summary['limit_mark']}])"
            if summary["limit_source"]
            else ""
        ),
        markup=False,
    )


def _show_curtains(console: Console, curtains: dict[str, Any]) -> None:
    """Both curtains and the exposure along the travel; what can't be had is said with its reason."""
    from rich import box
    from rich.table import Table

    table = Table("place", "effective", "first curtain", "second", "slit", "slit efficiency", box=box.SIMPLE)
    for place in curtains["places"]:
        table.add_row(
            f"{1e3 * place['at_m']:g} mm",
            _time(place["effective_s"], _half_width(place["effective_95_s"])),
            _plus_minus(place, "first_speed", "m/s", "_m_s"),
            _plus_minus(place, "second_speed", "m/s", "_m_s"),
            _plus_minus(place, "slit", "mm", "_m", 1e3),
            _plus_minus(place, "slit_efficiency", "", ""),
        )
    console.print(table)
    if curtains["first_travel_s"] is not None:
        first = _time(curtains["first_travel_s"], _half_width(curtains["first_travel_95_s"]))
        second = _time(curtains["second_travel_s"], _half_width(curtains["second_travel_95_s"]))
        console.print(f"travel: first curtain {first}, second {second} (95 %)")
    if curtains["taper_ev"] is not None:
        taper = _error(curtains["taper_ev"], _half_width(curtains["taper_95_ev"]))
        console.print(f"taper: {taper}, the last place against the first")
    if "capping" not in curtains["withheld"]:
        console.print(f"capping: {curtains['capping']}")
    if curtains["flash_shortest_s"] is not None:
        shortest = _time(curtains["flash_shortest_s"], _half_width(curtains["flash_shortest_95_s"]))
        marked = f", marked {curtains['flash_marked']} or slower" if curtains["flash_marked"] else ""
        console.print(
            f"flash covers the gate from {shortest} on{marked}; as recorded: {curtains['flash_covers']}"
        )
    for what, why in curtains["withheld"].items():
        console.print(f"{what.replace('_', ' ')}: – ({why})")


def _plus_minus(place: dict[str, Any], name: str, unit: str, end: str, scale: float = 1.0) -> str:
    """A figure and its 95 % half-width, to two digits of that."""
    value, half_width = place[f"{name}{end}"], _half_width(place[f"{name}_95{end}"])
    if value is None or not half_width:
        return "–"
    digits = max(0, min(6, 1 - math.floor(math.log10(scale * half_width))))
    return f"{scale * value:.{digits}f} ± {scale * half_width:.{digits}f} {unit}".rstrip()


def _ends(summary: dict[str, Any]) -> str:
    low, high = summary["limit_low_ev"], summary["limit_high_ev"]
    return f"{'' if low is None else f'{low:+.2f}'} to {'' if high is None else f'{high:+.2f}'} EV"


def _half_width(interval: list[float | None] | None) -> float | None:
    if interval is None or interval[0] is None or interval[1] is None:
        return None
    return (interval[1] - interval[0]) / 2


def _time(seconds: float | None, half_width: float | None = None) -> str:
    """A time as the papers state it; without its uncertainty to four digits."""
    from pegwood.papers.figures import plain_time, stated_time

    if seconds is None:
        return "–"
    if half_width is None or half_width <= 0:
        return plain_time(seconds, TERMINAL) if seconds > 0 else f"{seconds * 1e3:.4g} ms"
    return _typed(stated_time(seconds, half_width, TERMINAL))


def _error(error_ev: float, half_width: float | None) -> str:
    """An error as the papers state it: two digits of its uncertainty, nothing finer than 0.01 EV."""
    from pegwood.papers.figures import stated_error

    if half_width is None or half_width <= 0:
        return f"{error_ev:+.2f} EV (uncertainty not known)"
    return _typed(stated_error(error_ev, half_width, TERMINAL))


def _typed(stated: Stated) -> str:
    """As a keyboard types it: a typeset minus is no number to whoever copies it into a sheet."""
    from pegwood.papers.figures import MINUS

    return f"{stated.value} ± {stated.plus_minus} {stated.unit}".replace(MINUS, "-")
