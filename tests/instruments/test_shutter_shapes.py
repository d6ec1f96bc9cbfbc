"""
Effective, total, opening and closing time on light curves whose figures are known in closed form.

ISO 516's effective time te = (1/E0) * integral of E dt. Trapezoid: te = t0 - (t1 + t2)/2 and the width at
half height is te. Clear radius growing evenly (light with the square of time): te = t0 - (2/3)(t1 + t2),
half points at 0.7071 t1. House's fact sheet 1.7 and 12, rows 3 and 4 (memory, calculated).
"""

from __future__ import annotations

import io
import math

import numpy as np
import pytest

from pegwood.instruments.recordings import open_recording
from pegwood.instruments.shutter import MarkedSpeed, analyse, required_bandwidth_hz

from .lightcurves import EDGES, Bench, Firing, as_recording

MS = 1e-3


def only_shot(bench: Bench, **written):
    shots = analyse(bench.recording(**written)).shots
    assert len(shots) == 1
    return shots[0]


def test_trapezoid_of_ten_milliseconds():
    shot = only_shot(Bench((Firing(0.3, 2 * MS, 6 * MS, 2 * MS),), rate=200_000, sigma=0, averaged=1))
    assert shot.effective.value == pytest.approx(8 * MS, rel=1e-6)
    assert shot.efficiency.value == pytest.approx(0.8, abs=5e-4)
    assert shot.half_height_s == pytest.approx(8 * MS, rel=1e-4)
    assert shot.total.value == pytest.approx(10 * MS, rel=5e-4)
    assert shot.opening.value == pytest.approx(2 * MS, rel=2e-3)
    assert shot.closing.value == pytest.approx(2 * MS, rel=2e-3)


def test_blades_whose_clear_radius_grows_evenly():
    shot = only_shot(
        Bench((Firing(0.3, 2 * MS, 6 * MS, 2 * MS, "square"),), rate=200_000, sigma=0, averaged=1)
    )
    assert shot.effective.value == pytest.approx(7.33333 * MS, rel=1e-5)
    assert shot.half_height_s == pytest.approx(7.1716 * MS, abs=1e-3 * MS)
    assert shot.total.value == pytest.approx(10 * MS, rel=1e-3)
    # the half height reads 2.2 % short of the effective time
    assert shot.half_height_s / shot.effective.value - 1 == pytest.approx(-0.022, abs=1e-3)


@pytest.mark.parametrize("edge", EDGES)
@pytest.mark.parametrize("speed", [1 / 500, 1 / 60, 1 / 4])
def test_every_shape_is_integrated_and_not_measured_at_half_height(edge, speed):
    area = EDGES[edge][1]
    opening, closing = 0.35 * MS, 0.5 * MS
    firing = Firing(0.3, opening, speed - area * (opening + closing), closing, edge)
    shot = only_shot(Bench((firing,), sigma=1e-4, averaged=8))
    assert shot.effective.value == pytest.approx(speed, rel=1e-4)
    assert shot.total.value == pytest.approx(firing.total, abs=2 * shot.total.u)
    assert shot.opening.value == pytest.approx(opening, abs=2 * shot.opening.u)
    assert shot.closing.value == pytest.approx(closing, abs=2 * shot.closing.u)
    assert shot.at_s == pytest.approx(0.3, abs=0.1 * opening)


def lopsided_pair(**bench):
    """Quick to open and slow to close: the two must not be mixed up."""
    return only_shot(Bench((Firing(0.3, 0.5 * MS, 5 * MS, 2 * MS),), sigma=1e-3, **bench))


def test_opening_and_closing_are_not_mixed_up():
    shot = lopsided_pair()
    assert shot.opening.value == pytest.approx(0.5 * MS, rel=0.03)
    assert shot.closing.value == pytest.approx(2 * MS, rel=0.03)


def test_light_that_lowers_the_reading_gives_the_same_figures():
    up, down = lopsided_pair(amplitude=0.4), lopsided_pair(amplitude=-0.4, offset=0.2)
    assert down.effective.value == pytest.approx(up.effective.value, rel=1e-4)
    assert down.opening.value == pytest.approx(up.opening.value, rel=0.01)


