"""Calibrations of the gear: entered, taken the place of, kept with every reading that they went into."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, BinaryIO, Literal

from django.db import transaction
from django.utils import timezone

from pegwood.book import diary
from pegwood.book.files.store import clean_name, keep
from pegwood.book.models import Calibration, Gear, StoredFile
from pegwood.book.refusal import Refused
from pegwood.book.taken import ENDINGS
from pegwood.book.workshop import workshop
from pegwood.instruments.clock import ClockCalibration, clock_from_pulses, clock_from_tone
from pegwood.instruments.recordings import RefusedRecording, open_recording
from pegwood.instruments.shutter import InputCalibration, calibrate_input

Found = ClockCalibration | InputCalibration
What = Literal["tone", "pulses", "torch", "saved"]

GOOD_FOR_MONTHS = 12
"""How long a calibration is good for where nobody says otherwise (practice)."""
DUE_SOON_DAYS = 30
"""Before a calibration is due again it is said for so long (practice)."""
LARGEST_CALIBRATION = 512 * 1024**2
LARGEST_SAVED = 64 * 1024
"""A saved calibration has some hundred characters, [byte]."""
EARLIEST = date(1980, 1, 1)
SAVED = {".json": "application/json"}


@dataclass(frozen=True, kw_only=True)
class Source:
    """
    What a calibration is made from.

    Parameters
    ----------
    what : "tone", "pulses", "torch" or "saved"
        Recording of a steady tone, of a time signal, of a torch switched on and off; a saved calibration.
    reference : float or None
        True frequency of the tone, [Hz], or true time from pulse to pulse, [s].
    within_ppm : float or None
        How well that is known, in millionths, [-].
    channel : int
        Of the recording, counted from 0.
    """

    what: What
    reference: float | None = None
    within_ppm: float | None = None
    channel: int = 0

    def check(self) -> None:
        """
        Refuse what is not said or can't be.

        Raises
        ------
        Refused
            In one line.
        """
        if self.what in ("tone", "pulses"):
            named = "frequency of the tone" if self.what == "tone" else "time from pulse to pulse"
            if self.reference is None or not self.reference > 0:
                raise Refused(f"Say the true {named}.")
            if self.within_ppm is None:
                raise Refused("Say within how many millionths the reference is known; a time signal: 1.")
        if not 0 <= self.channel < 64:
            raise Refused("Channels count from 0.")

    def read(self, content: BinaryIO, name: str) -> Found:
        """
        The calibration that a file gives.

        Parameters
        ----------
        content, name : binary file, str
            Open, at any place; stays open.

        Raises
        ------
        Refused
            With the instrument's reason, if it gives none.
        """
        if self.what == "saved":
            content.seek(0)
            return saved_calibration(content.read(LARGEST_SAVED + 1), name)
        try:
            recording = open_recording(content, name)
            if self.channel >= recording.n_channels:
                raise Refused(
                    f"{name}: no channel {self.channel}; its channels are 0 to {recording.n_channels - 1}."
                )
            if self.what == "torch":
                return calibrate_input(recording, self.channel)
            by = clock_from_tone if self.what == "tone" else clock_from_pulses
            return by(recording, self.reference or 0.0, self.within_ppm or 0.0, self.channel)
        except RefusedRecording as error:
            raise Refused(str(error)) from None
        except ValueError as error:
            raise Refused(f"{error}.") from None


def saved_calibration(content: bytes, name: str) -> Found:
    """
    A calibration that `measure clock` or `measure input` has saved.

    Raises
    ------
    Refused
        If it is none, in one line.
    """
    try:
        data = json.loads(content)
    except (ValueError, RecursionError):
        data = None
    if not isinstance(data, dict) or data.get("calibration") not in ("clock", "input"):
        raise Refused(f"{name}: this is no calibration: make one with 'pegwood measure clock' or 'input'.")
    try:
        return _of(data)
    except ValueError as error:
        raise Refused(f"{name}: {error}.") from None


def _of(data: Mapping[str, Any]) -> Found:
    if data.get("calibration") == "clock":
        return ClockCalibration.from_mapping(data)
    return InputCalibration.from_mapping(data)


def calibrate_gear(
    gear: Gear,
    content: BinaryIO,
    name: str,
    source: Source,
    *,
    by: str,
    made_on: date | None = None,
    due_on: date | None = None,
    at: datetime | None = None,
) -> Calibration:
    """
    Make a calibration from a recording or a saved file, and enter it with the file it was made from.

    Raises
    ------
    Refused
        If it gives none, in one line; or as `enter_calibration`.
    """
    at = at or timezone.now()
    source.check()
    _days(made_on, due_on, at)
    shown = clean_name(name)
    endings = SAVED if source.what == "saved" else ENDINGS["light"]
    if _ending(shown) not in endings:
        wanted = "a saved calibration (JSON)" if source.what == "saved" else "a WAV, FLAC, AIFF or CSV file"
        raise Refused(f"'{shown}' is not what was said. Send {wanted}.")
    if content.seek(0, 2) > (LARGEST_SAVED if source.what == "saved" else LARGEST_CALIBRATION):
        raise Refused(f"'{shown}' is too large for a calibration. A minute or two is enough.")
    file = Made(content, shown)
    return enter_calibration(
        gear, source.read(content, shown), by=by, made_from=file, made_on=made_on, due_on=due_on, at=at
    )


@dataclass(frozen=True)
class Made:
    """The file that a calibration was made from: open, and the name it came with."""

    content: BinaryIO
    name: str

    def keep(self, at: datetime) -> StoredFile:
        """Store it."""
        name = clean_name(self.name)
        media_type = {**ENDINGS["light"], **SAVED}.get(_ending(name), "application/octet-stream")
        self.content.seek(0)
        return keep(self.content, name=name, media_type=media_type, at_most=LARGEST_CALIBRATION, at=at)


def _ending(name: str) -> str:
    return f".{name.rsplit('.', 1)[-1].lower()}"


def enter_calibration(
    gear: Gear,
    found: Found,
    *,
    by: str,
    made_from: Made | None = None,
    made_on: date | None = None,
    due_on: date | None = None,
    at: datetime | None = None,
) -> Calibration:
    """
    Enter a calibration of a piece of gear; sent twice, it is one.

    Parameters
    ----------
    found : ClockCalibration or InputCalibration
    made_from : Made, optional
        The file it was made from, which is kept with it.
    made_on, due_on : date, optional
        When the recording was made: today if not said; the last day it is used: a year later.

    Raises
    ------
    Refused
        If the days can't be.
    """
    at = at or timezone.now()
    made_on, due_on = _days(made_on, due_on, at)
    file = None if made_from is None else made_from.keep(at)  # outside the transaction: it may be large
    return _entered(gear, found, file, by=by, made_on=made_on, due_on=due_on, at=at)


@transaction.atomic
def _entered(
    gear: Gear, found: Found, file: StoredFile | None, *, by: str, made_on: date, due_on: date, at: datetime
) -> Calibration:
    data, days = found.to_json(), {"made_on": made_on, "due_on": due_on}
    gear = Gear.objects.select_for_update().get(pk=gear.pk)
    for same in gear.calibrations.filter(kind=data["calibration"], **days):
        if same.data == data:
            return same
    entered = Calibration.objects.create(
        gear=gear, kind=data["calibration"], data=data, file=file, at=at, by=by, **days
    )
    diary.write(
        None,
        by=by,
        at=at,
        what="calibrated gear",
        text=f"{gear}: {told_of(found)}",
        new={**days, "sha256": file and file.sha256},
    )
    return entered


def _days(made_on: date | None, due_on: date | None, at: datetime) -> tuple[date, date]:
    today = at.astimezone(workshop().zone).date()
    made_on = made_on or today
    due_on = due_on or _months_on(made_on, GOOD_FOR_MONTHS)
    if not EARLIEST <= made_on <= today:
        raise Refused(f"A calibration was made between {EARLIEST} and today, not on {made_on}.")
    if due_on <= made_on:
        raise Refused(f"A calibration of {made_on} can't be due again on {due_on}: give a later day.")
    return made_on, due_on


def _months_on(day: date, months: int) -> date:
    """The same day so many months on; the last of February where there is no 29th."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    try:
        return day.replace(year=year, month=month + 1)
    except ValueError:
        return day.replace(year=year, month=month + 1, day=28)


