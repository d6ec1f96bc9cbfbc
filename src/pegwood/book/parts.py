"""
Measurements that are made from a part of a recording.

Whoever listens while a shutter is fired through all its speeds has one long recording. It is stored once, and
each speed's measurement says in its settings which stretches of it are its own, and what in them a person
struck out. Cutting it into a file for each speed would store every reading twice and tear what was heard
between the speeds from what it belongs to; the whole would be a copy that nothing is read from.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from pegwood.book.models import Measurement
from pegwood.instruments.recordings import Recording, part_of
from pegwood.instruments.shutter import ShutterResult

Struck = list[tuple[float, float]]
#: First light as it was heard live and as it is read from the whole lie no further apart, [s].
SLACK_S = 0.02


def part_asked(recording: Recording, measurement: Measurement) -> tuple[Recording, Struck]:
    """
    What is to be read of a recording, and from when to when in it firings were struck out, [s].

    Raises
    ------
    RefusedRecording
        If the recording has no such part.
    """
    live: dict[str, Any] | None = measurement.settings.get("live")
    if live is None:
        return recording, []
    part = part_of(recording, live["stretches"])
    rate = recording.sample_rate_hz
    struck = [(part.place_of(begins), ends - begins) for begins, ends in live["struck"]]
    return part, [(at / rate - SLACK_S, (at + n) / rate + SLACK_S) for at, n in struck if at is not None]


def told_of_part(result: ShutterResult, measurement: Measurement) -> ShutterResult:
    """The result with a note that says which part it was read from."""
    live = measurement.settings.get("live")
    if live is None:
        return result
    rate = result.sample_rate_hz
    where = " and ".join(f"{a / rate:.2f} s to {b / rate:.2f} s" for a, b in live["stretches"])
    note = f"Read from {where} of the whole recording; times count from the start of that part."
    return replace(result, notes=(*result.notes, note))
