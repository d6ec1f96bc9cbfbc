"""
Sounds of a shutter at the bench, made from known instants. Shares no code with the analysis.

An impact is a bundle of damped resonances and a burst of noise behind an attack; its instant is when the
attack begins. Levels are peaks in dB against the closing of a firing at 0 dB.
"""

from __future__ import annotations

import io
from dataclasses import dataclass, field, replace

import numpy as np
import soundfile

from pegwood.instruments.recordings import Recording, open_recording

ATTACKS = {
    "sharp": (0.00002, 1.0),
    "plain": (0.00012, 1.0),
    "soft": (0.0004, 1.5),
}  # time constant [s] and power of (1 - exp(-t / time constant))


@dataclass(frozen=True)
class Timbre:
    """Resonances of one metal part: frequencies [Hz], decay times [s], weights, and its share of noise."""

    hz: tuple[float, ...]
    decay_s: tuple[float, ...]
    weight: tuple[float, ...]
    noise: float

    @classmethod
    def drawn(cls, rng: np.random.Generator, low_hz: float = 900.0, high_hz: float = 13_000.0) -> Timbre:
        n = int(rng.integers(3, 9))
        hz = np.exp(rng.uniform(np.log(low_hz), np.log(high_hz), n))
        decay = 0.004 * (2000 / hz) ** 0.5 * rng.uniform(0.4, 1.6, n)
        return cls(tuple(hz), tuple(decay), tuple(rng.uniform(0.3, 1, n)), float(rng.uniform(0.2, 1.0)))


@dataclass(frozen=True)
class Impact:
    """One sound: when it begins [s], its peak [dB], how it sounds."""

    at: float
    level_db: float
    timbre: Timbre
    attack: str = "plain"
    what: str = "knock"

    def wave(self, t: np.ndarray, rng: np.random.Generator) -> np.ndarray:
        since = t - self.at
        on = np.maximum(since, 0.0)
        y = np.zeros(len(t))
        for hz, decay, weight in zip(self.timbre.hz, self.timbre.decay_s, self.timbre.weight, strict=True):
            y += weight * np.sin(2 * np.pi * hz * on + rng.uniform(0, 2 * np.pi)) * np.exp(-on / decay)
        y += self.timbre.noise * rng.standard_normal(len(t)) * np.exp(-on / 0.0012)
        constant, power = ATTACKS[self.attack]
        y *= (since >= 0) * (1 - np.exp(-on / constant)) ** power
        top = np.abs(y).max()
        return y * (10 ** (self.level_db / 20) / top if top > 0 else 0.0)


@dataclass(frozen=True)
class Firing:
    """Where a shutter was opened and closed, by the instants of its sounds, and the effective time behind."""

    opened: float
    closed: float
    effective: float


@dataclass(frozen=True)
class Scene:
    """What a microphone at the bench hears."""

    impacts: tuple[Impact, ...] = ()
    firings: tuple[Firing, ...] = ()
    seconds: float = 4.0
    rate: int = 48_000
    noise_db: float = -50.0  # rms against a closing's peak
    colour: str = "white"  # or "pink"
    hum_db: float = -200.0
    reverb_s: float = 0.0  # time for 60 dB
    direct_db: float = 12.0  # direct sound over reverberation, by energy
    gain: float = 0.25  # of a peak of 0 dB, of full scale
    seed: int = 0
    beside: tuple = field(default=())  # functions (t, rng) added to the sound, closing's peak = 1

    def samples(self) -> np.ndarray:
        rng = np.random.default_rng(self.seed)
        n = int(self.seconds * self.rate)
        t = np.arange(n) / self.rate
        y = np.zeros(n)
        for impact in self.impacts:
            low = max(0, int(impact.at * self.rate) - 1)
            high = min(n, low + int(0.08 * self.rate))
            if low < high:
                y[low:high] += impact.wave(t[low:high], rng)
        for function in self.beside:
            y += function(t, rng)
        if self.reverb_s:
            y = reverberated(y, self.rate, self.reverb_s, self.direct_db, rng)
        y += 10 ** (self.noise_db / 20) * room_noise(n, self.colour, rng)
        for k, harmonic in enumerate((1.0, 0.5, 0.4, 0.2)):
            hum = np.sin(2 * np.pi * 50 * (k + 1) * t + rng.uniform(0, 2 * np.pi))
            y += 10 ** (self.hum_db / 20) * harmonic * hum
        return np.clip(self.gain * y, -1, 1)

    def recording(self, subtype: str = "PCM_16", format: str = "WAV", **opening) -> Recording:
        return as_recording(self.samples(), self.rate, subtype, format, **opening)

    def with_(self, **changes) -> Scene:
        return replace(self, **changes)


