"""The rate of a coil spring of round wire, its stress under load, and how far both can be trusted."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, get_args

from pegwood.trade.grounds import Ground
from pegwood.trade.measured import Measured, Outcome, propagated
from pegwood.trade.springs.wires import SpringWire

Kind = Literal["compression", "extension", "torsion"]
Across = Literal["outside", "mean", "inside"]
Ends = Literal["closed", "ground", "plain"]

#: Turns at both ends together that lie still, and how many wires more than turns stand in the solid height.
DEAD_TURNS: dict[Ends, float] = {"closed": 2, "ground": 2, "plain": 0}
EXTRA_WIRES: dict[Ends, float] = {"closed": 1, "ground": 0, "plain": 1}

#: Ratio of mean diameter to wire between which springs wind and work well.
INDEX = (4.0, 12.0)

HELICAL = Ground("rules of thumb for springs, k = G d^4 / (8 D^3 n), index 4 to 12, an example", "seen")
TORSION = Ground(
    "torsion spring worked examples, k = E d^4 / (10.8 D n) a turn, 10.8 for 10.2 by experience",
    "seen",
)
WAHL = Ground(
    "Mott, Machine Elements in Mechanical Design, 4th ed., 19-7: Wahl factor (4C-1)/(4C-4) + 0.615/C", "seen"
)
BENDING = Ground("a page quoting EN 13906-3, factor (4C^2-C-1)/(4C(C-1)) on 32 M/(pi d^3)", "seen")
ENDS = Ground("Shigley's Mechanical Engineering Design, table of ends: dead turns and solid height", "memory")
BODY = Ground("Mott, Machine Elements in Mechanical Design, 4th ed., 19-7: body length d (n + 1)", "seen")
GUM = Ground("JCGM 100:2008 (GUM), 5.1.2: sensitivities 4, 3 and 1 of wire, diameter and turns", "memory")


@dataclass(frozen=True, kw_only=True)
class Coil:
    """
    A coil as it was measured.

    Attributes
    ----------
    wire, diameter : Measured
        Of the wire and across the coil, m.
    turns : Measured
        Turns that are free to move.
    across : str
        Where the coil was measured: ``"outside"``, ``"mean"`` or ``"inside"``.

    Raises
    ------
    ValueError
        If a figure is not above zero or the coil is no wider than its wire.
    """

    wire: Measured
    diameter: Measured
    turns: Measured
    across: Across = "outside"

    def __post_init__(self) -> None:
        for said, one in (("wire", self.wire), ("coil", self.diameter), ("number of turns", self.turns)):
            if one.value <= 0:
                raise ValueError(f"the {said} must be above 0.")
        if self.across not in get_args(Across):
            raise ValueError(f"{self.across!r}: a coil is measured {', '.join(get_args(Across))}.")
        if self.mean_m <= self.wire.value:
            raise ValueError(
                f"a coil of {self.diameter.value * 1000:g} mm {self.across} cannot be wound from "
                f"{self.wire.value * 1000:g} mm wire. Give mm, the wire first."
            )

    @property
    def mean_m(self) -> float:
        """Mean diameter, m."""
        return mean_of(self.wire.value, self.diameter.value, self.across)

    @property
    def index(self) -> float:
        """Mean diameter over wire."""
        return self.mean_m / self.wire.value


def mean_of(wire_m: float, diameter_m: float, across: Across) -> float:
    """The mean diameter of a coil measured over the outside, on the mean or inside, m."""
    return diameter_m + {"outside": -wire_m, "mean": 0.0, "inside": wire_m}[across]


def helical_rate(shear_pa: float, wire_m: float, mean_m: float, turns: float) -> float:
    """
    Rate of a compression or extension spring, N/m.

    k = G d^4 / (8 D^3 n).
    """
    return shear_pa * wire_m**4 / (8 * mean_m**3 * turns)


def torsion_rate(young_pa: float, wire_m: float, mean_m: float, turns: float) -> float:
    """
    Rate of a torsion spring, N m a turn.

    k = E d^4 / (10.8 D n); 10.8 instead of the theory's 64/(2 pi) = 10.19 allows for friction between turns.
    """
    return young_pa * wire_m**4 / (10.8 * mean_m * turns)


def wahl(index: float) -> float:
    """What curvature and direct shear add to the stress of a wire in torsion."""
    return (4 * index - 1) / (4 * index - 4) + 0.615 / index


def inner_bending(index: float) -> float:
    """What curvature adds to the bending stress on the inside of a torsion spring."""
    return (4 * index**2 - index - 1) / (4 * index * (index - 1))


def stress_pa(kind: Kind, load: float, wire_m: float, mean_m: float) -> float:
    """
    Greatest stress in the wire, Pa: shear in compression and extension, bending in torsion springs.

    Parameters
    ----------
    load : float
        N, or N m for torsion.
    """
    index = mean_m / wire_m
    if kind == "torsion":
        return inner_bending(index) * 32 * load / (math.pi * wire_m**3)
    return wahl(index) * 8 * load * mean_m / (math.pi * wire_m**3)


def rate(coil: Coil, kind: Kind, modulus: Measured) -> Outcome:
    """
    A coil's rate with its uncertainty: N/m, or N m a turn for torsion.

    Parts of the uncertainty: ``wire``, ``diameter``, ``turns`` and ``modulus``. Measured over the outside,
    the wire counts twice: in itself and in the mean diameter.
    """
    formula = torsion_rate if kind == "torsion" else helical_rate

    def of(modulus: float, wire: float, diameter: float, turns: float) -> float:
        return formula(modulus, wire, mean_of(wire, diameter, coil.across), turns)

    return propagated(of, modulus=modulus, wire=coil.wire, diameter=coil.diameter, turns=coil.turns)


def stress(coil: Coil, kind: Kind, load: float) -> Outcome:
    """The stress of `stress_pa` with what wire and diameter leave uncertain, Pa."""

    def of(wire: float, diameter: float) -> float:
        return stress_pa(kind, load, wire, mean_of(wire, diameter, coil.across))

    return propagated(of, wire=coil.wire, diameter=coil.diameter)


def body(kind: Kind, wire_m: float, turns: float, ends: Ends) -> float:
    """
    Shortest length of the coil, m: solid height of a compression spring, body of the others.

    Parameters
    ----------
    turns : float
        Free turns.
    ends : str
        Of a compression spring; the others have none that count.
    """
    if kind == "compression":
        return wire_m * (turns + DEAD_TURNS[ends] + EXTRA_WIRES[ends])
    return wire_m * (turns + 1)


def measured_body(coil: Coil, kind: Kind, ends: Ends) -> Outcome:
    """The shortest length of `body` with what wire and turns leave uncertain, m."""

    def of(wire: float, turns: float) -> float:
        return body(kind, wire, turns, ends)

    return propagated(of, wire=coil.wire, turns=coil.turns)


def pressed_solid(coil: Coil, ends: Ends, modulus: Measured, free: Measured) -> tuple[Outcome, Outcome]:
    """
    Force, N, and shear stress, Pa, of a compression spring of a free length, m, pressed solid.

    Wire, diameter and turns go into rate, solid height and stress alike; so each is reckoned as one formula.
    """

    def force(modulus: float, wire: float, diameter: float, turns: float, free: float) -> float:
        mean = mean_of(wire, diameter, coil.across)
        return helical_rate(modulus, wire, mean, turns) * (free - body("compression", wire, turns, ends))

    def strain(modulus: float, wire: float, diameter: float, turns: float, free: float) -> float:
        mean = mean_of(wire, diameter, coil.across)
        return stress_pa("compression", force(modulus, wire, diameter, turns, free), wire, mean)

    given = {
        "modulus": modulus,
        "wire": coil.wire,
        "diameter": coil.diameter,
        "turns": coil.turns,
        "free": free,
    }
    return propagated(force, **given), propagated(strain, **given)


def legs_as_turns(legs_m: float, mean_m: float) -> float:
    """
    What the straight legs of a torsion spring bend, as turns of its coil: (l1 + l2) / (3 pi D).

    Two cantilevers loaded at their ends.
    """
    return legs_m / (3 * math.pi * mean_m)


def bearable_pa(wire: SpringWire, kind: Kind, wire_m: float) -> float | None:
    """The stress a wire bears at rest without taking a set, Pa; None where no source is known."""
    strength = wire.strength_pa(wire_m)
    if strength is None or wire.bearable is None:
        return None
    return strength * (wire.bearable.bending if kind == "torsion" else wire.bearable.shear)
