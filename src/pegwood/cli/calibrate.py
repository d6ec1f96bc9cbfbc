"""Calibrating what recordings come through: a recorder's clock, and an input with capacitors."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pegwood.cli._gear import gear_called
from pegwood.cli._open import OneLine, need_a_book, open_book, who
from pegwood.cli._options import together
from pegwood.cli._terminal import terminal

if TYPE_CHECKING:
    from pegwood.book.models import Gear

UNREADABLE = 2
CHANNEL = click.option("--channel", type=click.IntRange(min=0), default=0, help="Channel, counted from 0.")
SAVE = click.option(
    "--save", type=click.Path(path_type=Path, dir_okay=False), help="Write the calibration here, as JSON."
)
DAY = click.DateTime(formats=["%Y-%m-%d"])
kept = together(
    click.option("--gear", help="Keep it with this piece of the workshop's gear, by name or serial number."),
    click.option("--made-on", type=DAY, help="With --gear: day of the recording; today if not given."),
    click.option("--good-until", type=DAY, help="With --gear: last day it is used; a year if not given."),
)
AS_JSON = click.option("--json", "as_json", is_flag=True, help="For scripts: the calibration as one line.")
FILE = click.argument("file", type=click.Path(path_type=Path))


@click.command(epilog="Example: pegwood measure clock tone.wav --tone 1000 --within-ppm 1 --save clock.json")
@FILE
@click.option("--tone", type=float, metavar="HZ", help="True frequency of a steady tone.")
@click.option(
    "--every", type=float, metavar="SECONDS", help="True time from pulse to pulse of a time signal."
)
@click.option(
    "--within-ppm",
    type=float,
    help="How well the reference is known, in millionths. A time signal off the air: 1 (practice).",
)
@CHANNEL
@SAVE
@kept
@AS_JSON
def clock(
    file: Path,
    tone: float | None,
    every: float | None,
    within_ppm: float | None,
    channel: int,
    save: Path | None,
    gear: str | None,
    made_on: datetime | None,
    good_until: datetime | None,
    as_json: bool,
) -> None:
    """
    Hold the clock of a recorder against a reference tone or a time signal.

    A minute of it or more, recorded with the same recorder at the same rate as the shutter. A tone that the
    same computer plays is no reference: it runs on the same crystal.

    With --gear it is kept in the workshop's book and used by itself in every job that is measured with that
    gear; a newer one takes its place. A calibration that was saved before (.json) can be kept so, too.
    """
    from pegwood.instruments.clock import ClockCalibration, clock_from_pulses, clock_from_tone

    into = _asked_gear(gear, made_on, good_until)

    def found(recording: Any) -> Any:
        if tone is not None:
            return clock_from_tone(recording, tone, within_ppm or 0.0, channel)
        return clock_from_pulses(recording, every or 0.0, within_ppm or 0.0, channel)

    if _is_saved(file):
        calibration = saved(file, ClockCalibration.from_mapping)
    else:
        if (tone is None) == (every is None):
            raise OneLine("Give the reference: --tone HZ or --every SECONDS, one of them.", 2)
        if within_ppm is None:
            raise OneLine("Say how well the reference is known: --within-ppm 1 for a time signal.", 2)
        calibration = _calibrated(file, channel, found)
    entered = _entered(into, calibration, file, made_on, good_until)
    _hand_out({**calibration.to_json(), **entered}, save, as_json)
    if not as_json:
        error = calibration.error
        low, high = (1e6 * end for end in error.coverage_interval())
        terminal().print(
            f"{file}: the clock is {1e6 * error.value:+.2f} ppm off (95 %: {low:+.2f} to {high:+.2f}). "
            "Positive: it samples faster than it says."
        )
        for part in error.budget:
            source = f" ({part.source}, {part.mark})" if part.source else ""
            terminal().print(f"  {part.name}: {1e6 * part.u:.2g} ppm; {part.note}{source}")
        _say_where(save, "--clock", entered)


@click.command("input", epilog="Example: pegwood measure input torch.wav --save line-in.json")
@FILE
@CHANNEL
@SAVE
@kept
@AS_JSON
def input_(
    file: Path,
    channel: int,
    save: Path | None,
    gear: str | None,
    made_on: datetime | None,
    good_until: datetime | None,
    as_json: bool,
) -> None:
    """
    Find the high-pass of a sound input from a torch switched on and off.

    Let an LED torch, not dimmed, shine on the sensor for five seconds and be dark for five, three times over,
    and record that with the gain the shutter will be recorded with.

    With --gear it is kept in the workshop's book and used by itself in every job that is measured with that
    gear; a newer one takes its place. A calibration that was saved before (.json) can be kept so, too.
    """
    from pegwood.instruments.shutter import InputCalibration, calibrate_input

    into = _asked_gear(gear, made_on, good_until)
    if _is_saved(file):
        calibration = saved(file, InputCalibration.from_mapping)
    else:
        calibration = _calibrated(file, channel, lambda recording: calibrate_input(recording, channel))
    entered = _entered(into, calibration, file, made_on, good_until)
    _hand_out({**calibration.to_json(), **entered}, save, as_json)
    if not as_json:
        terminal().print(
            f"{file}: a high-pass at {calibration.corners_text} (95 %), from {calibration.steps} steps of "
            "the light."
        )
        _say_where(save, "--input", entered)


def _calibrated(file: Path, channel: int, found: Callable[[Any], Any]) -> Any:
    from pegwood.instruments.recordings import RefusedRecording, open_recording

    try:
        recording = open_recording(file)
        if channel >= recording.n_channels:
            raise OneLine(
                f"{file}: no channel {channel}; its channels are 0 to {recording.n_channels - 1}.", 2
            )
        return found(recording)
    except (RefusedRecording, OSError) as error:
        why = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise OneLine(why if str(file.name) in why else f"{file}: {why}", UNREADABLE) from None
    except ValueError as error:
        raise OneLine(f"{error}.", UNREADABLE) from None


def _hand_out(found: dict[str, Any], save: Path | None, as_json: bool) -> None:
    text = json.dumps(found, ensure_ascii=False, allow_nan=False)
    if save is not None:
        try:
            save.write_text(text + "\n", encoding="utf-8")
        except OSError as error:
            raise OneLine(f"{save}: {error.strerror}. The calibration was not saved.", 1) from None
    if as_json:
        click.echo(text)


def _say_where(save: Path | None, option: str, entered: dict[str, Any]) -> None:
    if entered:
        terminal().print(
            f"Kept with {entered['gear']}, good until {entered['due_on']}: readings with it use it by "
            "themselves."
        )
    if save is not None:
        terminal().print(f"Saved. Use it: pegwood measure shutter … {option} {save}")
    elif not entered:
        terminal().print(
            f"Not saved. With --save FILE it can be used: pegwood measure shutter … {option} FILE; with "
            "--gear NAME the workshop keeps it."
        )


def _is_saved(file: Path) -> bool:
    return file.suffix.lower() == ".json"


def _asked_gear(gear: str | None, made_on: datetime | None, good_until: datetime | None) -> Gear | None:
    """The piece of gear that was named, before anything is analysed."""
    if gear is None:
        if made_on or good_until:
            raise OneLine("--made-on and --good-until need the gear it is kept with: --gear NAME.", 2)
        return None
    need_a_book()
    open_book()
    return gear_called(gear)


def _entered(
    into: Gear | None, found: Any, file: Path, made_on: datetime | None, good_until: datetime | None
) -> dict[str, Any]:
    """Keep a calibration with the gear; say where and until when."""
    if into is None:
        return {}
    from pegwood.book.calibrating import Made, enter_calibration
    from pegwood.book.refusal import Refused

    try:
        with file.open("rb") as content:
            entered = enter_calibration(
                into,
                found,
                by=who(),
                made_from=Made(content, file.name),
                made_on=made_on and made_on.date(),
                due_on=good_until and good_until.date(),
            )
    except Refused as reason:
        raise OneLine(str(reason), 2) from None
    except OSError as error:
        raise OneLine(f"{file}: {error.strerror}. The calibration was not kept.", 2) from None
    return {
        "gear": str(into),
        "number": entered.pk,
        "made_on": entered.made_on.isoformat(),
        "due_on": entered.due_on.isoformat(),
    }


def saved(path: Path | None, read: Callable[[dict[str, Any]], Any]) -> Any:
    """
    A calibration from its file, or None where none was named.

    Parameters
    ----------
    path : Path or None
        The file.
    read : callable
        Makes the calibration of its content; raises ValueError where it can't.

    Returns
    -------
    calibration : object or None
        What `read` made.

    Raises
    ------
    OneLine
        If there is no such file, or no calibration in it.
    """
    if path is None:
        return None
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise OneLine(f"{path}: {error.strerror}", UNREADABLE) from None
    except ValueError:
        data = None
    if not isinstance(data, dict):
        raise OneLine(f"{path}: this is no calibration: make one with 'pegwood measure input' or 'clock'.", 2)
    try:
        return read(data)
    except ValueError as error:
        raise OneLine(f"{path}: {error}.", UNREADABLE) from None
