"""
A charged capacitor: its energy, how it is let down through a resistor, and which resistor stands that.

E = C U²/2; U(t) = U0 exp(-t / RC); the starting power is U0²/R; all of E ends in the resistor as heat. A
resistor whose rating is above the starting power needs no pulse figure from its data sheet.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

#: IEC 60063, series E12, two significant digits.
E12 = (1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2)

#: Power ratings that wire-wound resistors are sold in, [W].
RATINGS_W = (2.0, 3.0, 5.0, 10.0, 17.0, 25.0, 50.0, 100.0)

#: With no resistor named, the one chosen is for this rating, which is easy to find and to hold, [W].
USUAL_RATING_W = 10.0

#: Largest values taken for real, to catch a slip of the unit: a farad, and a mains-powered studio flash.
MOST_F, MOST_V = 10.0, 2000.0


@dataclass(frozen=True)
class Discharge:
    """
    A capacitor let down through a resistor.

    Attributes
    ----------
    capacitance_f, voltage_v, resistance_ohm, safe_v : float
        What it was reckoned from, [F], [V], [ohm], [V].
    energy_j : float
        Held at the start, and what the resistor must take up as heat, [J].
    time_constant_s : float
        RC, [s].
    time_to_safe_s : float
        Until the safe voltage is reached; 0 if it is below that, [s].
    starting_power_w : float
        In the resistor at the first moment, [W].
    """

    capacitance_f: float
    voltage_v: float
    resistance_ohm: float
    safe_v: float
    energy_j: float
    time_constant_s: float
    time_to_safe_s: float
    starting_power_w: float

    def left_v(self, after_s: float) -> float:
        """Voltage left after a time [s], [V]."""
        return self.voltage_v * math.exp(-after_s / self.time_constant_s)

    @property
    def rating_w(self) -> float | None:
        """The smallest usual rating above the starting power, or None if none is that large, [W]."""
        return next((rating for rating in RATINGS_W if rating >= self.starting_power_w), None)


def discharge(capacitance_f: float, voltage_v: float, resistance_ohm: float, safe_v: float) -> Discharge:
    """
    Let a capacitor down through a resistor.

    Parameters
    ----------
    capacitance_f : float
        [F]
    voltage_v : float
        At the start, [V].
    resistance_ohm : float
        [ohm]
    safe_v : float
        The voltage taken for safe, [V].

    Raises
    ------
    ValueError
        If a figure is not above zero, or too large to be meant.
    """
    check(capacitance_f, "the capacitance", "F", MOST_F, "1000 uF")
    check(voltage_v, "the voltage", "V", MOST_V, "330 V")
    check(resistance_ohm, "the resistance", "ohm", 1e9, "10 kohm")
    check(safe_v, "the safe voltage", "V", 60.0, "5 V")
    constant = resistance_ohm * capacitance_f
    return Discharge(
        capacitance_f=capacitance_f,
        voltage_v=voltage_v,
        resistance_ohm=resistance_ohm,
        safe_v=safe_v,
        energy_j=capacitance_f * voltage_v**2 / 2,
        time_constant_s=constant,
        time_to_safe_s=max(0.0, constant * math.log(voltage_v / safe_v)),
        starting_power_w=voltage_v**2 / resistance_ohm,
    )


def check(value: float, what: str, unit: str, most: float, such_as: str) -> None:
    """
    Refuse a figure that cannot be.

    Raises
    ------
    ValueError
        If it is not above zero, or above what is taken for real.
    """
    if not (math.isfinite(value) and 0 < value <= most):
        raise ValueError(
            f"{what} is {value:g} {unit}. Expected above zero and up to {most:g} {unit}, such as {such_as}."
        )


def resistor_for(voltage_v: float, rating_w: float = USUAL_RATING_W) -> float:
    """
    The smallest E12 resistor whose rating is not passed even at the first moment, [ohm].

    Raises
    ------
    ValueError
        If voltage or rating is not above zero.
    """
    check(voltage_v, "the voltage", "V", MOST_V, "330 V")
    check(rating_w, "the rating", "W", 1000.0, "10 W")
    return next_e12(voltage_v**2 / rating_w)


def next_e12(at_least: float) -> float:
    """The smallest value of the series E12 that is not below a resistance above zero, [ohm]."""
    decade = 10.0 ** math.floor(math.log10(at_least))
    for factor in (1.0, 10.0):
        for step in E12:
            value = float(f"{step * factor * decade:.3g}")
            if value >= at_least * (1 - 1e-12):
                return value
    raise AssertionError("a decade of E12 spans a factor of ten")  # pragma: no cover
