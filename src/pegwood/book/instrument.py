"""The instrument's part: from a stored recording and how it was asked for to a result."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pegwood.book.arrangement import Arrangement
from pegwood.book.calibrated import calibrated
from pegwood.book.models import Measurement
from pegwood.book.parts import part_asked, told_of_part
from pegwood.book.refusal import Refused
from pegwood.instruments.recordings import RefusedRecording, open_recording
from pegwood.instruments.shutter import (
    MarkedSpeed,
    RefusedCurtains,
    analyse,
    with_curtains,
    without_struck,
)
from pegwood.instruments.verdicts import Limit

LONGEST_REASON = 500
Told = Callable[[float], None]


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
    try:
        result, curves = _by_light(path, measurement, told)
    except (RefusedRecording, RefusedCurtains) as error:
        return Found(reason=str(error)[:LONGEST_REASON])
    reason = ""
    if not result["shots"]:
        reason = "; ".join(result["warnings"]) or "No firing was found in the recording."
    return Found(result, curves, reason[:LONGEST_REASON])


def _by_light(
    path: Path, measurement: Measurement, told: Told | None
) -> tuple[dict[str, Any], list[dict[str, Any]]]:
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


def _limit_asked(measurement: Measurement) -> Limit | None:
    asked = measurement.settings["limit"]
    return None if asked is None else Limit(**asked)


def marked_speed(text: str) -> MarkedSpeed:
    """The speed on the dial, or a refusal in one line."""
    try:
        return MarkedSpeed.parse(text)
    except ValueError as error:
        raise Refused(str(error)) from None
