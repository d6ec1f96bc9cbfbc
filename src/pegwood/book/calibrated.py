"""
What was known of the gear when a recording came in, and what of it goes into its reading.

The calibrations themselves are kept among the settings of the measurement. So it reads the same for good,
whatever is calibrated anew, struck out or falls due afterwards.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from pegwood.book.calibrating import in_use, told_of
from pegwood.book.models import Gear
from pegwood.book.workshop import workshop
from pegwood.instruments.clock import ClockCalibration
from pegwood.instruments.recordings import Recording
from pegwood.instruments.shutter import InputCalibration, ShutterResult, uses_calibration

KEY = "calibrations"
"""Their name among the settings of a measurement, and in its result."""


def known_of(gear: Gear | None, at: datetime) -> dict[str, Any]:
    """
    What the settings of a measurement say of its gear; nothing where nothing is calibrated.

    Parameters
    ----------
    gear : Gear or None
        What was recorded with.
    at : datetime
        When: a calibration that was due again before that day is overdue.
    """
    if gear is None:
        return {}
    today = at.astimezone(workshop().zone).date()
    known = [
        {
            "number": one.pk,
            "kind": one.kind,
            "made_on": one.made_on.isoformat(),
            "due_on": one.due_on.isoformat(),
            "by": one.by,
            "is_overdue": one.due_on < today,
            "data": one.data,
        }
        for one in in_use(gear)
    ]
    return {KEY: known} if known else {}


@dataclass(frozen=True, kw_only=True)
class Calibrated:
    """
    A recording with what is known of the gear it came through.

    Parameters
    ----------
    recording : Recording
        On the true time, where its clock was calibrated.
    through : InputCalibration or None
        The input's high-pass.
    clock_used : mapping or None
        Which of the calibrations put the time right.
    input_asked : mapping or None
        Which of them `through` is.
    left_out : tuple of (mapping, str)
        Calibrations that did not go in, each with the reason in one line.
    """

    recording: Recording
    through: InputCalibration | None = None
    clock_used: Mapping[str, Any] | None = None
    input_asked: Mapping[str, Any] | None = None
    left_out: tuple[tuple[Mapping[str, Any], str], ...] = ()

    def said_in(self, result: ShutterResult) -> ShutterResult:
        """The result with a note for each calibration that went in, a warning for each left out."""
        notes = [note_of(_head(one)) for one in self._used(result)]
        warnings = [why for _, why in self.left_out]
        return replace(result, notes=(*result.notes, *notes), warnings=(*result.warnings, *warnings))

    def to_json(self, result: ShutterResult) -> dict[str, Any]:
        """Which calibrations went into a result and which did not, for its JSON; empty without any."""
        told = [{**_head(one), "used": True} for one in self._used(result)]
        told += [{**_head(one), "used": False, "why_not": why} for one, why in self._not(result)]
        return {KEY: told} if told else {}

    def _used(self, result: ShutterResult) -> list[Mapping[str, Any]]:
        by_input = self.input_asked if uses_calibration(result) else None
        return [one for one in (self.clock_used, by_input) if one is not None]

    def _not(self, result: ShutterResult) -> list[tuple[Mapping[str, Any], str]]:
        if self.input_asked is None or uses_calibration(result):
            return list(self.left_out)
        return [*self.left_out, (self.input_asked, "The recording does not show this input.")]


def calibrated(recording: Recording, settings: Mapping[str, Any], *, is_light: bool = True) -> Calibrated:
    """
    Put a recording on its true time, and say what is known of its input.

    Parameters
    ----------
    recording : Recording
        As it came.
    settings : mapping
        Of its measurement.
    is_light : bool
        False for sound, which no capacitor of the input bends.
    """
    found = Calibrated(recording=recording)
    clocks = [one for one in settings.get(KEY, ()) if one["kind"] == "clock"]
    fitting = [one for one in clocks if ClockCalibration.from_mapping(one["data"]).fits(recording)]
    for one in fitting:
        if one["is_overdue"]:
            found = _without(found, one, _overdue(one))
        else:
            on_time = ClockCalibration.from_mapping(one["data"]).applied_to(recording)
            found = replace(found, recording=on_time, clock_used=one)
    if clocks and not fitting:
        rates = " and ".join(f"{one['data']['stated_rate_hz']:g}" for one in clocks)
        why = (
            f"The clock of this gear was calibrated at {rates} samples a second and this recording has "
            f"{recording.sample_rate_hz:g}: the calibration is left out. Calibrate it at that rate."
        )
        found = _without(found, clocks[0], why)
    for one in settings.get(KEY, ()):
        if one["kind"] == "input" and is_light:
            if one["is_overdue"]:
                found = _without(found, one, _overdue(one))
            else:
                through = InputCalibration.from_mapping(one["data"])
                found = replace(found, through=through, input_asked=one)
    return found


def note_of(used: Mapping[str, Any]) -> str:
    """The note among those of a result that tells of a calibration; `used` is what its JSON holds of it."""
    return (
        f"The {used['kind']} was calibrated on {used['made_on']} by {used['by']} (no. {used['number']}): "
        f"{used['says']}."
    )


def _without(found: Calibrated, one: Mapping[str, Any], why: str) -> Calibrated:
    return replace(found, left_out=(*found.left_out, (one, why)))


def _overdue(one: Mapping[str, Any]) -> str:
    return (
        f"The {one['kind']} of this gear was calibrated on {one['made_on']}, due again on {one['due_on']}: "
        "the calibration is left out. Calibrate it anew."
    )


def _head(one: Mapping[str, Any]) -> dict[str, Any]:
    known = {name: one[name] for name in ("number", "kind", "made_on", "due_on", "by")}
    return {**known, "says": _told(one)}


def _told(one: Mapping[str, Any]) -> str:
    of = ClockCalibration if one["kind"] == "clock" else InputCalibration
    return told_of(of.from_mapping(one["data"]))
