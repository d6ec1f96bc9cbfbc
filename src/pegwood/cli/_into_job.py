"""Recordings that are kept in a job: what every command shares that reads one."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pegwood.cli._gear import gear_called
from pegwood.cli._open import OneLine, job_numbered, need_a_book, open_book, who
from pegwood.cli._options import together
from pegwood.cli._progress import progress

if TYPE_CHECKING:
    from pegwood.book.models import Gear, Measurement

__all__ = ["UNREADABLE", "IntoJob", "kept_in_job", "need_a_job", "say_why_not"]

UNREADABLE = 2
"""How the command ends where a file could not be read; a reading that cannot be accepted ends it with 1."""

#: `--job`, `--as` and `--gear`, for a command that takes `number`, `phase` and `gear`.
kept_in_job = together(
    click.option("--job", "number", type=int, help="Keep the recording and the reading in this job."),
    click.option(
        "--as",
        "phase",
        type=click.Choice(["found", "left"]),
        help="With --job: accept it as found or as left.",
    ),
    click.option("--gear", help="With --job: what it was recorded with, by name or serial number."),
)


def need_a_job(phase: str | None, gear: str | None) -> None:
    """Refuse words that would do nothing without a job."""
    if phase or gear is not None:
        raise OneLine("--as and --gear need the job the reading belongs to: --job NUMBER.", 2)


@dataclass(frozen=True)
class IntoJob:
    """
    Where recordings are to be kept.

    Parameters
    ----------
    number : int
        Of the job.
    phase : str or None
        "found" or "left": as what the reading is accepted at once.
    gear : str or None
        What was recorded with, as it was named.
    as_json : bool
        Whether results are printed for scripts.
    """

    number: int
    phase: str | None
    gear: str | None
    as_json: bool

    def check(self, files: tuple[Path, ...], marked: str | None, judged: Any) -> None:
        """
        Refuse a command that cannot be meant so; `judged` is what was said of limit and dial.

        Raises
        ------
        OneLine
            With exit code 2.
        """
        if judged:
            raise OneLine(
                "With --job the camera and the settings choose. Leave out --kind, --age, --reading.", 2
            )
        if marked is None:
            raise OneLine("A reading kept in a job needs the speed on the dial: --marked 1/125.", 2)
        if self.phase and len(files) > 1:
            raise OneLine(
                f"Only one reading of a speed is accepted as {self.phase}. Give one file, or leave out --as.",
                2,
            )

    def keep(
        self,
        files: tuple[Path, ...],
        marked: str,
        told: Callable[[Any], dict[str, Any]],
        show: Callable[[str, dict[str, Any]], None],
    ) -> int:
        """
        Keep and read each file, show its result, and accept it if that was asked.

        Parameters
        ----------
        files : tuple of Path
        marked : str
            The speed on the dial.
        told : callable
            Given the job, says how it was recorded: `arrangement` or `taken` of `keep_recording`.
        show : callable
            Given a file's name and its result, shows it to a person.

        Returns
        -------
        ended : int
            Exit code.
        """
        need_a_book()
        open_book()
        from pegwood.book.instrument import marked_speed
        from pegwood.book.refusal import Refused

        job = job_numbered(self.number)
        if job.is_over:
            raise OneLine(f"Job {self.number} is over; it stands at '{job.standing}'.")
        try:
            marked_speed(marked)
            how = told(job)
        except Refused as reason:
            raise OneLine(str(reason), 2) from None
        used = gear_called(self.gear) if self.gear is not None else None
        ended = 0
        for file in files:
            try:
                kept = _keep_and_read(job, file, marked, used, how)
            except (Refused, OSError) as error:
                ended = UNREADABLE
                say_why_not(file, error)
                continue
            result: dict[str, Any] = kept.result or {}
            if self.as_json:
                line = {**result, "file": str(file), "measurement": kept.pk}
                click.echo(json.dumps(line, ensure_ascii=False))
            else:
                show(str(file), result)
            if self.phase and not _accepted(kept, self.phase, file):
                ended = ended or 1
        return ended


def _keep_and_read(job: Any, file: Path, marked: str, gear: Gear | None, how: dict[str, Any]) -> Measurement:
    from pegwood.book import measuring
    from pegwood.book.refusal import Refused

    with file.open("rb") as content:
        kept = measuring.keep_recording(job, content, file.name, marked=marked, by=who(), gear=gear, **how)
    with progress(file.name) as told:
        kept = measuring.read_recording(kept, by=who(), told=lambda share: told(share, 1.0))
    if kept.result is None:
        raise Refused(kept.reason)
    return kept


def _accepted(kept: Measurement, phase: str, file: Path) -> bool:
    from pegwood.book import measuring
    from pegwood.book.refusal import Refused

    try:
        measuring.accept_measurement(kept, f"as {phase}", by=who())
    except Refused as reason:
        say_why_not(file, Refused(f"Not accepted as {phase}: {kept.reason or reason}"))
        return False
    return True


def say_why_not(file: Path, error: Exception, how: str = "") -> None:
    """Say on stderr, in one line, why a file was not read; `how` says what the command can be given."""
    why = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
    why = why.removeprefix(f"{file.name}: ")  # a recording names itself
    click.echo(f"pegwood: {file}: {' '.join([*why.split(), *how.split()])}", err=True)
