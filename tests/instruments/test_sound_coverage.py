"""
Whether what the sound instrument says of itself is true: intervals hold the truth, chances come true, and
an hour in which nothing happens holds no firing.

The effective time behind two simulated sounds differs from the time between them by a normal amount of the
standard deviation that the budget states for a leaf shutter (practice), as the clock of the light gate's
coverage test does.
"""

from __future__ import annotations

import math
import tracemalloc
from pathlib import Path

import numpy as np
import pytest
import soundfile

from pegwood.instruments.recordings import open_recording
from pegwood.instruments.shutter import MarkedSpeed
from pegwood.instruments.sound import analyse_sound

from .sounds import Camera, Impact, Scene, Timbre, room_noise, session, speech

pytestmark = pytest.mark.slow

LEAF_U_S = 0.0012  # of practice.toml, by hand
SPEEDS = (1 / 30, 1 / 15, 1 / 8, 1 / 4, 1 / 2, 1.0)
ROOMS = {
    "quiet": {"noise_db": -60.0},
    "noisy": {"noise_db": -33.0},
    "pink and hum": {"noise_db": -40.0, "colour": "pink", "hum_db": -20.0},
    "echo": {"noise_db": -50.0, "reverb_s": 0.4},
}
CAMERAS = {
    "any": {},
    "ticking": {"gear_db": -19.0},
    "silent gear": {"gear_db": None},
    "sharp": {"attack": "sharp", "release_db": None},
    "soft attack": {"attack": "soft", "release_db": None},
}


def told(rng: np.random.Generator, room: str, camera: str, n: int = 3):
    """Firings of one session, and for each that is told a pair: what was made, what was heard."""
    scene = session(
        rng,
        float(rng.choice(SPEEDS)),
        n,
        camera=Camera.drawn(rng, **CAMERAS[camera]),
        rate=int(rng.choice([44_100, 48_000])),
        **ROOMS[room],
    )
    result = analyse_sound(scene.recording(), marked=MarkedSpeed.parse("1/8"), mirror="none", kind="leaf")
    pairs = []
    for heard, shot in zip(result.firings, result.shutter.shots, strict=True):
        true = min(scene.firings, key=lambda firing: abs(firing.opened - heard.opened.value))
        pairs.append((true, heard, shot))
    return scene, pairs


def chance_band(n: int, low: float = 0.93, high: float = 0.97) -> tuple[float, float]:
    """The wanted band, widened by what n firings leave to chance (two standard deviations at 95 %)."""
    spread = 2 * math.sqrt(0.95 * 0.05 / n)
    return low - spread, high + spread


@pytest.mark.parametrize(
    ("room", "camera"),
    [("quiet", "any"), ("noisy", "any"), ("pink and hum", "any"), ("echo", "any")]
    + [("quiet", camera) for camera in CAMERAS if camera != "any"],
)
def test_intervals_hold_the_truth_in_every_kind_of_recording(room, camera):
    rng = np.random.default_rng(sum(map(ord, room + camera)))
    held, between, made = [], [], 0
    for _ in range(40):
        scene, pairs = told(rng, room, camera)
        made += len(scene.firings)
        for true, heard, shot in pairs:
            truth = true.closed - true.opened
            low, high = heard.between.coverage_interval()
            between.append(low <= truth <= high)
            low, high = shot.effective.coverage_interval()
            held.append(low <= truth + rng.normal(0, LEAF_U_S) <= high)
    assert len(held) > 0.3 * made, "a refusal is no defect, but this many are no instrument"
    low, high = chance_band(len(held))
    assert low <= np.mean(held) <= high
    # sounds by themselves: their uncertainty may be too large, never too small
    assert np.mean(between) >= low


def test_chances_come_true():
    """Of sounds said to be an opening or a closing with some chance, that share is."""
    rng = np.random.default_rng(7)
    said, right = [], []
    for k in range(90):
        scene, _ = told(rng, list(ROOMS)[k % 4], "any")
        if k % 3 == 0:
            knocks = tuple(
                Impact(float(at), float(rng.normal(-8, 6)), Timbre.drawn(rng, 200, 4000))
                for at in rng.uniform(0, scene.seconds, rng.poisson(scene.seconds))
            )
            scene = scene.with_(impacts=scene.impacts + knocks)
        result = analyse_sound(scene.recording(), marked=MarkedSpeed.parse("1/8"), mirror="none", kind="leaf")
        for sound in result.sounds:
            for name, chance in (("opened", sound.opening), ("closed", sound.closing)):
                said.append(chance)
                right.append(any(abs(getattr(f, name) - sound.at.value) < 0.004 for f in scene.firings))
    said_, right_ = np.array(said), np.array(right)
    for low, high in ((0.02, 0.3), (0.3, 0.7), (0.7, 0.9), (0.9, 0.97), (0.97, 1.01)):
        here = (said_ >= low) & (said_ < high)
        assert here.sum() > 20
        share, mean = right_[here].mean(), said_[here].mean()
        # a chance may be understated by far more than overstated: too sure is the worse fault
        assert mean - 0.1 < share < mean + 0.35


def test_half_an_hour_in_which_nothing_happens_holds_no_firing(tmp_path: Path):
    """Noise, bumps, steps, now and then a voice."""
    rng = np.random.default_rng(60)
    path, rate = tmp_path / "long.wav", 48_000
    with soundfile.SoundFile(str(path), "w", rate, 1, subtype="PCM_16") as out:
        for minute in range(30):
            bumps = tuple(
                Impact(float(at), float(rng.normal(-12, 8)), Timbre.drawn(rng, 80, 2500), "soft")
                for at in rng.uniform(0, 59.9, rng.poisson(6))
            )
            talk = (speech(-25.0, 10.0, 14.0),) if minute % 10 == 0 else ()
            scene = Scene(bumps, seconds=60.0, rate=rate, noise_db=-100.0, seed=minute, beside=talk)
            y = scene.samples() + 0.003 * room_noise(60 * rate, ("white", "pink")[minute % 2], rng)
            out.write(y)
    result = analyse_sound(open_recording(path), marked=MarkedSpeed.parse("1/4"), mirror="none")
    assert result.firings == ()
    assert result.shutter.summary.effective is None


def peak_bytes(path: Path, y: np.ndarray, repeats: int) -> int:
    with soundfile.SoundFile(str(path), "w", 48_000, 1, subtype="PCM_16") as out:
        for _ in range(repeats):
            out.write(y)
    tracemalloc.start()
    analyse_sound(open_recording(path), marked=MarkedSpeed.parse("1/4"), mirror="none")
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak


def test_memory_does_not_grow_with_the_length(tmp_path: Path):
    quiet = 0.003 * np.random.default_rng(4).standard_normal(60 * 48_000)
    assert peak_bytes(tmp_path / "long.wav", quiet, 20) < 1.5 * peak_bytes(tmp_path / "short.wav", quiet, 2)


def test_memory_is_bounded_however_many_the_sounds(tmp_path: Path):
    firings = session(np.random.default_rng(4), 0.25, 6).samples()
    assert peak_bytes(tmp_path / "many.wav", firings, 60) < 150e6