@transaction.atomic
def strike_out_calibration(
    calibration: Calibration, reason: str, *, by: str, at: datetime | None = None
) -> None:
    """Take a calibration out of use that was wrong. Readings that it went into keep it; so does the diary."""
    calibration = Calibration.everything.select_for_update().select_related("gear").get(pk=calibration.pk)
    if calibration.struck_out:
        return
    calibration.struck_out = True
    calibration.save()
    diary.write(
        None,
        by=by,
        at=at or timezone.now(),
        what="struck out a calibration",
        text=f"{calibration.gear}: {reason.strip()}",
        old={"kind": calibration.kind, "made_on": calibration.made_on, "due_on": calibration.due_on},
    )


def in_use(gear: Gear) -> list[Calibration]:
    """The newest calibration of each kind, of the clock one for each sample rate; those due again as well."""
    newest: dict[tuple[str, float], Calibration] = {}
    for one in gear.calibrations.all():
        newest.setdefault((one.kind, float(one.data.get("stated_rate_hz") or 0.0)), one)
    return list(newest.values())


def state_of(calibration: Calibration, today: date) -> Literal["good", "due soon", "overdue"]:
    """Whether a calibration still goes into readings; on the day it is due it does for the last time."""
    if calibration.due_on < today:
        return "overdue"
    return "due soon" if calibration.due_on <= today + timedelta(days=DUE_SOON_DAYS) else "good"


def told_of(found: Found) -> str:
    """What a calibration says, in words."""
    if isinstance(found, ClockCalibration):
        low, high = found.error.coverage_interval()
        off = f"{1e6 * found.error.value:+.1f} ± {1e6 * (high - low) / 2:.1f} ppm (95 %)"
        return f"clock {off} at {found.stated_rate_hz:g} samples a second"
    return f"input, a high-pass at {found.corners_text} (95 %)"


def told(calibration: Calibration) -> str:
    """What an entered calibration says, in words."""
    return told_of(_of(calibration.data))
