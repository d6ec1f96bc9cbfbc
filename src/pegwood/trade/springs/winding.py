"""From a rate and the space for it to the wire and the turns: which springs can stand in for another."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from pegwood.trade.springs.coils import (
    DEAD_TURNS,
    EXTRA_WIRES,
    INDEX,
    Ends,
    Kind,
    bearable_pa,
    body,
    helical_rate,
    stress_pa,
    torsion_rate,
)
from pegwood.trade.springs.wires import SpringWire

#: Fewer free turns than the first work unevenly; more than the second need a guide or a bore, and their
#: height said; more than the third nobody winds by hand. 3 to 15 as Shigley's Mechanical Engineering Design.
LEAST_TURNS, MOST_UNGUIDED, MOST_TURNS = 3.0, 15.0, 60.0
QUARTER = 0.25

#: A space that is exactly as wide as the spring is wide enough, however the figures were rounded.
ROUNDING = 1e-9


@dataclass(frozen=True, kw_only=True)
class Space:
    """
    Where a spring must go, m.

    Attributes
    ----------
    over_m : float
        What it goes over: its inside must be at least as wide.
    within_m : float
        What it goes into: its outside must be at most as wide.
    height_m : float
        Longest coil: solid height of a compression spring, body of the others.

    Raises
    ------
    ValueError
        If there is no room at all.
    """

    over_m: float = 0.0
    within_m: float = math.inf
    height_m: float = math.inf

    def __post_init__(self) -> None:
        if not (0 <= self.over_m < self.within_m and self.height_m > 0):
            raise ValueError(
                f"there is no room between {self.over_m * 1000:g} and {self.within_m * 1000:g} mm. "
                "Give what the spring goes over, what it goes into and its greatest height, in mm."
            )


@dataclass(frozen=True, kw_only=True)
class Winding:
    """
    A spring that would do.

    Attributes
    ----------
    wire_m, mean_m, body_m : float
        Wire, mean diameter and shortest length, m.
    turns : float
        Free turns.
    rate : float
        N/m, or N m a turn.
    stress_per_load : float
        Pa per N, or per N m.
    bearable_pa : float, optional
        What the wire bears at rest; None where no source is known.
    """

    wire_m: float
    mean_m: float
    turns: float
    rate: float
    body_m: float
    stress_per_load: float
    bearable_pa: float | None

    @property
    def index(self) -> float:
        """Mean diameter over wire."""
        return self.mean_m / self.wire_m

    @property
    def greatest_load(self) -> float | None:
        """The load it bears at rest, N or N m; None where the wire's strength is not known."""
        return None if self.bearable_pa is None else self.bearable_pa / self.stress_per_load


def equal_turns(turns: float, wire_m: float, mean_m: float, new_wire_m: float, new_mean_m: float) -> float:
    """
    Free turns of a spring of the same metal and rate: n2 = n1 (d2/d1)^4 (D1/D2)^3.

    For compression and extension springs.
    """
    return turns * (new_wire_m / wire_m) ** 4 * (mean_m / new_mean_m) ** 3


def windings(
    rate: float,
    *,
    kind: Kind,
    wire: SpringWire,
    sizes: Sequence[float],
    space: Space,
    ends: Ends = "closed",
    near_mean_m: float | None = None,
) -> list[Winding]:
    """
    Springs of one metal that have a rate and fit a space; those that bear the greatest load first.

    Parameters
    ----------
    rate : float
        N/m, or N m a turn for torsion.
    sizes : sequence of float
        Wire that can be had, m.
    near_mean_m : float, optional
        Mean diameter to keep to as far as the space lets it; else the middle of what is possible.

    Raises
    ------
    ValueError
        If the rate is not above zero.

    Returns
    -------
    list of Winding
        At most one for each size of wire; in quarter turns, with the diameter set so that the rate is met,
        where the space lets it.
    """
    if not rate > 0 or not math.isfinite(rate):
        raise ValueError("the rate must be above 0.")
    modulus = wire.modulus("young" if kind == "torsion" else "shear")[0].value
    found = [
        one
        for size in sizes
        if (one := _wound(rate, kind, wire, modulus, size, space, ends, near_mean_m)) is not None
    ]
    return sorted(found, key=lambda one: -(one.greatest_load or 0) or one.stress_per_load)


def _wound(
    rate: float,
    kind: Kind,
    wire: SpringWire,
    modulus: float,
    size: float,
    space: Space,
    ends: Ends,
    near: float | None,
) -> Winding | None:
    formula, power = (torsion_rate, 1) if kind == "torsion" else (helical_rate, 3)

    def mean_for(turns: float) -> float:
        return float((formula(modulus, size, 1.0, turns) / rate) ** (1 / power))

    still = (DEAD_TURNS[ends] + EXTRA_WIRES[ends]) if kind == "compression" else 1.0
    most = min(MOST_TURNS, space.height_m / size - still) if space.height_m < math.inf else MOST_UNGUIDED
    if most < LEAST_TURNS:
        return None
    low = max(space.over_m + size, INDEX[0] * size, mean_for(most))
    high = min(space.within_m - size, INDEX[1] * size, mean_for(LEAST_TURNS))
    if low > high * (1 + ROUNDING):
        return None
    high = max(low, high)
    mean = min(max(near or (low + high) / 2, low), high)
    turns = formula(modulus, size, mean, 1.0) / rate
    for quarters in sorted(
        (math.floor(turns / QUARTER) * QUARTER, math.ceil(turns / QUARTER) * QUARTER),
        key=lambda one: abs(one - turns),
    ):
        if quarters > 0 and low <= mean_for(quarters) <= high:
            mean, turns = mean_for(quarters), quarters
            break
    return Winding(
        wire_m=size,
        mean_m=mean,
        turns=turns,
        rate=formula(modulus, size, mean, turns),
        body_m=body(kind, size, turns, ends),
        stress_per_load=stress_pa(kind, 1.0, size, mean),
        bearable_pa=bearable_pa(wire, kind, size),
    )