@pytest.mark.parametrize("edge", ["linear", "cosine"])
def test_a_curve_without_plateau_is_told_and_widened_and_efficiency_withheld(edge):
    shot = only_shot(Bench((Firing(0.3, 1 * MS, 1e-9, 1 * MS, edge),)))
    assert shot.effective.value == pytest.approx(1 * MS, rel=0.02)
    assert shot.efficiency is None
    assert shot.effective.u > 0.1 * MS
    assert any("own peak" in w for w in shot.warnings)
    assert "full-open level" in {c.name for c in shot.effective.budget}


def test_the_full_open_level_comes_from_a_slower_firing_in_the_same_recording():
    slow, fast = Firing(0.3, 1 * MS, 9 * MS, 1 * MS), Firing(0.8, 1 * MS, 1e-9, 1 * MS)
    shots = analyse(Bench((slow, fast)).recording()).shots
    assert shots[1].effective.value == pytest.approx(1 * MS, rel=0.02)
    assert shots[1].effective.u < 0.05 * MS
    assert shots[1].efficiency.value == pytest.approx(0.5, abs=0.03)


def test_blades_that_turn_back_early_are_held_against_the_full_level():
    slow, fast = Firing(0.3, 1 * MS, 9 * MS, 1 * MS), Firing(0.8, 0.7 * MS, 1e-9, 0.7 * MS, height=0.7)
    shot = analyse(Bench((slow, fast)).recording()).shots[1]
    assert abs(shot.effective.value - 0.49 * MS) < 2 * shot.effective.u
    assert any("reached only" in w and "% of the full-open level" in w for w in shot.warnings)


def test_a_slit_narrower_than_the_sensor_is_held_against_the_full_level():
    slow, fast = Firing(0.3, 1 * MS, 30 * MS, 1 * MS), Firing(0.8, 0.7 * MS, 1 * MS, 0.7 * MS, height=0.5)
    shot = analyse(Bench((slow, fast)).recording()).shots[1]
    assert abs(shot.effective.value - 0.85 * MS) < 2 * shot.effective.u
    assert any("50 %" in w and "slit" in w for w in shot.warnings)


@pytest.mark.parametrize("seconds", [2.0, 20.0])
def test_a_bulb_firing_is_timed_by_its_two_edges(seconds):
    shot = only_shot(Bench((Firing(0.3, 2 * MS, seconds, 3 * MS),), rate=48_000))
    low, high = shot.effective.coverage_interval()
    assert low < seconds + 2.5 * MS < high
    assert shot.effective.value == pytest.approx(seconds + 2.5 * MS, abs=0.1 * MS)


def test_a_bounce_is_flagged_and_its_exposure_counted():
    clean = Firing(0.3, 1 * MS, 7 * MS, 1 * MS)
    bounced = Firing(0.3, 1 * MS, 7 * MS, 1 * MS, bounces=((1 * MS, 0.8 * MS, 0.3),))
    assert not only_shot(Bench((clean,))).bounce
    shot = only_shot(Bench((bounced,)))
    assert shot.bounce
    assert shot.bounce_extra_s == pytest.approx(2 / math.pi * 0.8 * MS * 0.3, rel=0.03)
    assert shot.effective.value == pytest.approx(bounced.effective, rel=1e-3)
    assert shot.total.value == pytest.approx(10.8 * MS, rel=0.03)


@pytest.mark.parametrize(
    ("subtype", "amplitude", "relative"),
    [
        ("PCM_U8", 0.5, 2e-3),
        ("PCM_U8", 0.1, 1e-2),
        ("PCM_16", 0.5, 5e-4),
        ("PCM_16", 0.01, 2e-3),
        ("PCM_24", 1e-4, 2e-3),
    ],
)
def test_coarse_converters_and_small_signals_still_hold_the_truth(subtype, amplitude, relative):
    firing = Firing(0.3, 1 * MS, 7 * MS, 1 * MS)
    shot = only_shot(Bench((firing,), sigma=2e-3, amplitude=amplitude), subtype=subtype)
    assert shot.effective.value == pytest.approx(8 * MS, rel=relative)
    low, high = shot.effective.coverage_interval(0.99)
    assert low < 8 * MS < high


@pytest.mark.parametrize("rate", [8000, 22_050, 44_100, 192_000])
def test_any_usual_sample_rate(rate):
    shot = only_shot(Bench((Firing(0.3, 1 * MS, 7 * MS, 1 * MS),), rate=rate, sigma=3e-3))
    assert shot.effective.value == pytest.approx(8 * MS, rel=2e-3)


