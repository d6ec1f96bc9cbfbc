"""What the workshop's light gate recorded: a shutter of the demo's world, fired in the state it is in."""

from __future__ import annotations

import math
from dataclasses import asdict
from fractions import Fraction
from zlib import crc32

import numpy as np

from pegwood.demo import simulator as sim
from pegwood.demo.world import FaultsEntry, MechanismEntry

#: Regulated by hand, no speed is quite its marking: standard deviation, [EV] (practice).
REGULATION_EV = 0.05
#: Marked with these the hand decides how long it is open.
BY_HAND = ("B", "T")
#: A marking this close to a power of two is a rounded one, [EV]: 1/125 stands for 1/128 s (practice).
ROUNDED_EV = 0.1
#: How long the hand is asked to hold B or T, [s].
HELD_S = 1.5
LAMP = sim.Lamp()  # on a battery
DIODE = sim.Photodiode(bandwidth_hz=90e3)


def recorded(
    camera: str,
    mechanism: MechanismEntry,
    faults: FaultsEntry,
    marked: str,
    *,
    firings: int,
    container: str,
    seed: int,
) -> bytes:
    """
    A recording of one setting of one camera, as a file's bytes.

    Parameters
    ----------
    camera : str
        Its key: the same camera's same speed is always off by the same little, whatever its state.
    mechanism, faults : MechanismEntry, FaultsEntry
        How the shutter is built and what ails it.
    marked : str
        The speed on the dial, such as "1/125" or "B".
    firings : int
        How often it is fired.
    container : {"flac", "wav", "csv"}
        Kind of file; a table has its time in milliseconds.
    seed : int
        Of everything that is left to chance.
    """
    rng = np.random.default_rng(seed)
    intended_s = _intended(camera, marked)
    shutter = _shutter(mechanism)
    state = sim.Faults(**asdict(faults))
    openings = [_fire(shutter, state, intended_s, k, rng) for k in range(firings)]
    gate = sim.LightGate(
        lamp=LAMP,
        diode=DIODE,
        converter=sim.Converter(sample_rate_hz=_rate(intended_s, container), clock_ppm=11.0),
    )
    recording = sim.record(openings, gate, rng, lead_s=0.12, pause_s=0.2)
    if container == "csv":
        return sim.as_csv(recording, "ms", gate.converter.range_v)
    return sim.as_audio(recording, "WAV" if container == "wav" else "FLAC")


def _intended(camera: str, marked: str) -> float | None:
    """The effective time the regulated shutter gives at that setting, [s]; None where the hand decides."""
    if marked in BY_HAND:
        return None
    seconds = float(Fraction(marked))
    power_of_two = 2.0 ** round(math.log2(seconds))
    if abs(math.log2(seconds / power_of_two)) < ROUNDED_EV:
        seconds = power_of_two
    off = np.random.default_rng(crc32(f"{camera} {marked}".encode())).normal(0, REGULATION_EV)
    return float(seconds * 2**off)


def _rate(intended_s: float | None, container: str) -> int:
    """Samples per second that show the edges of such a firing, [Hz]: the shorter, the more."""
    if container == "csv":
        return 50_000
    if intended_s is None or intended_s > 0.12:
        return 48_000
    return 96_000 if intended_s > 0.012 else 192_000


def _shutter(m: MechanismEntry) -> sim.LeafShutter | sim.FocalPlaneShutter:
    if m.kind == "leaf":
        return sim.LeafShutter(
            blades=m.blades,
            clear_radius_m=m.clear_radius_mm * 1e-3,
            stop_radius_m=m.stop_radius_mm * 1e-3,
            opening_stroke_s=m.opening_stroke_ms * 1e-3,
            closing_stroke_s=m.closing_stroke_ms * 1e-3,
            drag=m.drag,
        )
    curtain = sim.Curtain(speed_m_s=m.curtain_speed_m_s, acceleration_m_s2=m.curtain_acceleration_m_s2)
    return sim.FocalPlaneShutter(
        first=curtain,
        second=curtain,
        point_m=m.gate_mm * 0.5e-3,
        sensor_m=m.sensor_mm * 1e-3,
        gap_m=m.gap_mm * 1e-3,
        f_number=m.f_number,
        gate_m=m.gate_mm * 1e-3,
    )


def _fire(
    shutter: sim.LeafShutter | sim.FocalPlaneShutter,
    faults: sim.Faults,
    intended_s: float | None,
    firing: int,
    rng: np.random.Generator,
) -> sim.Opening:
    if intended_s is None:
        return shutter.fire(sim.held_by_hand(HELD_S, rng))
    if isinstance(shutter, sim.LeafShutter):
        return sim.fire_leaf(shutter, faults, intended_s, firing, rng)
    return sim.fire_focal_plane(shutter, faults, intended_s, firing, rng)
