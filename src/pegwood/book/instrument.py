"""The instrument's part: from a stored recording and how it was asked for to a result."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from pegwood.book.arrangement import Arrangement
from pegwood.book.calibrated import calibrated
from pegwood.book.gauging.reading import read_gauging
from pegwood.book.models import Measurement
from pegwood.book.parts import part_asked, told_of_part
from pegwood.book.refusal import Refused
from pegwood.book.taken import Taken
from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.recordings import RefusedRecording, open_recording
from pegwood.instruments.shutter import (
    KINDS,
    MarkedSpeed,
    RefusedCurtains,
    analyse,
    with_curtains,
    without_struck,
)
from pegwood.instruments.sound import analyse_sound
from pegwood.instruments.verdicts import Limit
from pegwood.instruments.video import analyse_video

LONGEST_REASON = 500
Told = Callable[[float], None]
Read = tuple[dict[str, Any], list[dict[str, Any]]]


@dataclass(frozen=True)
class Found:
    """The instrument's result, whole, and its curves; or the reason why there is none."""

    result: dict[str, Any] | None = None
    curves: list[dict[str, Any]] | None = None
    reason: str = ""


def read_by_instrument(path: Path, measurement: Measurement, told: Told | None = None) -> Found:
    """
    Read a recording as its measurement's settings ask.

    Parameters
    ----------
    path : Path
        The stored recording.
    measurement : Measurement
    told : callable, optional
        Called with the share of the recording read so far, from 0 to 1.

    Returns
    -------
    found : Found
        A recording that cannot be read is a reason, not an error.
    """
    if measurement.instrument != "shutter":
        return _gauged(measurement)
    try:
        result, curves = _READ[Taken.of(measurement.settings).by](path, measurement, told)
    except (RefusedRecording, RefusedCurtains) as error:
        return Found(reason=str(error)[:LONGEST_REASON])
    reason = ""
    if not result["shots"]:
        reason = "; ".join(result["warnings"]) or "No firing was found in the recording."
    return Found(result, curves, reason[:LONGEST_REASON])


def _gauged(measurement: Measurement) -> Found:
    try:
        return Found(result=read_gauging(measurement))
    except RefusedReadings as error:
        return Found(reason=str(error)[:LONGEST_REASON])


def _by_light(path: Path, measurement: Measurement, told: Told | None) -> Read:
    settings, arrangement = measurement.settings, Arrangement.of(measurement.settings)
    known = calibrated(open_recording(path, measurement.recording.name), settings)
    recording, struck = part_asked(known.recording, measurement)
    found = analyse(
        recording,
        marked=marked_speed(measurement.marked),
        reading=settings["reading"],
        limit=_limit_asked(measurement),
        widest=arrangement.widest,
        contact=arrangement.contact,
        kind=settings.get("shutter") or None,
        calibrated=known.through,
        progress=told,
    )
    if arrangement.sensors is not None:
        found = with_curtains(found, arrangement.sensors)
    found = known.said_in(told_of_part(without_struck(found, struck), measurement))
    return {**found.to_json(), **known.to_json(found)}, found.curves_json()


def _by_sound(path: Path, measurement: Measurement, told: Told | None) -> Read:
    settings = measurement.settings
    recording = open_recording(path, measurement.recording.name, compressed=True)
    known = calibrated(recording, settings, is_light=False)
    kind = settings.get("shutter")
    found = analyse_sound(
        known.recording,
        marked=marked_speed(measurement.marked),
        reading=settings["reading"],
        limit=_limit_asked(measurement),
        kind=kind if kind in KINDS else None,
        mirror=Taken.of(settings).mirror,
        progress=told,
    )
    found = replace(found, shutter=known.said_in(found.shutter))
    return {**found.to_json(), **known.to_json(found.shutter)}, []


def _by_video(path: Path, measurement: Measurement, told: Told | None) -> Read:
    taken = Taken.of(measurement.settings)
    found = analyse_video(
        path,
        name=measurement.recording.name,
        captured_fps=taken.captured_fps,
        region=taken.region,
        marked=marked_speed(measurement.marked),
        reading=measurement.settings["reading"],
        limit=_limit_asked(measurement),
        progress=told,
    )
    return found.to_json(), found.shutter.curves_json()


_READ = {"light": _by_light, "sound": _by_sound, "video": _by_video}


def _limit_asked(measurement: Measurement) -> Limit | None:
    asked = measurement.settings["limit"]
    return None if asked is None else Limit(**asked)


def marked_speed(text: str) -> MarkedSpeed:
    """The speed on the dial, or a refusal in one line."""
    try:
        return MarkedSpeed.parse(text)
    except ValueError as error:
        raise Refused(str(error)) from None