def test_too_few_samples_for_the_speed_are_told_with_the_fastest_speed():
    shot = only_shot(Bench((Firing(0.3, 0.3 * MS, 0.7 * MS, 0.3 * MS),), rate=8000))
    assert any("8000 samples per second suit times down to 1/400 s" in w for w in shot.warnings)


def test_what_is_too_fast_for_the_rate_is_refused():
    result = analyse(Bench((Firing(0.3, 0.1 * MS, 0.15 * MS, 0.1 * MS),), rate=8000).recording())
    assert result.shots == ()
    told = next(w for w in result.warnings if "too fast for 8000 samples per second" in w)
    assert "time 1/2600 s at the fastest" in told  # 3 samples of 1/8000 s are 1/2667 s


@pytest.mark.parametrize(("marked", "verdict"), [("1/4000", "too fast to be timed"), ("1/2000", "coarsely")])
def test_a_marked_speed_too_fast_for_the_rate_is_told_with_the_fastest_it_can_do(marked, verdict):
    nothing = Bench((), rate=8000, seconds=2)
    result = analyse(nothing.recording(), marked=MarkedSpeed.parse(marked))
    told = next(w for w in result.warnings if w.startswith(f"Marked {marked}"))
    assert verdict in told
    assert "times is 1/2600 s, the fastest it suits 1/400 s" in told
    fastest = result.to_json()["fastest"]
    assert (fastest["timed_s"], fastest["suited_s"]) == (3 / 8000, 20 / 8000)
    assert "3 samples" in fastest["rule"]


@pytest.mark.parametrize("marked", ["1/400", "1/125", "1", "B"])
def test_a_marked_speed_that_the_rate_suits_is_not_remarked_on(marked):
    result = analyse(Bench((), rate=8000, seconds=2).recording(), marked=MarkedSpeed.parse(marked))
    assert not any(w.startswith("Marked") for w in result.warnings)


def test_a_table_from_a_scope_gives_the_same_figures_as_a_sound_file():
    bench = Bench((Firing(0.05, 1 * MS, 7 * MS, 1 * MS),), rate=50_000, seconds=0.12, sigma=2e-3, offset=0.1)
    y = bench.samples()
    rows = "".join(f"{k * 0.02:.2f};{v:.6f}\n".replace(".", ",") for k, v in enumerate(y))
    table = open_recording(io.BytesIO(("Zeit (ms);Spannung (V)\n" + rows).encode()), "scope.csv")
    shot, again = analyse(table).shots[0], analyse(as_recording(y, 50_000)).shots[0]
    assert shot.effective.value == pytest.approx(again.effective.value, rel=1e-5)
    assert shot.effective.value == pytest.approx(8 * MS, abs=2.5 * shot.effective.u)


@pytest.mark.parametrize("subtype", ["PCM_16", "PCM_24"])
def test_sixty_firings_at_uneven_times_while_the_light_drifts(subtype):
    rng = np.random.default_rng(8)
    firings, at = [], 0.3
    for _ in range(60):
        firings.append(Firing(at, 1 * MS, rng.uniform(2, 40) * MS, 1 * MS))
        at += firings[-1].total + rng.uniform(0.12, 0.6)
    bench = Bench(tuple(firings), rate=48_000, sigma=5e-3, drift=0.3, amplitude=0.4)
    shots = analyse(bench.recording(subtype=subtype)).shots
    assert len(shots) == 60
    errors = [(s.effective.value - f.effective) / s.effective.u for s, f in zip(shots, firings, strict=True)]
    assert np.sqrt(np.mean(np.square(errors))) < 1.5


def test_the_bandwidth_iso_516_asks_for():
    assert required_bandwidth_hz(1 * MS) == 100_000  # ISO 516:2019: t0 = 1 ms needs 100 kHz (seen)
    with pytest.raises(ValueError, match="above zero"):
        required_bandwidth_hz(0)
    notes = analyse(Bench((Firing(0.3, 0.2 * MS, 0.6 * MS, 0.2 * MS),)).recording()).notes
    assert any("100 kHz" in note and "48 kHz" in note for note in notes)
