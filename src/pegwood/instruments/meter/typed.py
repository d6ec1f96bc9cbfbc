"""
Readings of a meter as somebody types them: the light, what the meter showed, which way the light went.

The reference's column says its unit: `reference_ev`, `reference_cd_m2` or `reference_lx` (also
`reference_fl`, `reference_fc`); so does what was shown. A foot-candle is 10.7639 lx, a foot-lambert
3.42626 cd/m2 (by the foot of 0.3048 m; memory).
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.meter._scale import (
    division_of,
    divisions,
    on_steps,
    ways_told,
    within_scale,
    without_stuck,
)
from pegwood.instruments.meter._settings import STOP, TIME, has_settings, settings_of
from pegwood.instruments.meter.exposure import Calibration
from pegwood.instruments.readings import FiguresTable, RefusedReadings

__all__ = ["Readings", "division_of", "readings_of"]

Array = NDArray[np.float64]

LOWEST_EV, HIGHEST_EV = -10.0, 24.0
"""No meter of a camera reads beyond: starlight, and the sun's own reflection (practice)."""
_FOOT = 0.3048
_UNITS = {"ev": 1.0, "cd_m2": 1.0, "lx": 1.0, "fl": 1 / (math.pi * _FOOT**2), "fc": 1 / _FOOT**2}
_AT_UNIT = {"cd_m2": "luminance", "fl": "luminance", "lx": "illuminance", "fc": "illuminance"}
_UP = {"up", "rising", "brighter", "u", "+", "↑"}
_DOWN = {"down", "falling", "darker", "d", "-", "−", "↓"}
_NOT_TOLD = {"", "?", "none"}
_BEYOND = re.compile(r"[<>≤≥].*|off( scale)?|beyond|over|under|stop|-+|–|—|inf|∞", re.IGNORECASE)
_VALUE = re.compile(r"(?:ev\s*)?([+-]?\d+(?:[.,]\d+)?)(?:\s+(\d)/(\d))?\s*(?:ev)?", re.IGNORECASE)
MOST = 500
"""Readings of one meter; nobody takes more off a scale."""


@dataclass(frozen=True)
class Readings:
    """
    What was read.

    Parameters
    ----------
    reference : array, shape (n,)
        The light, as an exposure value, [EV].
    shown : array, shape (n,)
        What the meter showed, [EV].
    direction : array, shape (n,)
        +1 where the light had been raised, -1 where it had been lowered, 0 where nobody said, [-].
    division : array, shape (n,)
        Step to which the scale was read, [EV]; 0 where it was read without steps.
    lines : tuple of int
        Line of the file each reading came from.
    unit : str
        What the reference was told in.
    warnings, notes : tuple of str
        What was left out and why; what was taken as given.
    one_way : str
        Why no hysteresis can be told from the directions; empty where it can be.
    places : tuple of str
        What each reading is called to whoever took it: "line 5", where it is not told otherwise.
    """

    reference: Array
    shown: Array
    direction: Array
    division: Array
    lines: tuple[int, ...]
    unit: str = "ev"
    warnings: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    one_way: str = ""
    places: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if not self.places:
            object.__setattr__(self, "places", tuple(f"line {line}" for line in self.lines))

    @property
    def error(self) -> Array:
        """Shown less true, shape (n,), [EV]: above zero the meter sees too much light."""
        return self.shown - self.reference


