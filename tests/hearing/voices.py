"""
Voices and a workshop's noise for the tests: espeak-ng speaks, this file makes the noise; neither knows the
grammar.

Signal to noise is the mean power of the speech (without its silence at both ends) over the mean power of the
noise.
"""

from __future__ import annotations

import io
import random
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import soundfile
from numpy.typing import NDArray
from scipy.signal import resample_poly

RATE_HZ = 16_000
ACCENTS = ("en-gb", "en-us", "en-gb-scotland", "en-029")
#: Those by which the limits of doubt were set, never those of the tests.
TUNING_VOICES = (
    "en-gb-x-rp", "en-gb-x-gbclan", "en-us-nyc", "en-gb-x-gbcwmd",
    "en-gb-x-rp+f2", "en-us-nyc+m3", "en-gb-x-gbclan+m4", "en-gb-x-gbcwmd+f3",
)  # fmt: skip
SPEEDS = (140, 175)  # words a minute

CONDITIONS = {
    "bent": "bent", "worn": "worn", "gummed": "gummed", "rust": "rusty", "cracked": "cracked",
    "loose": "loose",
    "scratched": "scratched", "dry": "dry", "fungus": "fungus", "haze": "hazy", "corrosion": "corroded",
    "sticking": "sticking", "seized": "seized", "oily": "oily", "dented": "dented", "weak": "weak",
    "missing": "missing", "torn": "torn", "fine": "looks fine", "light leak": "light leak",
    "perished": "perished",
}  # fmt: skip
WORKS = {
    "clean": "cleaning", "degrease": "a bath", "replace": "replacing", "polish": "polishing",
    "straighten": "straightening", "adjust": "adjusting", "lubricate": "oil", "check": "checking",
}  # fmt: skip
GRADES = {1: "slightly", 2: "somewhat", 3: "rather", 4: "badly", 5: "completely"}
PLACES = {"left": "on the left", "right": "on the right", "top": "at the top", "edge": "around the edge"}
NUMBERS = [
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
    "twenty",
]
TALK = (
    "the kettle is boiling over", "who left the front door open", "I will ring her back on Thursday",
    "there is a parcel for you downstairs", "that radio programme was rather dull",
    "have you seen my other glove",
    "we ran out of milk again", "he said he would come at ten", "it was raining all night long",
    "my knee is bad today", "pass me the long tweezers please", "what a mess that is",
    "somebody filed this down by hand", "let us stop for a sandwich", "the neighbours are building a wall",
    "I never liked this kind of screw", "it must have been dropped at some time",
    "how much did we say for that one",
    "no wait that is the wrong way round", "she wants it back before the wedding",
    "the train was full of people",
    "where on earth did that spring go", "I think we should have asked him first", "good morning come in",
    "the light in here is terrible", "two coffees and a bun please", "leave it until tomorrow then",
    "I have not got the time for this", "that was a very long winter", "mind the step on your way out",
)  # fmt: skip


@dataclass(frozen=True)
class Told:
    """A sentence and what it means, in the plainest form."""

    says: str
    means: tuple[object, ...]


def told(parts: Sequence[tuple[str, str]], n: int, seed: int) -> list[Told]:
    """Commands as a bench would give them; parts as (id, name)."""
    rng = random.Random(seed)
    return [_one(rng, *rng.choice(parts)) for _ in range(n)]


def _one(rng: random.Random, part: str, name: str) -> Told:
    kind = rng.random()
    if kind < 0.55:
        condition = rng.choice(list(CONDITIONS))
        grade = rng.choice([None, None, *GRADES]) if condition != "fine" else None
        place = rng.choice(["", "", "", *PLACES])
        work = rng.choice(["", "", *WORKS])
        says = f"{name}, {GRADES[grade] + ' ' if grade else ''}{CONDITIONS[condition]}"
        says += f" {PLACES[place]}" if place else ""
        says += f", needs {WORKS[work]}" if work else ""
        return Told(says, ("finding", part, condition, grade, place, work))
    if kind < 0.65:
        work = rng.choice(list(WORKS))
        return Told(f"{name} needs {WORKS[work]}", ("work", part, work))
    first, second = rng.randint(1, 9), rng.randint(1, 20)
    if kind < 0.78:
        return Told(f"tray {NUMBERS[first - 1]} pocket {NUMBERS[second - 1]}", ("pocket", first, second))
    if kind < 0.86:
        return Told(f"shim {name} {NUMBERS[first - 1]} tenths", ("shim", part, round(first * 1e-4, 7)))
    if kind < 0.92:
        half = rng.random() < 0.5
        says = f"count turns {NUMBERS[first - 1]}{' and a half' if half else ''}"
        return Told(says, ("turns", first + 0.5 * half))
    word = rng.choice(["next", "undo", "read back", "photograph", "stop listening"])
    return Told(word, (word,))


@cache
def spoken(text: str, voice: str, speed: int) -> NDArray[np.float64]:
    """espeak-ng's voice at 16 kHz, without the silence around it."""
    command = ["espeak-ng", "--stdout", "-v", voice, "-s", str(speed), text]
    wav = subprocess.run(command, check=True, capture_output=True).stdout
    sound, rate = soundfile.read(io.BytesIO(wav))
    shared = int(np.gcd(rate, RATE_HZ))
    sound = resample_poly(sound, RATE_HZ // shared, rate // shared)
    loud = np.flatnonzero(np.abs(sound) > 0.01 * np.abs(sound).max())
    return sound[loud[0] : loud[-1] + 1]


def noise(n: int, rng: np.random.Generator) -> NDArray[np.float64]:
    """A lathe next door (pink), mains hum, cloth and paper that rustle, taps of tools; of power one."""
    t = np.arange(n) / RATE_HZ
    f = np.fft.rfftfreq(n, 1 / RATE_HZ)
    f[0] = f[1]
    lathe = np.fft.irfft(np.fft.rfft(rng.standard_normal(n)) / np.sqrt(f), n)
    hum = sum(np.sin(2 * np.pi * 50 * k * t + rng.uniform(0, 6.28)) / k for k in (1, 2, 3, 4, 6))
    knots = np.arange(0.0, t[-1] + 0.3, 0.12)
    rustle = rng.standard_normal(n) * np.interp(t, knots, rng.gamma(0.4, 1, len(knots)))
    taps = 1e-6 * rng.standard_normal(n)
    for at in rng.integers(0, n, 1 + rng.poisson(1.2 * t[-1])):
        length = np.arange(min(800, n - at))
        ring = np.exp(-length / 120) * np.sin(2 * np.pi * rng.uniform(800, 4000) * length / RATE_HZ)
        taps[at : at + len(length)] += rng.uniform(0.3, 1) * ring
    shares = np.sqrt(rng.dirichlet([2, 1, 1, 1]))
    mixed = sum(
        share * one / one.std() for share, one in zip(shares, (lathe, hum, rustle, taps), strict=True)
    )
    return mixed / mixed.std()


def at_the_bench(text: str, voice: str, speed: int, seed: int, snr_db: float = 20.0) -> bytes:
    """What a microphone at the bench hands over: 16-bit at 16 kHz, a little silence before and after."""
    said = spoken(text, voice, speed)
    quiet = np.zeros(int(0.3 * RATE_HZ))
    sound = np.concatenate([quiet, said, quiet])
    loud = np.sqrt(np.mean(said**2))
    sound = sound + noise(len(sound), np.random.default_rng(seed)) * loud * 10 ** (-snr_db / 20)
    return (sound / np.abs(sound).max() * 0.5 * 32767).astype("<i2").tobytes()