def as_recording(y: np.ndarray, rate: int, subtype: str = "PCM_16", format: str = "WAV", **opening):
    file = io.BytesIO()
    soundfile.write(file, y, int(rate), subtype=subtype, format=format)
    file.seek(0)
    return open_recording(file, f"bench.{format.lower()}", **opening)


def room_noise(n: int, colour: str, rng: np.random.Generator) -> np.ndarray:
    """Unit rms. Pink falls as one over the frequency."""
    if colour == "white":
        return rng.standard_normal(n)
    spectrum = np.fft.rfft(rng.standard_normal(n))
    spectrum[1:] /= np.sqrt(np.arange(1, len(spectrum)))
    spectrum[0] = 0
    y = np.fft.irfft(spectrum, n)
    return y / y.std()


def reverberated(y: np.ndarray, rate: int, rt60: float, direct_db: float, rng) -> np.ndarray:
    """Sound in a room whose echoes are noise that dies away, from 3 ms after the direct sound."""
    m = int(min(rt60, 0.8) * rate)
    tail = rng.standard_normal(m) * np.exp(-6.91 * np.arange(m) / (rt60 * rate))
    tail[: int(0.003 * rate)] = 0
    tail *= 10 ** (-direct_db / 20) / np.sqrt(np.sum(tail**2))
    size = 1 << (len(y) + m).bit_length()
    wet = np.fft.irfft(np.fft.rfft(y, size) * np.fft.rfft(tail, size), size)[: len(y)]
    return y + wet


def speech(level_db: float, start: float, stop: float):
    """Something like a voice: a buzzing pitch through moving formants, hisses, four syllables a second."""

    def sound(t: np.ndarray, rng: np.random.Generator) -> np.ndarray:
        inside = (t >= start) & (t < stop)
        tt = t[inside] - start
        if not len(tt):
            return np.zeros(len(t))
        n_syllables = int((stop - start) * 4) + 2
        pitch = np.interp(tt, np.arange(n_syllables) / 4, rng.uniform(90, 220, n_syllables))
        phase = np.cumsum(pitch) / (1 / (tt[1] - tt[0]))
        y = np.zeros(len(tt))
        formants = [np.interp(tt, np.arange(n_syllables) / 4, rng.uniform(*span, n_syllables))
                    for span in ((300, 900), (900, 2300), (2300, 3200))]  # fmt: skip
        for k in range(1, 30):
            gain = sum(1 / (1 + ((k * pitch - f) / 120) ** 2) for f in formants)
            y += gain * np.sin(2 * np.pi * k * phase) / k**0.5
        voiced = np.interp(tt, np.arange(4 * n_syllables) / 16, rng.uniform(0, 1, 4 * n_syllables) ** 2)
        hiss = np.interp(tt, np.arange(4 * n_syllables) / 16, rng.uniform(0, 1, 4 * n_syllables) ** 6)
        noise = np.diff(rng.standard_normal(len(tt) + 1))
        y = y / max(y.std(), 1e-9) * voiced + 0.4 * noise * hiss
        out = np.zeros(len(t))
        out[inside] = y * 10 ** (level_db / 20) / max(np.abs(y).max(), 1e-9)
        return out

    return sound


def motor(level_db: float, start: float, stop: float):
    """A winder: gear noise that swells and falls with each turn, and a few clacks of its clutch."""

    def sound(t: np.ndarray, rng: np.random.Generator) -> np.ndarray:
        inside = (t >= start) & (t < stop)
        tt = t[inside]
        y = rng.standard_normal(len(tt))
        y = np.convolve(y, [1, 0.6, 0.2, -0.2], "same")
        for hz in rng.uniform(200, 900, 3):
            y *= 1 + 0.5 * np.sin(2 * np.pi * hz * tt + rng.uniform(0, 6))
        edge = np.clip(np.minimum(tt - start, stop - tt) / 0.02, 0, 1)
        out = np.zeros(len(t))
        out[inside] = y * edge * 10 ** (level_db / 20) / max(np.abs(y).max(), 1e-9)
        return out

    return sound


