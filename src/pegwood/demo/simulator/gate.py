"""
The light gate: lamp, photodiode with its amplifier, converter; and what they make of a row of firings.

The photodiode is linear. Its noise is shot noise (2 e I per hertz) and the thermal noise of its load (4 k T /
R per hertz), through a single low-pass; the white noise behind such a low-pass, looked at in even steps, is
exactly a first-order autoregression, so the noise needs no finer grid than the samples. The light curve does,
and gets one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter

from pegwood.demo.simulator.opening import Floats, Opening, Truth, is_lit, truth_of

ELEMENTARY_CHARGE_C = 1.602176634e-19  # exact since the SI of 2019 (mark: memory)
BOLTZMANN_J_K = 1.380649e-23  # exact since the SI of 2019 (mark: memory)


@dataclass(frozen=True, kw_only=True)
class Lamp:
    """
    The light. `ripple` is the amplitude of its flicker over its mean, [1], at twice `mains_hz`, [Hz]; `phase`
    in [rad]. A lamp on a battery has no ripple; ISO 516:2019 asks for fluctuation within 5 % (mark: seen).
    """

    ripple: float = 0.0
    mains_hz: float = 50.0
    phase: float = 0.0

    def shine(self, times: Floats) -> Floats:
        """Illuminance over its mean at times in [s]."""
        return np.asarray(1 + self.ripple * np.cos(2 * math.pi * 2 * self.mains_hz * times + self.phase))


@dataclass(frozen=True, kw_only=True)
class Photodiode:
    """
    Diode and amplifier.

    Attributes
    ----------
    photocurrent_a : float
        With the shutter fully open, [A].
    dark_a : float
        Dark current and stray light, [A].
    load_ohm : float
        Current to voltage, [ohm].
    bandwidth_hz : float
        -3 dB point of the single low-pass, [Hz].
    offset_v : float
        Of the amplifier, [V].
    temperature_k : float
        Of the load, [K].
    """

    photocurrent_a: float = 12e-6
    dark_a: float = 4e-9
    load_ohm: float = 1e5
    bandwidth_hz: float = 60e3
    offset_v: float = 2e-3
    temperature_k: float = 295.0

    def noise_v(self, current_a: Floats) -> Floats:
        """
        Standard deviation of the noise at a current, [V]; a single pole passes pi/2 times its -3 dB width.
        """
        density = (
            2 * ELEMENTARY_CHARGE_C * np.abs(current_a)
            + 4 * BOLTZMANN_J_K * self.temperature_k / self.load_ohm
        )
        return self.load_ohm * np.sqrt(density * math.pi / 2 * self.bandwidth_hz)


@dataclass(frozen=True, kw_only=True)
class Converter:
    """
    A converter: `bits` over plus and minus `range_v`, [V]; `noise_v` of its own, [V]; its clock runs
    `clock_ppm` parts in a million fast, so it takes that many more samples in a true second. It is DC-coupled
    unless `high_pass_hz` names the corners of its coupling, one for each capacitor on the way, [Hz].
    """

    sample_rate_hz: int = 96_000
    bits: int = 16
    range_v: float = 2.0
    noise_v: float = 2e-4
    clock_ppm: float = 0.0
    high_pass_hz: tuple[float, ...] = ()


@dataclass(frozen=True, kw_only=True)
class LightGate:
    """
    Everything between the shutter and the file; `polarity` -1 gives an upside-down curve, `oversampling` the
    grid.
    """

    lamp: Lamp = field(default_factory=Lamp)
    diode: Photodiode = field(default_factory=Photodiode)
    converter: Converter = field(default_factory=Converter)
    polarity: int = 1
    oversampling: int = 4


@dataclass(frozen=True, kw_only=True)
class Recording:
    """
    What the gate wrote, and what really happened.

    Attributes
    ----------
    samples : array, shape (n_samples,) or (n_samples, n_channels)
        Of the converter's full scale, [1], -1 to 1.
    sample_rate_hz : int
        As the converter's label says, [Hz].
    openings : tuple of Opening
        What passed, channel by channel.
    releases_s : tuple of float
        When each was released, [s] from the first sample, in true seconds.
    """

    samples: Floats
    sample_rate_hz: int
    openings: tuple[Opening, ...]
    releases_s: tuple[float, ...]

    def truths(self, points: int = 400_001) -> tuple[Truth, ...]:
        """The truth of every firing that let light through; see `truth_of`."""
        pairs = zip(self.openings, self.releases_s, strict=True)
        return tuple(truth_of(o, r, points) for o, r in pairs if is_lit(o))


def record(
    openings: Sequence[Opening],
    gate: LightGate,
    rng: np.random.Generator,
    *,
    lead_s: float = 0.15,
    pause_s: float = 0.35,
) -> Recording:
    """
    Let a row of firings pass the gate.

    Parameters
    ----------
    openings : sequence of Opening
        Fired one after another.
    gate : LightGate
        Lamp, diode, converter.
    rng : numpy.random.Generator
        Draws noise and small irregularities of the hand on the release.
    lead_s, pause_s : float
        Dark before the first firing, and about so much between them and after the last, [s].

    Returns
    -------
    Recording
        With samples of shape (n_samples,).
    """
    releases = _releases(openings, rng, lead_s, pause_s)
    end = max((r + o.ends_s for r, o in zip(releases, openings, strict=True)), default=lead_s) + pause_s
    return _through(openings, releases, end, gate, rng)


def record_points(
    points: Sequence[Sequence[Opening]],
    gate: LightGate,
    rng: np.random.Generator,
    *,
    lead_s: float = 0.15,
    pause_s: float = 0.35,
) -> Recording:
    """
    The same firings seen by several diodes at once, one channel each.

    Parameters
    ----------
    points : sequence of sequence of Opening
        For each diode its view of every firing, in the same order.
    gate, rng, lead_s, pause_s
        As for `record`.

    Returns
    -------
    Recording
        With samples of shape (n_samples, n_channels).
    """
    releases = _releases(points[0], rng, lead_s, pause_s)
    end = max(r + o.ends_s for row in points for r, o in zip(releases, row, strict=True)) + pause_s
    channels = [_through(row, releases, end, gate, rng) for row in points]
    return Recording(
        samples=np.stack([c.samples for c in channels], axis=1),
        sample_rate_hz=channels[0].sample_rate_hz,
        openings=tuple(o for c in channels for o in c.openings),
        releases_s=tuple(r for c in channels for r in c.releases_s),
    )


def _releases(
    openings: Sequence[Opening], rng: np.random.Generator, lead_s: float, pause_s: float
) -> list[float]:
    """When the hand released each firing, [s]."""
    releases, now = [], lead_s
    for opening in openings:
        releases.append(now)
        now += opening.ends_s + pause_s * (1 + 0.2 * rng.random())
    return releases


def _through(
    openings: Sequence[Opening],
    releases: Sequence[float],
    end_s: float,
    gate: LightGate,
    rng: np.random.Generator,
) -> Recording:
    """Light, diode, low-pass, noise, converter."""
    converter, diode, fine = gate.converter, gate.diode, gate.oversampling
    true_rate = converter.sample_rate_hz * (1 + converter.clock_ppm * 1e-6)
    n = math.ceil(end_s * true_rate)
    step = 1 / (true_rate * fine)
    light = np.zeros(n * fine)
    for released, opening in zip(releases, openings, strict=True):
        low = max(int((released + opening.begins_s) / step), 0)
        high = min(math.ceil((released + opening.ends_s) / step) + 1, light.size)
        times = np.arange(low, high, dtype=np.float64) * step
        light[low:high] += opening.openness(times - released) * gate.lamp.shine(times)
    seen = _low_pass(light, diode.bandwidth_hz * step)
    current = diode.photocurrent_a * seen[::fine] + diode.dark_a
    volts = current * diode.load_ohm + diode.offset_v
    volts += diode.noise_v(current) * _filtered_noise(n, diode.bandwidth_hz / true_rate, rng)
    if converter.high_pass_hz:
        fast = diode.photocurrent_a * diode.load_ohm * seen
        rest = volts - fast[::fine]  # steady, and noise: the samples are grid enough
        for corner in converter.high_pass_hz:
            fast, rest = _high_pass(fast, corner * step), _high_pass(rest, corner / true_rate)
        volts = fast[::fine] + rest
    volts += converter.noise_v * rng.standard_normal(n)
    return Recording(
        samples=_convert(gate.polarity * volts, converter),
        sample_rate_hz=converter.sample_rate_hz,
        openings=tuple(openings),
        releases_s=tuple(releases),
    )


def _low_pass(x: NDArray[np.float64], corner: float) -> Floats:
    """Single pole, exact for input that runs straight from point to point; `corner` in cycles per point."""
    tau = 1 / (2 * math.pi * corner)  # in points
    pole = math.exp(-1 / tau)
    late = 1 - tau * (1 - pole)
    early = tau * (1 - pole) - pole
    return np.asarray(lfilter([late, early], [1, -pole], x))


def _high_pass(x: Floats, corner: float) -> Floats:
    """A capacitor, long settled at the first point; exact as above, `corner` in cycles per point."""
    pole = math.exp(-2 * math.pi * corner)
    gain = (1 - pole) / (2 * math.pi * corner)
    return np.asarray(lfilter([gain, -gain], [1, -pole], x - x[0]))


def _filtered_noise(n: int, corner: float, rng: np.random.Generator) -> Floats:
    """White noise behind a single pole, unit variance, seen once a sample; `corner` in cycles per sample."""
    pole = math.exp(-2 * math.pi * corner)
    drawn = rng.standard_normal(n)
    drawn[1:] *= math.sqrt(1 - pole**2)
    return np.asarray(lfilter([1], [1, -pole], drawn))


def _convert(volts: Floats, converter: Converter) -> Floats:
    """Round to the converter's steps and clip at its range; the result is a share of full scale."""
    half = 2 ** (converter.bits - 1)
    return np.asarray(np.clip(np.round(volts / converter.range_v * half), -half, half - 1) / half)
