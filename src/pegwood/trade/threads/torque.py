"""
How tight a small screw may be: T = K F d.

F is the pull that a tension of 210 N/mm2 over the stress area makes, the rule behind the standard tightening
torque chart after JIS B 1082; the chart's torque is that with K near 0.2, dry and clean.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping
from dataclasses import dataclass

from pegwood.trade.grounds import Ground, Grounds, joined
from pegwood.trade.materials import MATERIALS, Material
from pegwood.trade.names import find
from pegwood.trade.reference import Reference, Row, Table
from pegwood.trade.threads.rows import Thread, find_thread

#: Tension in the stress area, [Pa].
TENSION_PA = 210e6
#: Torque over pull times diameter, [1]: dry and clean; oiled or waxed; dry and rough.
K, K_LOW, K_HIGH = 0.20, 0.12, 0.25
#: The chart's smallest screw, [m].
SMALLEST_M = 1.0e-3

CHART = Ground("standard tightening torque chart after JIS B 1082: 210 N/mm2 over the stress area", "seen")
AREA = Ground("JIS B 1082 / ISO 898-1: stress area pi/4 ((d2 + d3)/2)^2", "seen")
FACTOR = Ground("common bench practice: K is 0.2 dry and clean, 0.12 oiled, 0.25 dry and rough", "practice")


@dataclass(frozen=True, kw_only=True)
class Hole(Row):
    """
    What of the chart's torque a thread cut in a material bears.

    Attributes
    ----------
    key : str
        The material's key.
    share : float
        How much of it, [1].
    plastic : bool
        Whether it creeps and strips without warning.
    """

    key: str
    share: float
    plastic: bool = False

    def __post_init__(self) -> None:
        super().__post_init__()
        if not 0 < self.share <= 1:
            raise ValueError(f"the share is {self.share:g}. Expected one above 0, up to 1.")

    @property
    def keys(self) -> tuple[Hashable, ...]:
        return (self.key,)


HOLES = Table("torque", Hole)


@dataclass(frozen=True, kw_only=True)
class Torque:
    """
    How tight a screw may be.

    Attributes
    ----------
    thread : Thread
        The screw's.
    material : Material
        What the hole is cut in.
    hole : Hole
        What that bears.
    stress_area_m2 : float
        Stress area, [m2].
    torque_nm : float
        Dry and clean, [N m].
    oiled_nm, rough_nm : float
        What pulls as hard oiled, and dry and rough, [N m].
    pull_n : float
        The pull that makes, [N].
    """

    thread: Thread
    material: Material
    hole: Hole
    stress_area_m2: float
    torque_nm: float
    oiled_nm: float
    rough_nm: float
    pull_n: float

    @property
    def grounds(self) -> Grounds:
        """What it rests on."""
        return joined(self.thread.grounds, self.thread.form.grounds, self.hole.grounds, (CHART, AREA, FACTOR))

    @property
    def below_chart(self) -> bool:
        """Whether the screw is smaller than the chart's smallest."""
        return self.thread.diameter_m < SMALLEST_M


def stress_area(thread: Thread) -> float:
    """
    The stress area of a screw, [m2]: a circle of the mean of effective and minor diameter.

    For ISO metric threads pi/4 (d - 0.9382 p)^2; for others by the depth of their form.
    """
    below = (thread.form.d2 + thread.form.d3) / 2
    return math.pi / 4 * (thread.diameter_m - below * thread.pitch_m) ** 2


def tightening_torque(reference: Reference, thread: str, hole: str = "steel") -> Torque:
    """
    How tight a screw may be in a hole of some material.

    Parameters
    ----------
    reference : Reference
        The tables.
    thread : str
        The thread, such as "M2x0.4" or "8BA".
    hole : str
        What the hole is cut in.

    Raises
    ------
    UnknownWord
        If no table holds the thread or the material.
    ValueError
        If the tables say nothing of threads in that material.
    """
    screw = find_thread(reference, thread)
    material = find(reference.rows(MATERIALS), hole, "material")
    holes: Mapping[Hashable, Hole] = reference.rows(HOLES)
    if material.key not in holes:
        known = ", ".join(str(key) for key in holes)
        raise ValueError(f"The tables know no torque for threads in {material.name}. They do for: {known}.")
    bears = holes[material.key]
    area = stress_area(screw)
    pull = TENSION_PA * area * bears.share
    return Torque(
        thread=screw,
        material=material,
        hole=bears,
        stress_area_m2=area,
        torque_nm=K * pull * screw.diameter_m,
        oiled_nm=K_LOW * pull * screw.diameter_m,
        rough_nm=K_HIGH * pull * screw.diameter_m,
        pull_n=pull,
    )