@dataclass(frozen=True)
class Camera:
    """How a camera sounds: the same parts at every firing."""

    opening: Timbre
    closing: Timbre
    release: Timbre
    gear: Timbre
    opening_db: float = -5.0
    release_db: float | None = -18.0
    release_s: float = 0.012
    gear_db: float | None = -24.0
    gear_hz: float = 110.0
    rattle_db: float | None = -16.0
    mirror_db: float | None = None
    mirror_s: float = 0.04
    attack: str = "plain"

    @classmethod
    def drawn(cls, rng: np.random.Generator, **changes) -> Camera:
        made = cls(
            *(Timbre.drawn(rng) for _ in range(4)),
            opening_db=float(rng.normal(-5, 4)),
            release_db=float(rng.normal(-18, 5)) if rng.random() < 0.6 else None,
            release_s=float(rng.uniform(0.003, 0.03)),
            gear_db=float(rng.normal(-24, 4)) if rng.random() < 0.7 else None,
            gear_hz=float(rng.uniform(60, 220)),
            rattle_db=float(rng.normal(-16, 5)) if rng.random() < 0.6 else None,
            attack=str(rng.choice(list(ATTACKS))),
        )
        return replace(made, **changes)

    def fire(self, at: float, open_s: float, rng: np.random.Generator, offset_s: float = 0.0) -> tuple:
        """
        All sounds of one firing whose opening is heard at `at` and whose closing `open_s` later.

        The effective time is `open_s` and `offset_s`, which stands for blades that do not strike when half
        open.
        """
        shut = at + open_s
        made = [
            Impact(at, self.opening_db + rng.normal(0, 1), self.opening, self.attack, "opening"),
            Impact(shut, rng.normal(0, 1), self.closing, self.attack, "closing"),
        ]
        if self.release_db is not None:
            before = self.release_s * rng.normal(1, 0.1)
            made.append(
                Impact(at - before, self.release_db + rng.normal(0, 1.5), self.release, "plain", "release")
            )
        if self.gear_db is not None:
            tick = at + 1.2 / self.gear_hz
            while tick < shut - 0.7 / self.gear_hz:
                level = self.gear_db + rng.normal(0, 2)
                made.append(Impact(tick, level, self.gear, "plain", "gear"))
                tick += rng.normal(1, 0.1) / self.gear_hz
        if self.rattle_db is not None:
            for _ in range(int(rng.integers(1, 3))):
                level = self.rattle_db + rng.normal(0, 2)
                made.append(Impact(shut + rng.uniform(0.004, 0.02), level, self.closing, "plain", "rattle"))
        if self.mirror_db is not None:
            before = at - self.mirror_s * rng.normal(1, 0.03)
            made.append(Impact(before, self.mirror_db + rng.normal(0, 1), self.release, "soft", "mirror"))
            after = shut + self.mirror_s * rng.normal(1.2, 0.03)
            made.append(Impact(after, self.mirror_db + rng.normal(0, 1), self.release, "soft", "mirror"))
        return tuple(made), Firing(at, shut, open_s + offset_s)


def session(
    rng: np.random.Generator,
    open_s: float,
    n: int = 3,
    *,
    camera: Camera | None = None,
    spread: float = 0.01,
    offset_u_s: float = 0.0,
    cocking: bool = True,
    gap_s: tuple[float, float] = (1.6, 2.6),
    **scene,
) -> Scene:
    """Some firings of one speed, with cocking and winding between them."""
    camera = camera or Camera.drawn(rng)
    impacts: list[Impact] = []
    firings: list[Firing] = []
    ratchet = Timbre.drawn(rng)
    at = 1.2 + rng.uniform(0, 0.2)
    offset = rng.normal(0, offset_u_s)
    for _ in range(n):
        took = open_s * float(np.exp(rng.normal(0, spread)))
        made, firing = camera.fire(at, took, rng, offset)
        impacts += made
        firings.append(firing)
        gap = rng.uniform(*gap_s)
        if cocking:
            begin = at + took + 0.4 * gap
            for _ in range(int(rng.integers(2, 9))):
                impacts.append(Impact(begin, rng.normal(-18, 4), ratchet, "plain", "cocking"))
                begin += rng.uniform(0.03, 0.12)
        at += took + gap
    return Scene(tuple(impacts), tuple(firings), seconds=at - 0.3, seed=int(rng.integers(1 << 30)), **scene)
