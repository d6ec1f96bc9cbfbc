"""
A physical light gate: a shutter, a lamp, a photodiode and a converter, so that the truth is known.

The demonstration workshop needs recordings, and an analysis needs recordings whose truth somebody knows. This
room computes them from mechanics, optics and electronics: blades that swing, curtains that run, light that
falls on a diode, a converter that samples. It shares no code with the instruments that later read its
recordings; an import contract holds that.

Everything is in SI units, every random draw comes from the generator that is handed in, and no clock is read:
the same seed gives the same samples, bit for bit.
"""

from pegwood.demo.simulator.blades import LeafShutter, clear_area, swing
from pegwood.demo.simulator.curtains import Curtain, FocalPlaneShutter, pupil_uncovered
from pegwood.demo.simulator.faults import (
    HEALTHY,
    Faults,
    fire_focal_plane,
    fire_leaf,
    held_by_hand,
    slow_train_factor,
)
from pegwood.demo.simulator.gate import (
    Converter,
    Lamp,
    LightGate,
    Photodiode,
    Recording,
    record,
    record_points,
)
from pegwood.demo.simulator.opening import Opening, Truth, truth_of
from pegwood.demo.simulator.writers import as_audio, as_csv

__all__ = [
    "HEALTHY",
    "Converter",
    "Curtain",
    "Faults",
    "FocalPlaneShutter",
    "Lamp",
    "LeafShutter",
    "LightGate",
    "Opening",
    "Photodiode",
    "Recording",
    "Truth",
    "as_audio",
    "as_csv",
    "clear_area",
    "fire_focal_plane",
    "fire_leaf",
    "held_by_hand",
    "pupil_uncovered",
    "record",
    "record_points",
    "slow_train_factor",
    "swing",
    "truth_of",
]
