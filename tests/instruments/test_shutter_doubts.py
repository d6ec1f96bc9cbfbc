"""What must give no figure, or a wider one: hum, knocks, room light, AC coupling, ripple, clipping."""

from __future__ import annotations

import json

import numpy as np
import pytest

from pegwood.instruments.shutter import analyse

from .lightcurves import Bench, Firing, as_recording

MS = 1e-3


def series(te: float, n: int = 4, **bench) -> Bench:
    firings, at = [], 0.4
    for i in range(n):
        firings.append(Firing(at, 1 * MS, te - 1 * MS, 1 * MS))
        at += te + 0.6 + 0.0137 * i
    return Bench(tuple(firings), rate=48_000, **bench)


def knock(at: float, frequency: float, decay: float, height: float):
    def light(t):
        since = t - at
        return np.where(
            since > 0,
            height * np.exp(-np.clip(since, 0, None) * decay) * np.sin(2 * np.pi * frequency * since),
            0,
        )

    return light


def nothing(seed=0, **bench) -> Bench:
    return Bench((), rate=48_000, seconds=12, seed=seed, **bench)


NOTHINGS = {
    "silence": nothing(sigma=0),
    "noise": nothing(),
    "coloured noise": Bench((), rate=8000, seconds=12, sigma=0.1, colour=0.97),
    "hum": nothing(hum=0.5),
    "hum and noise": nothing(hum=0.1, sigma=0.1),
    "room light switched on": nothing(extra=(lambda t: 1.0 * (t > 3),)),
    "room light switched off": nothing(extra=(lambda t: 1.0 * (t < 3),)),
    "a slow cloud": nothing(extra=(lambda t: np.exp(-(((t - 6) / 1.5) ** 2)),)),
    "a hand passing over": nothing(extra=(lambda t: -np.exp(-(((t - 6) / 0.2) ** 4)),)),
    "knocks": nothing(extra=(knock(2, 60, 30, 1), knock(4.5, 35, 15, 0.6), knock(7.7, 110, 60, 0.8))),
    "steady drift": nothing(drift=3.0),
}


@pytest.mark.parametrize("what", NOTHINGS)
def test_where_nothing_fires_there_is_an_empty_list_and_a_warning(what):
    result = analyse(NOTHINGS[what].recording())
    assert result.shots == ()
    assert any("No firing found" in w for w in result.warnings)
    assert result.summary.n == 0
    assert result.summary.effective is None
    assert result.to_json()["shots"] == []


def test_single_clicks_are_not_firings():
    y = nothing(amplitude=0.5).samples()
    y[20_000::20_011] = 0.9
    assert analyse(as_recording(y, 48_000)).shots == ()


def test_firings_among_knocks_and_room_light_are_found_and_only_they():
    bench = series(1 / 125, extra=(knock(0.7, 60, 40, 0.3), lambda t: 0.5 * (t > 1.3)))
    result = analyse(bench.recording())
    assert [s.at_s for s in result.shots] == pytest.approx([f.at for f in bench.firings], abs=1e-4)
    assert all(s.effective.value == pytest.approx(1 / 125, rel=2e-3) for s in result.shots)


@pytest.mark.parametrize("pole", [0.05, 0.3, 1.0, 3.0, 10.0, 30.0])
@pytest.mark.parametrize("te", [1 / 500, 1 / 125, 1 / 30, 1 / 8, 0.5])
def test_an_ac_coupled_record_is_restored_and_its_figures_hold(pole, te):
    bench = series(te, n=3, pole_hz=pole)
    result = analyse(bench.recording())
    assert len(result.shots) == 3
    for shot in result.shots:
        low, high = shot.effective.coverage_interval(0.99)
        assert low < te < high
    if pole * te > 0.01:  # it sags by more than 2 pi times a hundredth while open
        assert result.coupling == "AC"
        assert "AC-coupled" in result.method


def test_a_dc_coupled_record_is_called_so():
    assert analyse(series(1 / 60).recording()).coupling == "DC"
    assert analyse(nothing().recording()).coupling == "unknown"


def test_light_of_two_or_three_steps_of_a_converter_is_told_to_be_turned_up_and_of_five_is_measured():
    for steps in (2.5, 5.0):
        samples = series(1 / 125, n=3, amplitude=1.0).samples()
        result = analyse(as_recording(np.round(samples * steps) / 128, 96_000.0, "PCM_U8"))
        if steps < 4:
            assert all("turn the gain or the lamp up" in reason for _, _, reason in result.unread)
            assert len(result.unread) == 3
        assert len(result.shots) == (0 if steps < 4 else 3)


@pytest.mark.parametrize("te", [1 / 125, 1 / 15])
@pytest.mark.parametrize("seed", range(4))
def test_lamp_ripple_is_divided_out_or_widens_the_uncertainty_and_is_told(te, seed):
    bench = series(te, ripple=0.1, seed=seed)
    result = analyse(bench.recording())
    if not result.shots:  # four firings may make it look worse than it is: then it is refused, and told
        assert any("flickers" in w for w in result.warnings)
        return
    assert len(result.shots) == 4
    for shot in result.shots:
        low, high = shot.effective.coverage_interval(0.99)
        assert low < te < high
        assert "light ripple" in {c.name for c in shot.effective.budget}
        assert any("wavers" in w or "ripples" in w for w in shot.warnings)


