"""
A meter on a cell of another voltage than it was made for, and what puts it right.

A simple series meter is a supply V, a fixed resistance Rs (movement and resistors) and a CdS cell whose
resistance goes as ``R = R_m 2**(-gamma x)``, x in EV from the middle of the scale. The scale was drawn for
one voltage: with another the needle stands where the old current would have been at another light. With
Rs = 0 the error is ``log2(V'/V) / gamma`` at every light. A bridge read at its null does not depend on the
voltage at all. (Elementary circuit theory; gamma from memory.)
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any

from pegwood.instruments.given import table_beside
from pegwood.instruments.meter.series_meter import SeriesMeter, diode_drop
from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.uncertainty import Component, Measured, combine

__all__ = ["CIRCUITS", "FixedSupply", "Supply", "supply_of", "systems", "usual_gamma"]

CIRCUITS = ("series", "bridge")
"""A needle that shows the current, or one that is brought to a null."""
LEVELS = 9
REFERENCE_A = 1e-4


@dataclass(frozen=True)
class FixedSupply:
    """
    One way of running the meter on the new cell.

    Parameters
    ----------
    fix : str
        "nothing", "film-speed dial" (shifted so that the largest error is smallest), "resistor", "diode" (one
        that drops the difference in the middle) or the kind of a diode.
    errors : tuple of (float, Measured or None)
        Light from the middle of the scale, [EV], and shown less true there, [EV]; None where the needle would
        stand beyond the scale.
    resistor_ohm : float or None
        [ohm].
    drop_v : float or None
        Drop of the diode in the middle of the scale, [V].
    shift_ev : float or None
        Shift of the film-speed dial, [EV]: above zero is a higher speed.
    """

    fix: str
    errors: tuple[tuple[float, Measured | None], ...]
    resistor_ohm: float | None = None
    drop_v: float | None = None
    shift_ev: float | None = None

    @property
    def worst(self) -> float | None:
        """Largest error over the scale, without sign, [EV]; None where the needle goes beyond it."""
        found = [one.value for _, one in self.errors if one is not None]
        return None if len(found) < len(self.errors) else max(map(abs, found))


@dataclass(frozen=True)
class Supply:
    """
    What another cell does to a meter, and what can be done.

    Parameters
    ----------
    circuit : str
        One of `CIRCUITS`.
    meter : SeriesMeter
        As it was made.
    volts : float
        Of the new cell, [V].
    fixes : tuple of FixedSupply
        Nothing first.
    best : str
        The fix whose largest error is smallest.
    warnings, notes : tuple of str
        What to heed; how it was reckoned.
    """

    circuit: str
    meter: SeriesMeter
    volts: float
    fixes: tuple[FixedSupply, ...]
    best: str
    warnings: tuple[str, ...]
    notes: tuple[str, ...]

    def to_json(self) -> dict[str, Any]:
        """The result as plain data, as `measure.meter-supply` describes it."""
        from pegwood.instruments.meter.telling import cautions_for
        from pegwood.instruments.plain_data import budget_of, figure, plain

        def point(x: float, error: Measured | None) -> dict[str, Any]:
            return {
                "from_middle_ev": x,
                "current_a": self.meter.drawn(x, self.meter.volts),
                **figure("error", "ev", error),
            }

        middle = dict(self.fixes[0].errors)[0.0]
        return {
            "circuit": self.circuit,
            "was_v": self.meter.volts,
            "is_v": self.volts,
            "current_a": self.meter.current,
            "gamma": self.meter.gamma,
            "series_ohm": self.meter.series_ohm,
            **figure("error", "ev", middle),
            "error_budget": [] if middle is None else budget_of(middle.budget),
            "fixes": [
                {
                    "fix": one.fix,
                    "resistor_ohm": plain(one.resistor_ohm),
                    "drop_v": plain(one.drop_v),
                    "shift_ev": plain(one.shift_ev),
                    "worst_ev": plain(one.worst),
                    "errors": [point(x, error) for x, error in one.errors],
                }
                for one in self.fixes
            ],
            "best": self.best,
            "cautions": list(cautions_for("cds")),
            "warnings": list(self.warnings),
            "notes": list(self.notes),
        }


def systems() -> dict[str, float]:
    """Nominal voltages by system, [V]."""
    return {name: float(row["volts"]) for name, row in _table()["system"].items()}


def usual_gamma() -> float:
    """Of a CdS cell, [-]."""
    return float(_table()["gamma"]["usual"])


def supply_of(meter: SeriesMeter, volts: float, circuit: str = "series") -> Supply:
    """
    What another cell does to a meter, and what can be done.

    Parameters
    ----------
    meter : SeriesMeter
        As it was made.
    volts : float
        Of the new cell, [V].
    circuit : str
        One of `CIRCUITS`.

    Returns
    -------
    supply : Supply

    Raises
    ------
    RefusedReadings
        If the circuit or the voltage cannot be.
    """
    if circuit not in CIRCUITS:
        raise RefusedReadings(f"A circuit is series or bridge, not {circuit!r}.")
    if not 0.5 <= volts <= 12:
        raise RefusedReadings(f"{volts:g} V is no cell of a camera's meter. Give one such as 1.55.")
    if circuit == "bridge":
        exact = tuple((x, Measured(0.0, 0.0)) for x in _levels(meter))
        notes = (
            "A bridge at its null does not depend on the voltage; what changes is how far the needle "
            "moves for a "
            "given light, not where it stands still. If it is read away from the null, take it as a "
            "series meter.",
        )
        return Supply(circuit, meter, volts, (FixedSupply("nothing", exact),), "nothing", (), notes)
    over = volts - meter.volts
    fixes = [_fixed("nothing", meter, volts, lambda _: None)]
    if abs(over) > 1e-9 and fixes[0].worst is not None:
        fixes.append(_dialled(fixes[0]))
    if over > 1e-9:
        resistor = over / meter.current
        fixes += [
            _fixed(
                "resistor", meter, volts, lambda m: lambda i: i * (over / m.current), resistor_ohm=resistor
            ),
            _fixed("diode", meter, volts, lambda m: diode_drop(over, m.current, 1.05), drop_v=over),
        ]
        for kind, row in _table()["diode"].items():
            drop = diode_drop(row["volts"], REFERENCE_A, row["ideality"])
            fixes.append(_fixed(kind, meter, volts, _always(drop), drop_v=drop(meter.current)))
    ranked = sorted((one.worst, one.fix) for one in fixes if one.worst is not None)
    return Supply(
        circuit, meter, volts, tuple(fixes), ranked[0][1] if ranked else "nothing", *_told(meter, over)
    )


def _always(drop: Callable[[float], float]) -> Callable[[SeriesMeter], Callable[[float], float]]:
    """The same drop whatever the meter."""
    return lambda _: drop


def _dialled(plain: FixedSupply) -> FixedSupply:
    """The film-speed dial shifted by the midrange of the error."""
    values = [one.value for _, one in plain.errors if one is not None]
    shift = -(max(values) + min(values)) / 2
    moved = tuple(
        (x, None if one is None else Measured(one.value + shift, one.u, one.df, one.budget))
        for x, one in plain.errors
    )
    return FixedSupply("film-speed dial", moved, shift_ev=shift)


def _told(meter: SeriesMeter, over: float) -> tuple[tuple[str, ...], tuple[str, ...]]:
    warnings = []
    if over > 1e-9:
        warnings.append(
            "A diode's drop varies with the current, by about 60 mV for a factor of ten, and by about 2 "
            "mV for each "
            "degree: no diode is exact over the scale. Choose it by its drop at the meter's own current."
        )
    if over < -1e-9:
        warnings.append("The new cell gives less than the scale was drawn for: nothing in series can "
                        "raise it; the "
                        "film-speed dial can take it up.")  # fmt: skip
    if meter.current > 1e-3:
        warnings.append(
            "More than 1 mA is much for a CdS meter (10 to 200 uA are usual): was it measured in series?"
        )
    notes = (
        "'diode' is one that drops just the difference in the middle of the scale, ideality 1.05; the "
        "others are "
        "typical of their kind (memory).",
        "Too much voltage shows too much light: pictures come out too dark.",
    )
    return tuple(warnings), notes


def _levels(meter: SeriesMeter) -> tuple[float, ...]:
    half = LEVELS // 2
    return tuple(meter.half_range * i / half for i in range(-half, half + 1))


def _fixed(
    fix: str,
    meter: SeriesMeter,
    volts: float,
    drop_of: Callable[[SeriesMeter], Callable[[float], float] | None],
    **more: float,
) -> FixedSupply:
    """The error over the scale with something in series, gamma and voltage uncertain."""
    table = _table()
    gamma, cell = table["gamma"], table["volts"]
    gamma_u = (gamma["high"] - gamma["low"]) / math.sqrt(12)
    drop = drop_of(meter)

    def error(x: float, gamma: float, supply: float) -> float | None:
        made = SeriesMeter(meter.volts, meter.current, gamma, meter.series_ohm, meter.half_range)
        shown = made.shown(made.drawn(x, supply, drop))
        return None if shown is None else shown - x

    def measured(x: float) -> Measured | None:
        own = error(x, meter.gamma, volts)
        around = [
            (error(x, meter.gamma - gamma_u, volts), error(x, meter.gamma + gamma_u, volts)),
            (error(x, meter.gamma, volts - cell["u"]), error(x, meter.gamma, volts + cell["u"])),
        ]
        if own is None:
            return None
        # where one side lies beyond the scale, the other side alone
        us = [
            abs(low - high) / 2
            if low is not None and high is not None
            else abs((low if high is None else high or own) or own)
            for low, high in around
        ]
        return combine(
            own,
            [
                Component(
                    "gamma",
                    us[0],
                    note="0.6 to 0.9 from cell to cell",
                    source=gamma["source"],
                    mark=gamma["mark"],
                ),
                Component("voltage", us[1], note=cell["note"], source=cell["source"], mark=cell["mark"]),
            ],
        )

    return FixedSupply(fix, tuple((x, measured(x)) for x in _levels(meter)), **more)


@cache
def _table() -> dict[str, Any]:
    return table_beside(__package__, "supply.toml")