def readings_of(
    table: FiguresTable,
    calibration: Calibration | None = None,
    *,
    division: float | None = None,
    scale: tuple[float, float] | None = None,
) -> Readings:
    """
    Take readings from a table.

    Parameters
    ----------
    table : FiguresTable
        Columns: one `reference_...`, one `shown_...` (or `shown_f_number` and `shown_time`, where a needle is
        matched); maybe `direction` (up, down) and `division_ev`.
    calibration : Calibration, optional
        Joins cd/m2 and lx with EV.
    division : float, optional
        Step to which the scale was read, [EV]; found from the figures if not given.
    scale : (float, float), optional
        Ends of the meter's scale, [EV]: what is shown there is a needle at its stop and left out.

    Returns
    -------
    readings : Readings

    Raises
    ------
    RefusedReadings
        One line: what cannot be read, on which line, and what to do.
    """
    if len(table.rows) > MOST:
        raise RefusedReadings(f"{table.name} has more than {MOST} readings. Send those of one meter alone.")
    calibration = calibration or Calibration()
    reference, unit = _column(table, "reference", calibration)
    if has_settings(table):
        if told := [one for one in table.columns if one.startswith("shown_") and one not in (STOP, TIME)]:
            raise RefusedReadings(f"{table.name}: {told[0]} and {STOP} say the same thing twice. Keep one.")
        shown = settings_of(table)
    else:
        shown, _ = _column(table, "shown", calibration)
    lines = [line for line, _ in table.rows]
    direction = (
        list(table.column("direction", _direction)) if "direction" in table.columns else [0] * len(lines)
    )
    own = table.column("division_ev", _step) if "division_ev" in table.columns else None
    if any(value is None for value in reference):
        line = lines[next(i for i, value in enumerate(reference) if value is None)]
        raise table.refusal(line, "the light must be known. Give a figure, or leave the reading out.")
    true = [float(value) for value in reference if value is not None]
    places = table.places
    kept, warnings = within_scale(shown, true, places, scale)
    warnings += without_stuck(kept, shown, true, places)
    if not kept:
        why = "the needle stands at its stop or never moves. See to battery, switch, leads and pivots first"
        begins = "No reading is left" if table.typed else f"{table.name}: no reading is left"
        raise RefusedReadings(f"{begins}: {why}, then read again.")
    values = np.array([shown[i] for i in kept], dtype=float)
    steps, said = divisions(values, [own[i] for i in kept] if own else None, division)
    for i, step in zip(kept, steps, strict=True):
        if step > 3:
            raise table.refusal(lines[i], f"a division of {step:g} EV is no scale. Give EV.")
    one_way, more = ways_told(
        [direction[i] for i in kept], [true[i] for i in kept], [places[i] for i in kept]
    )
    return Readings(
        np.array([true[i] for i in kept]),
        on_steps(values, steps),
        np.array([direction[i] for i in kept], dtype=float),
        steps,
        tuple(lines[i] for i in kept),
        unit,
        (*warnings, *more),
        (said,),
        one_way,
        tuple(places[i] for i in kept),
    )


def _column(table: FiguresTable, what: str, calibration: Calibration) -> tuple[list[float | None], str]:
    """The values of a column in EV; None where the reading lay beyond the scale."""
    there = [f"{what}_{unit}" for unit in _UNITS if f"{what}_{unit}" in table.columns]
    if not there:
        raise table.lacking(
            "the light" if what == "reference" else what,
            f"there is no column {what}_ev (or {what}_cd_m2, {what}_lx). The first row names the columns, "
            f"such as reference_ev,shown_ev,direction; it has {', '.join(table.columns)}.",
        )
    if len(there) > 1:
        raise RefusedReadings(
            f"{table.name}: {' and '.join(there)} say the same thing twice. Keep one column."
        )
    unit = there[0].removeprefix(f"{what}_")
    return list(table.column(there[0], _reader(unit, what == "shown", calibration))), unit


def _reader(unit: str, may_be_beyond: bool, calibration: Calibration) -> Callable[[str], float | None]:
    def read(text: str) -> float | None:
        said = text.strip()
        if _BEYOND.fullmatch(said) or not said:
            if may_be_beyond:
                return None
            raise RefusedReadings(f"{said!r} is no light. Give a figure, or leave the reading out.")
        found = _VALUE.fullmatch(said)
        if found is None or (unit != "ev" and (found[2] or "ev" in said.casefold())):
            told = unit.replace("cd_m2", "cd/m2").replace("ev", "EV")
            raise RefusedReadings(
                f"Can't read {said[:40]!r} as {told}. Bare numbers, such as 9.5, one unit for all of them."
            )
        value = float(found[1].replace(",", "."))
        if found[2]:
            if not 0 < int(found[2]) < int(found[3]):
                raise RefusedReadings(f"{said[:40]!r}: a part of a step is such as 9 1/3.")
            value += int(found[2]) / int(found[3])
        ev = value if unit == "ev" else _ev(value * _UNITS[unit], _AT_UNIT[unit], calibration)
        if not LOWEST_EV <= ev <= HIGHEST_EV:
            hint = (
                " Is it in cd/m2 or lx? Then name the column so." if unit == "ev" else " Is the unit right?"
            )
            raise RefusedReadings(
                f"{said[:40]} is EV {ev:g}, which no such meter reads ({LOWEST_EV:g} to "
                f"{HIGHEST_EV:g}).{hint}"
            )
        return ev

    return read


def _ev(value: float, kind: str, calibration: Calibration) -> float:
    return calibration.ev_of_luminance(value) if kind == "luminance" else calibration.ev_of_illuminance(value)


def _direction(text: str) -> int:
    said = text.strip().casefold()
    if said in _UP:
        return 1
    if said in _DOWN:
        return -1
    if said in _NOT_TOLD:
        return 0
    raise RefusedReadings(
        f"{text[:40]!r} is no direction. Write up where the light was raised, down where lowered."
    )


def _step(text: str) -> float:
    found = _VALUE.fullmatch(text.strip())
    if found is None or float(found[1].replace(",", ".")) < 0:
        raise RefusedReadings(f"{text[:40]!r} is no step of a scale. Write such as 0.33, in EV.")
    return float(found[1].replace(",", "."))
