"""
Film winding up on its spool, and what its clutch has to let slip.

The sprocket feeds the same length for every frame, so the spool turns less with each (`winding`); whatever
drives it must slip by the difference.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

from pegwood.instruments.plain_data import bounds_of, budget_of, figure, plain
from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.transport.rolls import Roll, thickness
from pegwood.instruments.transport.winding import wound_diameter, wound_turns
from pegwood.instruments.uncertainty import Component, Measured, propagate
from pegwood.instruments.verdicts import Bounds, Verdict, verdict

__all__ = ["TakeUp", "TakeUpFrame", "take_up"]

NEVER_SLACK = Bounds(
    0.0, None, "turns", "a spool must never turn less than the sprocket feeds, or the film backs up", "memory"
)


@dataclass(frozen=True)
class TakeUpFrame:
    """
    One advance.

    Parameters
    ----------
    number : int
        From 1.
    diameter_m : float
        Of the spool with its film after it, [m].
    turns : float
        Of the spool during it, [-].
    """

    number: int
    diameter_m: float
    turns: float


@dataclass(frozen=True)
class TakeUp:
    """
    The spool over a roll.

    Parameters
    ----------
    full : Measured
        Diameter with the whole roll, [m].
    first_turns, last_turns : Measured
        Of the spool in the first advance and in the last, [-].
    slip : Measured
        What the clutch must allow: turns an advance, from first to last, [-].
    first_slip, last_slip : Measured or None
        Turns the drive makes beyond the spool's; None where the drive was not told, [-].
    verdict : str
        Whether the drive is never too slow.
    limit : Bounds or None
        Of the slip at the first frame, [turns]; None where the drive was not told.
    room : Measured
        Frames between lead and tail, [-].
    expected_frames : (int, int)
        Fewest and most whole frames that 95 % of such rolls hold.
    counted : str or None
        What the counter or the stop says against that, in words.
    frames : tuple of TakeUpFrame
    warnings, notes : tuple of str
    """

    full: Measured
    first_turns: Measured
    last_turns: Measured
    slip: Measured
    first_slip: Measured | None
    last_slip: Measured | None
    verdict: Verdict
    limit: Bounds | None
    room: Measured
    expected_frames: tuple[int, int]
    counted: str | None
    frames: tuple[TakeUpFrame, ...]
    warnings: tuple[str, ...]
    notes: tuple[str, ...]

    def to_json(self) -> dict[str, Any]:
        """As the schema ``measure.take-up`` describes it, its torque apart."""
        return {
            **figure("full", "m", self.full),
            "full_budget": budget_of(self.full.budget),
            **figure("first", "turns", self.first_turns),
            **figure("last", "turns", self.last_turns),
            **figure("slip", "turns", self.slip),
            **figure("first_slip", "turns", self.first_slip),
            **figure("last_slip", "turns", self.last_slip),
            "slip_limit": bounds_of(self.limit),
            "slip_verdict": self.verdict,
            **figure("room", "frames", self.room),
            "expected_frames": list(self.expected_frames),
            "counted": self.counted,
            "frames": [
                {k: plain(v) if isinstance(v, float) else v for k, v in vars(f).items()} for f in self.frames
            ],
        }


def take_up(
    core: Measured,
    film: Roll,
    *,
    thick: Measured | None = None,
    drive_turns: float | None = None,
    counted: int | None = None,
    limit: Bounds | None = None,
) -> TakeUp:
    """
    The spool over a roll, the slip its clutch must allow, and how many frames to expect.

    Parameters
    ----------
    core : Measured
        Diameter of the empty spool, [m].
    film : Roll
    thick : Measured, optional
        Thickness of the film as wound; ordinary film's if not given, [m].
    drive_turns : float, optional
        Turns an advance would give the spool if the clutch held, [-].
    counted : int, optional
        Frames after which the camera stopped, or the counter's figure at the end.
    limit : Bounds, optional
        The workshop's own of the slip at the first frame, [turns]; that the spool is never too slow
        if not given.

    Returns
    -------
    take_up : TakeUp

    Raises
    ------
    RefusedReadings
        If a figure cannot be.
    """
    h = thickness() if thick is None else thick
    _check(core, h, film, drive_turns, counted)
    last = film.lead_m + film.frames * film.pitch_m
    inputs = {"core": replace(core, budget=()), "thick": replace(h, budget=())}

    def diameter(core: Any, thick: Any, wound: float) -> Any:
        return (core * core + 4 * wound / math.pi * thick) ** 0.5

    def turns(core: Any, thick: Any, after: float) -> Any:
        before = after - film.pitch_m
        return 2 * film.pitch_m / math.pi / (diameter(core, thick, after) + diameter(core, thick, before))

    full = propagate(lambda core, thick: diameter(core, thick, last), inputs)
    full = replace(full, budget=tuple(_sourced(line, h) for line in full.budget))
    first_end = film.lead_m + film.pitch_m
    first = propagate(lambda core, thick: turns(core, thick, first_end), inputs)
    end = propagate(lambda core, thick: turns(core, thick, last), inputs)
    slip = propagate(lambda core, thick: turns(core, thick, first_end) - turns(core, thick, last), inputs)
    beyond = [
        None if drive_turns is None else replace(one, value=drive_turns - one.value) for one in (first, end)
    ]
    room = (film.length.scaled(1 / film.pitch_m), (film.lead_m + film.tail_m) / film.pitch_m)
    held = replace(room[0], value=room[0].value - room[1])
    low, high = held.coverage_interval()
    expected = (max(math.floor(low), 0), max(math.floor(high), 0))
    return TakeUp(
        full, first, end, slip, beyond[0], beyond[1],
        "no limit given" if drive_turns is None else verdict(beyond[0], limit or NEVER_SLACK),
        None if drive_turns is None else limit or NEVER_SLACK,
        held, expected,
        None if counted is None else _counted(counted, expected, film),
        tuple(_frames(core.value, h.value, film)),
        tuple(_doubts(beyond[0], core)),
        (
            f"Roll of {film.length.value:.3g} m ({film.source}; {film.mark}), "
            f"{1e3 * film.pitch_m:.3f} mm a frame.",
            f"Film thickness {1e3 * h.value:.3f} mm " + (_told(h) if thick is None else "as told") + ".",
        ),
    )  # fmt: skip


def _sourced(line: Component, h: Measured) -> Component:
    """A line of the budget with the source that the film's thickness came with."""
    if line.name != "thick" or not h.budget:
        return line
    of = h.budget[0]
    return replace(line, name=of.name, note=of.note, source=of.source, mark=of.mark)


