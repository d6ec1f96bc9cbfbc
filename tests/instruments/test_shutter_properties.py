"""What must not change a firing's figures, and what must."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pegwood.instruments.shutter import analyse

from .lightcurves import EDGES, Bench, Firing, as_recording

RATE = 48_000
FEW = settings(
    max_examples=25,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)

firings = st.builds(
    lambda edge, te, share, lean: _firing(edge, te, share, lean),
    st.sampled_from(sorted(EDGES)),
    st.floats(1 / 400, 1 / 8),
    st.floats(0.1, 0.3),
    st.floats(0.6, 1.6),
)


def _firing(edge: str, te: float, share: float, lean: float) -> Firing:
    span = min(share * te, 0.004)
    opening, closing = span * lean, span
    return Firing(0.25, opening, te - EDGES[edge][1] * (opening + closing), closing, edge)


def samples(firing: Firing, sigma=0.005, **bench) -> np.ndarray:
    return Bench((firing,), rate=RATE, sigma=sigma, amplitude=1.0, **bench).samples()


def only_shot(y: np.ndarray):
    shots = analyse(as_recording(y, RATE)).shots
    assert len(shots) == 1
    return shots[0]


@FEW
@given(firings, st.floats(-6, 6), st.sampled_from([1, -1]))
def test_gain_and_polarity_change_nothing(firing, exponent, sign):
    y = samples(firing)
    first, second = only_shot(y), only_shot(sign * 10.0**exponent * y)
    assert second.effective.value == pytest.approx(first.effective.value, rel=1e-6)
    assert second.effective.u == pytest.approx(first.effective.u, rel=1e-3)
    assert second.total.value == pytest.approx(first.total.value, rel=1e-4)
    assert second.half_height_s == pytest.approx(first.half_height_s, rel=1e-4)


@FEW
@given(firings, st.floats(-50, 50))
def test_an_offset_changes_nothing(firing, offset):
    y = samples(firing)
    first, second = only_shot(y), only_shot(y + offset)
    assert second.effective.value == pytest.approx(first.effective.value, rel=1e-6)
    assert second.effective.u == pytest.approx(first.effective.u, rel=1e-3)


@FEW
@given(firings, st.integers(1, 20_000))
def test_a_later_start_changes_only_when_it_fired(firing, earlier):
    y = samples(firing)
    rng = np.random.default_rng(earlier)
    first, second = only_shot(y), only_shot(np.concatenate([0.005 * rng.standard_normal(earlier), y]))
    assert second.at_s - first.at_s == pytest.approx(earlier / RATE, abs=2e-5)
    assert second.effective.value == pytest.approx(first.effective.value, abs=first.effective.u)


@FEW
@given(firings, st.floats(0, 1))
def test_where_the_samples_fall_changes_nothing_that_matters(firing, part):
    moved = Firing(0.25 + part / RATE, firing.opening, firing.plateau, firing.closing, firing.edge)
    first, second = only_shot(samples(firing, sigma=1e-4)), only_shot(samples(moved, sigma=1e-4))
    u = np.hypot(first.effective.u, second.effective.u)
    assert second.effective.value == pytest.approx(first.effective.value, abs=2 * u)


@FEW
@given(firings, st.floats(0.002, 0.03), st.floats(2, 5))
def test_more_noise_widens_the_uncertainty(firing, sigma, more):
    quiet, noisy = only_shot(samples(firing, sigma=sigma)), only_shot(samples(firing, sigma=sigma * more))
    assert noisy.effective.u > quiet.effective.u
    assert noisy.total.u > quiet.total.u


@FEW
@given(firings)
def test_playing_it_backwards_swaps_opening_and_closing(firing):
    y = samples(firing, sigma=1e-3)
    first, second = only_shot(y), only_shot(y[::-1])
    assert second.effective.value == pytest.approx(first.effective.value, abs=2 * first.effective.u)
    assert second.opening.value == pytest.approx(first.closing.value, abs=2 * first.closing.u)
    assert second.closing.value == pytest.approx(first.opening.value, abs=2 * first.opening.u)


@FEW
@given(firings, st.floats(0.001, 0.1))
def test_the_parts_fit_together(firing, sigma):
    shot = only_shot(samples(firing, sigma=sigma))
    assert 0 < shot.effective.value < shot.total.value + 2 * shot.total.u
    assert shot.opening.value > 0
    assert shot.closing.value > 0
    if shot.efficiency is not None:
        assert shot.efficiency.value == pytest.approx(shot.effective.value / shot.total.value)
