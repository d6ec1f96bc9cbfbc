"""Whatever a file holds, the analysis answers: finite figures or none, and never an error of its own."""

from __future__ import annotations

import json

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pegwood.instruments.shutter import analyse

from .lightcurves import as_recording

MANY = settings(max_examples=60, deadline=None, derandomize=True)


def answer(y: np.ndarray, rate: float = 8000):
    result = analyse(as_recording(y, rate))
    json.dumps([result.to_json(), result.curves_json()], allow_nan=False)
    for shot in result.shots:
        assert shot.effective.value > 0
        assert shot.effective.u > 0
        assert len(shot.curve.t_s) <= 400
    assert result.shots or result.warnings
    return result


def pieces(seed: int, n: int, kinds: str) -> np.ndarray:
    """Random stretches of levels, noise, ramps, decays and spikes, joined."""
    rng = np.random.default_rng(seed)
    out = []
    for kind in kinds:
        m = int(rng.integers(1, n))
        k = np.arange(m)
        height = rng.normal(0, 1)
        out.append(
            {
                "l": np.full(m, height),
                "n": rng.normal(0, abs(height), m),
                "r": height * k / m,
                "d": height * np.exp(-k / rng.uniform(1, m)),
                "s": height * (k == m // 2),
                "h": height * np.sin(k * rng.uniform(0.001, 1)),
                "0": np.zeros(m),
                "p": height * ((k > m / 3) & (k < m / 2)),
            }[kind]
        )
    return np.concatenate(out) + rng.choice([0, 1e-3, 1e-2]) * rng.standard_normal(sum(len(o) for o in out))


@MANY
@given(st.integers(0, 1 << 30), st.integers(20, 6000), st.text("lnrdsh0p", min_size=1, max_size=14))
def test_any_sequence_of_levels_noise_and_spikes_is_answered(seed, n, kinds):
    y = pieces(seed, n, kinds)
    answer(np.concatenate([np.zeros(40), y]))


@MANY
@given(st.integers(32, 400), st.integers(0, 1 << 30))
def test_the_shortest_recordings_are_answered(n, seed):
    rng = np.random.default_rng(seed)
    y = np.zeros(n)
    a, b = sorted(rng.integers(0, n, 2))
    y[a:b] = 1
    answer(y + rng.choice([0, 0.01]) * rng.standard_normal(n))


@pytest.mark.parametrize("scale", [1e-300, 1e-30, 1e14])
def test_absurdly_small_and_large_readings_are_answered(scale):
    y = np.zeros(8000)
    y[3000:3200] = 1
    answer(scale * (y + 0.01 * np.random.default_rng(1).standard_normal(8000)))


@pytest.mark.parametrize(("start", "stop"), [(0, 300), (7700, 8000), (2, 7998), (0, 8000)])
def test_light_at_the_ends_of_the_recording_gives_no_figure(start, stop):
    y = np.zeros(8000)
    y[start:stop] = 1
    assert answer(y + 0.01 * np.random.default_rng(1).standard_normal(8000)).shots == ()


def test_more_pulses_than_a_shutter_can_fire_are_answered_quickly():
    y = np.tile(np.concatenate([np.zeros(40), np.ones(24)]), 4000)
    result = answer(y + 0.01 * np.random.default_rng(1).standard_normal(len(y)))
    assert result.summary.verdict == "no limit given"
