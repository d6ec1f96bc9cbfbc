"""Where nothing fires no firing may be found, whatever else is heard: some seconds of each kind."""

import numpy as np
import pytest

from pegwood.instruments.recordings import held
from pegwood.instruments.shutter import analyse

from .lightcurves import Bench, Firing
from .nothings import NOTHINGS, heard

RATE = 8000.0


def shots_in(y: np.ndarray) -> tuple:
    return analyse(held(y.astype(np.float32)[:, None], RATE, "nothing", full_scale=1.0)).shots


@pytest.mark.parametrize("through", ["direct", "2 Hz", "two of 5 Hz"])
@pytest.mark.parametrize("what", [*NOTHINGS, "everything"])
def test_ten_seconds_of_nothing_give_no_firing(what, through):
    assert shots_in(heard(what, through, 10, seed=1)) == ()


# each of these once gave firings: halves of a wave, a shock that rings, a room light
@pytest.mark.slow
@pytest.mark.parametrize(
    ("what", "through", "seed"),
    [
        ("hum", "20 Hz", 2),
        ("hum", "20 Hz", 20),
        ("hum", "2 Hz", 201),
        ("bumps", "2 Hz", 1),
        ("thuds", "direct", 2),
        ("thuds", "two of 5 Hz", 4),
        ("room light", "two of 5 Hz", 3),
        ("room light", "direct", 5),
        ("room light", "20 Hz", 26),
        ("room light", "2 Hz", 40),
        ("thuds", "two of 5 Hz", 101),
        ("drift", "0.3 Hz", 101),
        ("room light", "2 Hz", 101),
    ],
)
def test_a_minute_that_once_gave_a_false_firing_gives_none(what, through, seed):
    assert shots_in(heard(what, through, 60, seed)) == ()


def test_a_diode_lamp_on_mains_switched_on_and_off_gives_no_figures():
    t = np.arange(round(12 * RATE)) / RATE
    lit = np.clip(np.minimum((t - 3) / 0.004, (8 - t) / 0.004), 0, 1)
    y = 0.3 * lit * (1 + 0.4 * np.cos(2 * np.pi * 100 * t)) + 1e-3 * np.random.default_rng(5).normal(
        size=len(t)
    )
    result = analyse(held(y[:, None], RATE, "diode lamp"))
    assert result.shots == ()
    assert any("No firing found" in w for w in result.warnings)


def test_a_filament_lamp_switched_on_and_off_five_seconds_later_is_told_as_a_lamp():
    t = np.arange(round(12 * RATE)) / RATE
    on, off = 1 - np.exp(-np.clip(t - 3, 0, None) / 0.012), np.exp(-np.clip(t - 8, 0, None) / 0.015)
    y = 0.3 * on * off + 1e-3 * np.random.default_rng(5).normal(size=len(t))
    result = analyse(held(y[:, None], RATE, "filament"))
    assert result.shots == ()
    assert any("as that of a switched lamp" in w for w in result.warnings)


@pytest.mark.parametrize("edge", ["linear", "square", "rounded", "smoothstep"])
def test_five_seconds_of_slow_blades_are_no_lamp(edge):
    shots = analyse(Bench((Firing(1, 0.014, 5, 0.018, edge),), rate=RATE, seconds=8).recording()).shots
    assert len(shots) == 1


def test_a_recording_in_which_every_reading_is_the_same_says_so():
    result = analyse(held(np.zeros((3 * int(RATE), 1), np.float32), RATE, "silent"))
    assert result.shots == ()
    assert any("every reading is the same" in w for w in result.warnings)
