"""Readings of a rangefinder, and what about them cannot be."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import partial
from statistics import median

from pegwood.instruments.rangefinder._practice import practice
from pegwood.instruments.readings import FiguresTable, RefusedReadings, metres
from pegwood.instruments.readings.lengths import METRES_IN

__all__ = ["Readings", "readings_from", "refuse_the_impossible"]

BEYOND = {"beyond", "beyond inf", "beyond infinity", ">inf"}
_FEET_IN_A_METRE = 1 / METRES_IN["ft"]


@dataclass(frozen=True)
class Readings:
    """
    True distances and what the scale showed when the images coincided.

    Parameters
    ----------
    true_m, shown_m : tuple of float, shape (n,)
        [m]; ``math.inf`` for infinity.
    places : tuple of str, shape (n,)
        What to call each reading when it is refused: "readings.csv, line 3".
    beyond : tuple of bool, shape (n,)
        Whether the lens stood at its infinity stop before the images met; infinity is then shown.

    Raises
    ------
    RefusedReadings
        If a distance is zero or below, or no number.
    """

    true_m: tuple[float, ...]
    shown_m: tuple[float, ...]
    places: tuple[str, ...] = ()
    beyond: tuple[bool, ...] = ()

    def __post_init__(self) -> None:
        if len(self.true_m) != len(self.shown_m):
            raise ValueError("as many distances as readings")
        if not self.places:
            object.__setattr__(self, "places", tuple(f"reading {n}" for n in range(1, 1 + len(self.true_m))))
        if not self.beyond:
            object.__setattr__(self, "beyond", (False,) * len(self.true_m))
        for place, true, shown in zip(self.places, self.true_m, self.shown_m, strict=True):
            for what, distance in (("true distance", true), ("shown distance", shown)):
                if not distance > 0:
                    beyond = (
                        " Where the images meet only beyond infinity, write beyond."
                        if distance < 0 and what == "shown distance"
                        else ""
                    )
                    raise RefusedReadings(
                        f"{place}: a {what} of {distance:g} m cannot be. "
                        f"Write the distance above zero, or inf for infinity.{beyond}"
                    )

    @property
    def true_dpt(self) -> tuple[float, ...]:
        """One over each true distance, [dpt]; zero for infinity."""
        return tuple(1 / d for d in self.true_m)

    @property
    def shown_dpt(self) -> tuple[float, ...]:
        """One over each shown distance, [dpt]; zero for infinity."""
        return tuple(1 / d for d in self.shown_m)


def readings_from(table: FiguresTable) -> Readings:
    """
    Readings out of a table with the columns ``true_m`` or ``true_ft`` and ``shown_m`` or ``shown_ft``.

    Parameters
    ----------
    table : FiguresTable
        A cell may carry a unit of its own, "10 ft", and may be ``inf``; one that is shown may be ``beyond``.

    Returns
    -------
    readings : Readings

    Raises
    ------
    RefusedReadings
        If a column is missing or told twice, or a cell is no distance; file, line and why.
    """
    columns = []
    for what in ("true", "shown"):
        there = [f"{what}_{unit}" for unit in ("m", "ft") if f"{what}_{unit}" in table.columns]
        if len(there) > 1:
            raise RefusedReadings(f"{table.name}: both {there[0]!r} and {there[1]!r}. Keep one of them.")
        if not there:
            raise table.lacking(
                f"{what} distance",
                f"there is no column '{what}_m' or '{what}_ft'. The first row names the columns: "
                f"true_m,shown_m; it has {', '.join(table.columns)}.",
            )
        unit = there[0].rpartition("_")[2]
        columns.append(table.column(there[0], partial(_distance, unit=unit, what=what)))
    beyond = table.column(there[0], _is_beyond)
    places = tuple(one.capitalize() if table.typed else f"{table.name}, {one}" for one in table.places)
    return Readings(columns[0], columns[1], places, beyond)


def _is_beyond(text: str) -> bool:
    return text.strip().casefold() in BEYOND


def _distance(text: str, *, unit: str, what: str) -> float:
    return math.inf if what == "shown" and _is_beyond(text) else metres(text, unit)


def refuse_the_impossible(readings: Readings, usual_dpt: float, nearest_m: float | None) -> tuple[str, ...]:
    """
    Refuse readings that are slips, and tell of those that may be one.

    Parameters
    ----------
    readings : Readings
    usual_dpt : float
        Standard uncertainty of a reading as eye and scale have it, [dpt].
    nearest_m : float or None
        Nearest mark on the scale, [m].

    Returns
    -------
    warnings : tuple of str

    Raises
    ------
    RefusedReadings
        If feet stand for metres, a reading lies beyond the scale, or the scale stood at its stop.
    """
    _beyond_the_near_mark(readings, nearest_m)
    _feet_for_metres(readings)
    return _at_the_stop(readings, usual_dpt)


def _beyond_the_near_mark(readings: Readings, nearest_m: float | None) -> None:
    if nearest_m is None:
        return
    for place, shown in zip(readings.places, readings.shown_m, strict=True):
        if shown < nearest_m * (1 - 1e-9):
            raise RefusedReadings(
                f"{place}: {shown:g} m lies beyond the scale, which ends at {nearest_m:g} m. "
                "At the near stop images do not coincide: leave that reading out, or move the target away."
            )


def _feet_for_metres(readings: Readings) -> None:
    """
    Refuse where one column, or one figure, is 3.28 times the other.

    A column is, where that holds at half of the distances or more, two at least: no offset does so. A single
    figure is, where its error lies far from the middle one of them all, too.
    """
    within = math.log1p(practice("plausible", "foot_within").value)
    far_off = practice("plausible", "foot_from_dpt").value
    pairs = list(zip(readings.places, readings.true_m, readings.shown_m, strict=True))
    finite = [(place, true, shown) for place, true, shown in pairs if math.isfinite(true + shown)]
    usual = median(1 / shown - 1 / true for _, true, shown in pairs)
    for which, factor in (("shown", _FEET_IN_A_METRE), ("true", 1 / _FEET_IN_A_METRE)):
        likely = [one for one in finite if abs(math.log(one[2] / one[1] / factor)) < within]
        strays = [one for one in likely if abs(1 / one[2] - 1 / one[1] - usual) > far_off]
        distances = {true for _, true, _ in likely}
        if len(distances) >= max(2, len({true for _, true, _ in finite}) / 2):
            raise RefusedReadings(
                f"The {which} distances are about 3.28 times the others, as if they were in feet. "
                f"If they are, name the column {which}_ft."
            )
        if strays:
            raise RefusedReadings(
                f"{strays[0][0]}: the {which} distance is about 3.28 times the other, as if it were in feet. "
                "If it is, write ft behind it: 10 ft."
            )


def _at_the_stop(readings: Readings, usual_dpt: float) -> tuple[str, ...]:
    from_m = practice("plausible", "infinity_from_m").value
    at_stop = [
        (place, true)
        for place, true, shown, beyond in zip(
            readings.places, readings.true_m, readings.shown_m, readings.beyond, strict=True
        )
        if math.isinf(shown) and not beyond
    ]
    for place, true in at_stop:
        if true < from_m:
            raise RefusedReadings(
                f"{place}: infinity shown at {true:g} m is a lens at its stop, not a coincidence. "
                "Turn the infinity screw until the images meet on the scale, then read again."
            )
    spread = [1 / true for _, true in at_stop]
    if spread and max(spread) - min(spread) > 5 * usual_dpt:
        raise RefusedReadings(
            f"{at_stop[0][0]} and others: infinity is shown at {len(at_stop)} distances that differ, so the "
            "lens stood at its stop. Turn the infinity screw until the images meet on the scale; then "
            "read again."
        )
    return tuple(
        f"{place}: infinity shown at {true:g} m is taken for a coincidence. If the lens stood at its stop "
        "before the images met, leave the reading out."
        for place, true in at_stop
        if 1 / true > usual_dpt
    )