def _told(one: Measured) -> str:
    return f"({one.budget[0].source}; {one.budget[0].mark})"


def _frames(core_m: float, thickness_m: float, film: Roll) -> list[TakeUpFrame]:
    found = []
    for n in range(1, film.frames + 1):
        after = film.lead_m + n * film.pitch_m
        turned = wound_turns(core_m, thickness_m, after - film.pitch_m, after)
        found.append(TakeUpFrame(n, wound_diameter(core_m, thickness_m, after), turned))
    return found


def _counted(counted: int, expected: tuple[int, int], film: Roll) -> str:
    fewest, most = expected
    if counted < min(fewest, film.frames):
        return (
            f"Stopped after {counted} frames where the roll holds {fewest} to {most}: the stop or the "
            "counter comes too early, or frames are spaced too far apart. Measure the spacing on a strip."
        )
    if counted > most:
        return (
            f"{counted} frames on a roll that holds {fewest} to {most}: the counter runs on without film, "
            "or frames overlap. Measure the spacing on a strip."
        )
    return f"{counted} frames: as expected ({fewest} to {most})."


def _doubts(first_slip: Measured | None, core: Measured) -> list[str]:
    doubts = []
    if first_slip is not None and first_slip.value < 0:
        doubts.append(
            "The drive turns the spool less than the sprocket feeds at the first frame: the film would "
            "back up. Look for the wrong wheel, or a core that is too thin."
        )
    if core.value < 5e-3:
        doubts.append(
            "A core below 5 mm bends film sharply; check that the diameter was measured, not the radius."
        )
    return doubts


def _check(core: Measured, h: Measured, film: Roll, drive_turns: float | None, counted: int | None) -> None:
    if not 2e-3 <= core.value <= 60e-3:
        raise RefusedReadings(
            f"A spool's core of {1e3 * core.value:g} mm is none. Give its diameter in mm, such as 14.",
            "core_mm",
        )
    if not 0.05e-3 <= h.value <= 0.5e-3:
        raise RefusedReadings(
            f"Film {1e3 * h.value:g} mm thick is none. Give it in mm, such as 0.13, or leave it out.",
            "thickness_mm",
        )
    if film.length.value <= film.lead_m + film.tail_m + film.pitch_m:
        raise RefusedReadings(
            "That length of film holds no frame. Give it in metres, such as 1.6.", "length_m"
        )
    if drive_turns is not None and not 0 < drive_turns < 20:
        raise RefusedReadings("The drive makes some turns an advance, such as 1.2.", "drive_turns")
    if counted is not None and not 0 <= counted <= 500:
        raise RefusedReadings("Frames are counted from 0 up, such as 36.", "counted")