@pytest.mark.parametrize("seed", range(4))
def test_hum_widens_the_uncertainty(seed):
    quiet, humming = (analyse(series(1 / 125, hum=h, seed=seed).recording()).shots for h in (0.0, 0.03))
    for calm, shot in zip(quiet, humming, strict=True):
        assert shot.effective.u > calm.effective.u
        low, high = shot.effective.coverage_interval()
        assert low < 1 / 125 < high


@pytest.mark.parametrize("drift", [0.6, -0.6])
def test_a_drifting_dark_level_does_no_harm(drift):
    for te in (1 / 125, 1.0):
        result = analyse(series(te, drift=drift).recording())
        assert len(result.shots) == 4
        for shot in result.shots:
            low, high = shot.effective.coverage_interval(0.99)
            assert low < te < high


def test_a_clipped_plateau_is_told_and_keeps_only_what_it_can():
    bench = series(1 / 125, n=2, amplitude=1.4, offset=-0.2)
    shots = analyse(bench.recording(subtype="PCM_16")).shots
    assert len(shots) == 2
    for shot in shots:
        assert any("clipped" in w for w in shot.warnings)
        assert shot.efficiency is None
        assert shot.total.value == pytest.approx(9 * MS, rel=0.01)
        low, high = shot.effective.coverage_interval()
        assert low < 1 / 125 < high
        assert shot.effective.u > 0.1 * MS


def test_a_clipped_plateau_of_a_table_is_noticed_by_its_flatness():
    bench = series(1 / 125, n=1, sigma=0.02)
    y = np.minimum(bench.samples(), 0.35)
    shot = analyse(as_recording(y, 48_000)).shots[0]
    assert any("clipped" in w for w in shot.warnings)


@pytest.mark.parametrize("pole_hz", [0.0, 0.3, 3.0])
def test_a_stage_driven_to_its_stop_is_noticed_by_being_quieter_than_darkness(pole_hz):
    # a fifth short of full height: the area over what is left of it is too long by some of the edges
    te = 1 / 125
    y = np.minimum(series(te, sigma=0.01, pole_hz=pole_hz, amplitude=1.0, offset=0.0).samples(), 0.8)
    y += 1e-4 * np.random.default_rng(5).standard_normal(len(y))  # of the converter behind it
    for shot in analyse(as_recording(y, 48_000)).shots:
        assert any("clipped" in w for w in shot.warnings)
        assert shot.efficiency is None
        low, high = shot.effective.coverage_interval()
        assert low < te < high


def test_a_noisy_darkness_before_a_sound_firing_is_no_clipping():
    bench = series(1 / 125, sigma=0.003, extra=(knock(0.33, 9000, 400, 0.2),))
    for shot in analyse(bench.recording()).shots:
        assert not any("clipped" in w for w in shot.warnings)


def test_light_that_does_not_come_back_gives_no_figure():
    bench = series(1 / 125, n=1, extra=(lambda t: 0.12 * (t > 0.4 + 0.0085),))
    result = analyse(bench.recording())
    assert result.shots == ()
    assert any("does not come back" in w for w in result.warnings)


def test_a_long_firing_that_is_interrupted_gives_no_figure():
    bench = Bench((Firing(0.4, MS, 4.0, MS),), rate=48_000, extra=(lambda t: -1.0 * ((t > 1.5) & (t < 2.3)),))
    for shot in analyse(bench.recording()).shots:
        low, high = shot.effective.coverage_interval()
        assert not (low < 4.001 < high and shot.effective.u < 0.01)
        assert shot.effective.value != pytest.approx(4.001, abs=0.2)


def test_two_channels_with_the_same_signal_count_once():
    y = series(1 / 60).samples()
    result = analyse(as_recording(np.column_stack([y, y]), 48_000))
    assert {s.channel for s in result.shots} == {0}
    assert result.summary.n == 4
    assert any("copy" in w for w in result.warnings)


def test_the_channel_that_holds_the_light_is_found():
    y = series(1 / 60).samples()
    rng = np.random.default_rng(4)
    dark, trace = rng.normal(0, 0.002, len(y)), 0.03 * y + rng.normal(0, 0.0005, len(y))
    result = analyse(as_recording(np.column_stack([dark, y, trace]), 48_000))
    assert {s.channel for s in result.shots} == {1}
    assert any("Channel 2 holds only a trace" in w for w in result.warnings)


def test_two_sensors_give_two_shots_for_one_firing():
    first, second = series(1 / 125), series(1 / 125, seed=5)
    later = np.roll(second.samples(), 300)
    result = analyse(as_recording(np.column_stack([first.samples(), later]), 48_000))
    assert [s.channel for s in result.shots] == [0, 1] * 4
    assert result.summary.n == 4


def test_every_figure_in_the_json_is_finite_or_null():
    benches = [
        series(1 / 125, ripple=0.1),
        nothing(),
        series(1 / 500),
        series(1 / 125, n=2, amplitude=1.4, offset=-0.2),
    ]
    for bench in benches:
        result = analyse(bench.recording(subtype="PCM_16"))
        json.dumps([result.to_json(), result.curves_json()], allow_nan=False)
