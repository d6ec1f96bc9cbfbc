"""
What goes wrong in a shutter, as physics rather than as a table of wrong times.

The laws are chosen for their direction and rough size (mark: practice), not fitted to any make: a gummed slow
train lengthens the slow end most, and most of all on the first firing after a rest; a tired spring drives
blades, train and curtains with less force, so that a stroke takes 1/sqrt(force) as long and an escapement
without a period of its own beats as sqrt(force); oil on the blades drags; a worn mechanism scatters.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from pegwood.demo.simulator.blades import LeafFiring, LeafShutter, slowed_by_drag
from pegwood.demo.simulator.curtains import Curtain, CurtainFiring, FocalPlaneShutter


@dataclass(frozen=True, kw_only=True)
class Faults:
    """
    The state of one shutter.

    Attributes
    ----------
    gum : float
        Gumming of the slow train, [1]: the dwell grows as exp(gum x share of the train), up to `exp(gum)` at
        the slowest speeds.
    first_drag : float
        Extra length of the first firing after a rest, as a share, [1]; it dies away over about two firings.
    tired_spring : float
        Share of the spring's force that is lost, [1], below 1.
    scatter : float
        Standard deviation of the natural logarithm of the time from firing to firing, [1].
    oil : float
        Drag on the blades, see `swing`, [1].
    rebound : float
        Restitution at the closed stop, [1].
    second_curtain : float
        Speed of the second curtain over what it should be, [1].
    """

    gum: float = 0.0
    first_drag: float = 0.0
    tired_spring: float = 0.0
    scatter: float = 0.004
    oil: float = 0.0
    rebound: float = 0.2
    second_curtain: float = 1.0

    def __post_init__(self) -> None:
        if not 0 <= self.tired_spring < 1:
            raise ValueError(f"Tired spring {self.tired_spring}: from 0 to below 1, the share of force lost.")
        if self.scatter < 0 or self.first_drag < 0 or self.oil < 0 or self.second_curtain <= 0:
            raise ValueError(f"A fault cannot be negative: {self}.")

    @property
    def slowness(self) -> float:
        """What the tired spring makes of any driven duration, [1]."""
        return 1 / math.sqrt(1 - self.tired_spring)


HEALTHY = Faults()


def slow_train_factor(train_s: float, gum: float, first_drag: float, firing: int) -> float:
    """
    How many times as long the gear train takes as when clean.

    Parameters
    ----------
    train_s : float
        What the clean train adds to the open time, [s]; the fast speeds bypass most of it.
    gum, first_drag : float
        See `Faults`, [1].
    firing : int
        0 for the first firing after a rest.

    Returns
    -------
    factor : float
        [1]; share of the train = train_s / (train_s + 30 ms), a choice (mark: practice).
    """
    share = train_s / (train_s + 0.030) if train_s > 0 else 0.0
    return math.exp(gum * share) * (1 + first_drag * share * math.exp(-firing / 0.9))


def fire_leaf(
    shutter: LeafShutter, faults: Faults, intended_s: float, firing: int, rng: np.random.Generator
) -> LeafFiring:
    """
    Fire a leaf shutter in the state it is in.

    Parameters
    ----------
    shutter : LeafShutter
        As it left its maker.
    faults : Faults
        What has become of it.
    intended_s : float
        The effective time the healthy shutter gives at this setting, [s].
    firing : int
        0 for the first firing after a rest.
    rng : numpy.random.Generator
        Draws the scatter.
    """
    shortest = shutter.opening_stroke_s
    train_s = shutter.dwell_for(intended_s) - shortest
    slow = faults.slowness
    # oil is never spread the same way twice
    drag = shutter.drag + faults.oil * math.exp(0.4 * rng.standard_normal())
    stroke = slow * slowed_by_drag(drag) / slowed_by_drag(shutter.drag)
    worn = replace(
        shutter,
        opening_stroke_s=shutter.opening_stroke_s * stroke,
        closing_stroke_s=shutter.closing_stroke_s * stroke,
        drag=drag,
        restitution=faults.rebound,
    )
    train_s *= slow * slow_train_factor(train_s, faults.gum, faults.first_drag, firing)
    scatter = math.exp(faults.scatter * rng.standard_normal())
    return worn.fire(worn.opening_stroke_s + (train_s + shortest) * scatter - shortest)


def fire_focal_plane(
    shutter: FocalPlaneShutter, faults: Faults, intended_s: float, firing: int, rng: np.random.Generator
) -> CurtainFiring:
    """
    Fire a focal-plane shutter in the state it is in; parameters as for `fire_leaf`.

    The delay between the curtains was set on the healthy shutter; slower curtains keep that delay, so an even
    loss of tension changes little and an uneven one much.
    """
    delay = shutter.delay_for(intended_s)
    train_s = max(delay - shutter.first.arrives(shutter.gate_m), 0.0)
    delay += train_s * (
        slow_train_factor(train_s, faults.gum, faults.first_drag, firing) * faults.slowness - 1
    )

    def tired(curtain: Curtain, part: float) -> Curtain:
        speed = part / faults.slowness
        return Curtain(
            speed_m_s=curtain.speed_m_s * speed, acceleration_m_s2=curtain.acceleration_m_s2 * speed**2
        )

    worn = replace(
        shutter, first=tired(shutter.first, 1.0), second=tired(shutter.second, faults.second_curtain)
    )
    return worn.fire(delay * math.exp(faults.scatter * rng.standard_normal()))


def held_by_hand(wanted_s: float, rng: np.random.Generator) -> float:
    """
    How long a hand holds B, or leaves T open, that was asked to count to `wanted_s`, [s] (mark: practice).
    """
    return wanted_s * math.exp(0.08 * rng.standard_normal())
