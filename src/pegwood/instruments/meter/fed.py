"""A CdS meter that is fed with another cell than it was made for: what of its error that is, in words."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pegwood.instruments.meter.series_meter import SeriesMeter
from pegwood.instruments.meter.supply import FixedSupply, Supply, supply_of, systems, usual_gamma
from pegwood.instruments.readings import RefusedReadings

__all__ = ["Fed", "fed_told"]

USUAL_A = 50e-6
"""Current where nobody told it, [A]: without a resistance in series the error does not depend on it."""
SAME_V = 1e-9


@dataclass(frozen=True)
class Fed:
    """
    What the cell in the battery chamber does to the readings.

    Parameters
    ----------
    was, fed_with : str
        System it was made for, and is fed with.
    supply : Supply
        What that does, and what can be done.
    current_told : bool
        Whether the meter's own current is known: without it no resistor and no diode can be reckoned.
    """

    was: str
    fed_with: str
    supply: Supply
    current_told: bool

    @property
    def fixes(self) -> tuple[FixedSupply, ...]:
        """What may be told of, nothing first."""
        known = ("nothing", "film-speed dial")
        return tuple(one for one in self.supply.fixes if self.current_told or one.fix in known)

    def effect(self) -> str:
        """What the cell does to the readings, in a line: it is in them, and not taken off."""
        was, is_now = (f"{name} ({volts:g} V)" for name, volts in self._cells())
        if self.supply.circuit == "bridge":
            return f"Fed with {is_now}, made for {was}: {self.supply.notes[0]}"
        middle = dict(self.supply.fixes[0].errors)[0.0]
        if abs(self._over) < SAME_V:
            return f"Fed with {is_now}: the voltage it was made for."
        shows = "then goes beyond its scale"
        if middle is not None:
            low, high = middle.coverage_interval()
            shows = f"then shows {middle.value:+.2f} ± {(high - low) / 2:.2f} EV in the middle"
        return (
            f"Fed with {is_now}, made for {was}: a simple series meter {shows}, by reckoning. That is in the "
            "readings and not taken off."
        )

    def remedies(self) -> tuple[str, ...]:
        """What puts it right, and how right, a line each."""
        if self.supply.circuit == "bridge" or abs(self._over) < SAME_V:
            return ()
        width = 2 * self.supply.meter.half_range
        told = ("film-speed dial", "resistor", "diode")
        lines = [
            f"{_named(one)}: at most {one.worst:.2f} EV off over {width:g} EV, by the supply alone."
            for one in self.fixes
            if one.fix in told and one.worst is not None
        ]
        if self._over > 0 and not self.current_told:
            return (
                *lines,
                "Resistor or diode: they need the current the meter draws in the middle of its scale.",
            )
        return (*lines, *self.supply.warnings)

    @property
    def _over(self) -> float:
        return self.supply.volts - self.supply.meter.volts

    def _cells(self) -> tuple[tuple[str, float], tuple[str, float]]:
        return (self.was, self.supply.meter.volts), (self.fed_with, self.supply.volts)

    def to_json(self) -> dict[str, Any]:
        """As `measure.meter` describes it under `fed`."""
        from pegwood.instruments.plain_data import figure, plain

        middle = dict(self.supply.fixes[0].errors)[0.0]
        return {
            "was": self.was,
            "was_v": self.supply.meter.volts,
            "is": self.fed_with,
            "is_v": self.supply.volts,
            "circuit": self.supply.circuit,
            **figure("error", "ev", middle),
            "fixes": [
                {
                    "fix": one.fix,
                    "resistor_ohm": plain(one.resistor_ohm),
                    "drop_v": plain(one.drop_v),
                    "shift_ev": plain(one.shift_ev),
                    "worst_ev": plain(one.worst),
                }
                for one in self.fixes
            ],
            "says": [self.effect(), *self.remedies()],
        }


def fed_told(told: Mapping[str, Any]) -> Fed | None:
    """
    What the cell does that was told.

    Parameters
    ----------
    told : mapping
        `cell_in_it`, a system of `systems`; nothing is said without it. Then `made_for` ("mercury"),
        `circuit` ("series" or "bridge"), `current_ua`, what the meter draws in the middle of its scale.

    Returns
    -------
    fed : Fed or None
        None where no cell was told, and of a selenium meter, which has none.

    Raises
    ------
    RefusedReadings
        If a system is not known or the current cannot be.
    """
    now = told.get("cell_in_it")
    if not now or told.get("cell") == "selenium":
        return None
    was = told.get("made_for") or "mercury"
    known = systems()
    for name in (was, now):
        if name not in known:
            raise RefusedReadings(f"No cell {str(name)[:30]!r} is known. There are: {', '.join(known)}.")
    current = told.get("current_ua")
    amperes = USUAL_A if current is None else float(current) * 1e-6
    meter = SeriesMeter(known[was], amperes, usual_gamma())
    supply = supply_of(meter, known[now], told.get("circuit") or "series")
    return Fed(was, now, supply, current is not None)


def _named(one: FixedSupply) -> str:
    if one.resistor_ohm is not None:
        digits = max(0, 2 - math.floor(math.log10(one.resistor_ohm)))
        return f"A resistor of {one.resistor_ohm:.{digits}f} ohm in series"
    if one.shift_ev is not None:
        return f"The film-speed dial moved by {one.shift_ev:+.2f} EV"
    return f"A diode that drops {one.drop_v or 0:.2f} V at the middle's current"
