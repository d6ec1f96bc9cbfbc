"""
Listening live, held against closed-form light curves and against the analysis of the whole file.

The curves and their exact effective times are elementary integrals (see `lightcurves.py`); what a coupling
capacitor does to them is one pole, step-invariant. Neither shares code with the instrument.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from instruments.lightcurves import Bench, Firing, as_recording
from pegwood.instruments.recordings import RefusedRecording, held, part_of
from pegwood.instruments.shutter import (
    Heard,
    Listener,
    analyse,
    heard_from_json,
    heard_to_json,
    without_struck,
)
from pegwood.instruments.shutter.live import FADED

RATE = 48_000


def firings(n: int, te: float, *, gap: float = 1.2, edge: float = 0.002) -> tuple[Firing, ...]:
    edge = min(edge, 0.4 * te)
    return tuple(Firing(0.8 + i * (gap + te), edge, te - edge, edge, "cosine") for i in range(n))


def told(samples: np.ndarray, rate: float, marked_s: float | None, *, block_s: float = 0.05):
    """Every word of a listener, each with the moment at which the sound for it had come in, [s]."""
    frames = samples.astype(np.float32).reshape(len(samples), -1)
    listener = Listener(rate, frames.shape[1])
    listener.expected_s = marked_s
    step = int(block_s * rate)
    words: list[tuple[float, Heard]] = []
    for start in range(0, len(frames), step):
        words += [(listener.position / rate, one) for one in listener.hear(frames[start : start + step])]
    return words + [(math.inf, one) for one in listener.finish()]


def last_words(words) -> list[Heard]:
    return list({one.number: one for _, one in words}.values())


INPUTS = [(0.0, 48_000), (0.0, 192_000), (0.5, 48_000), (3.0, 48_000), (15.0, 96_000), (20.0, 48_000)]


@pytest.mark.parametrize("te", [1 / 500, 1 / 125, 1 / 30, 1 / 2, 1.0])
@pytest.mark.parametrize(("pole_hz", "rate"), INPUTS)
def test_every_firing_is_told_once_and_true_within_its_uncertainty(te, pole_hz, rate):
    """Against the closed form: no figure further off than five standard uncertainties, none missed."""
    made = firings(3, te)
    bench = Bench(made, rate=rate, pole_hz=pole_hz, seed=3, seconds=made[-1].at + te + 0.9)
    words = told(bench.samples(), rate, te)
    final = last_words(words)
    assert [one.settled for one in final] == [True] * 3
    for one, firing in zip(final, made, strict=True):
        assert one.shot is not None, one.reason
        assert abs(one.shot.effective.value - firing.effective) < 5 * one.shot.effective.u
    for _, one in words:  # provisional figures too: never a wrong one
        if one.shot is not None:
            assert abs(one.shot.effective.value - made[one.number - 1].effective) < 5 * one.shot.effective.u


IN_TIME = [(te, *one) for te in (1 / 500, 1 / 60, 1.0) for one in INPUTS if te < 1 or one[0] < 5]


@pytest.mark.parametrize(("te", "pole_hz", "rate"), IN_TIME)
def test_the_first_figure_needs_no_more_than_150_ms_of_sound_after_the_firing(te, pole_hz, rate):
    """
    Half of the 0.3 s that the page has; how long reading takes is a benchmark's to say.

    A second behind a high-pass at 15 Hz is left out: there a single firing may be refused until the next one
    helps to tell the corner.
    """
    made = firings(3, te)
    bench = Bench(made, rate=rate, pole_hz=pole_hz, seed=4, seconds=made[-1].at + te + 0.9)
    first: dict[int, float] = {}
    for at, one in told(bench.samples(), rate, te, block_s=0.04):
        if one.shot is not None:
            first.setdefault(one.number, at)
    for number, firing in enumerate(made, 1):
        assert first[number] - (firing.at + firing.total) < 0.15 + (0.06 if pole_hz else 0.0)


@pytest.mark.parametrize("pole_hz", [0.0, 3.0])
def test_live_and_the_whole_file_agree_within_their_uncertainty(pole_hz):
    made = firings(5, 1 / 60)
    bench = Bench(made, rate=RATE, pole_hz=pole_hz, seed=8, seconds=made[-1].at + 1.5)
    whole = analyse(as_recording(bench.samples(), RATE))
    live = last_words(told(bench.samples(), RATE, 1 / 60))
    assert len(live) == len(whole.shots) == 5
    for one, shot in zip(live, whole.shots, strict=True):
        assert one.shot is not None
        apart = one.shot.effective.value - shot.effective.value
        assert abs(apart) < 2 * math.hypot(one.shot.effective.u, shot.effective.u)
        assert one.shot.at_s == pytest.approx(shot.at_s, abs=1e-3)


@pytest.mark.parametrize("pole_hz", [3.0, 5.0, 8.0, 15.0, 25.0])
def test_the_first_swing_of_a_long_firing_is_never_told_for_a_short_one(pole_hz):
    """Behind a capacitor the opening alone looks like a firing of a few hundredths of a second."""
    made = firings(1, 2.0)
    bench = Bench(made, rate=RATE, pole_hz=pole_hz, seconds=2.6)
    words = [one for _, one in told(bench.samples(), RATE, 1.0)]
    assert words
    assert all(one.shot is None for one in words)
    assert all(one.reason for one in words)


def test_a_flash_that_fades_is_refused_and_says_why():
    """An exponential that dies away with 15 ms, and nothing after it."""
    t = np.arange(8 * RATE) / RATE - 1.0
    y = 0.5 * np.where(t > 0, np.minimum(1, t / 0.001) * np.exp(-np.maximum(t, 0) / 0.015), 0.0)
    y += 0.002 * np.random.default_rng(1).standard_normal(len(y))
    final = last_words(told(y, RATE, 1.0))
    assert all(one.shot is None for one in final)
    assert FADED in {one.reason for one in final} or final[-1].settled


def test_ten_minutes_of_nothing_give_no_firing():
    """White noise, hum and a slow drift."""
    rng = np.random.default_rng(5)
    rate = 8000
    t = np.arange(600 * rate) / rate
    y = 0.01 * rng.standard_normal(len(t)) + 0.02 * np.sin(2 * np.pi * 50 * t) + 0.1 * np.sin(t / 90)
    assert told(y, rate, 1 / 60, block_s=0.25) == []


def test_knocks_are_no_firings():
    """Damped swings to both sides, as of a bench that is bumped."""
    rng = np.random.default_rng(6)
    t = np.arange(10 * RATE) / RATE
    y = 0.003 * rng.standard_normal(len(t))
    for at in (2.0, 4.0, 6.0):
        since = np.maximum(t - at, 0)
        y += 0.4 * (t > at) * np.exp(-since / 0.01) * np.sin(2 * np.pi * 180 * since)
    assert [one for _, one in told(y, RATE, 1 / 60) if one.shot is not None] == []


def test_one_sensor_on_two_channels_is_one_firing():
    made = firings(2, 1 / 60)
    y = Bench(made, rate=RATE, seconds=made[-1].at + 0.9).samples()
    assert len(last_words(told(np.stack([y, y], axis=1), RATE, 1 / 60))) == 2


def test_a_listener_that_takes_over_goes_on_counting_and_tells_nothing_twice():
    made = firings(4, 1 / 60)
    y = Bench(made, rate=RATE, seconds=made[-1].at + 0.9).samples().astype(np.float32)[:, None]
    cut = int((made[1].at + 0.7) * RATE)
    first = Listener(RATE, 1)
    first.expected_s = 1 / 60
    before = [one for s in range(0, cut, 2400) for one in first.hear(y[s : min(s + 2400, cut)])]
    known = list({one.number: one for one in before}.values())
    second = Listener(RATE, 1, position=0, known=[heard_from_json(heard_to_json(one)) for one in known])
    second.expected_s = 1 / 60
    after = [one for s in range(0, len(y), 2400) for one in second.hear(y[s : s + 2400])]
    assert [one.number for one in known] == [1, 2]
    assert sorted({one.number for one in after}) == [3, 4]


def test_a_firing_outlives_being_written_down():
    made = firings(1, 1 / 60)
    ((*_, (_, one)),) = [told(Bench(made, rate=RATE, seconds=2).samples(), RATE, 1 / 60)]
    assert one.shot is not None
    back = heard_from_json(heard_to_json(one))
    assert back.shot is not None
    assert back.shot.effective == one.shot.effective
    assert replace(back, shot=None) == replace(one, shot=None)


# --- parts of a recording, and what is struck out in them ----------------------------------------------


def test_a_part_reads_as_if_it_had_been_recorded_by_itself():
    y = np.arange(1000.0)[:, None] / 1000
    whole = held(y, 1000.0, "ramp")
    part = part_of(whole, [(100, 200), (500, 650)])
    expected = np.concatenate((y[100:200], y[500:650]))
    assert np.array_equal(part.read(0, 250), expected)
    assert np.array_equal(np.concatenate(list(part.blocks(70))), expected)
    assert np.array_equal(part.read(90, 110), expected[90:110])
    assert (part.place_of(550), part.place_of(300)) == (150, None)


@pytest.mark.parametrize("stretches", [[], [(0, 0)], [(5, 3)], [(0, 2000)], [(50, 90), (60, 99)]])
def test_a_part_that_cannot_be_is_refused(stretches):
    with pytest.raises(RefusedRecording, match="no such part"):
        part_of(held(np.zeros((1000, 1)), 1000.0, "dark"), stretches)


def test_readings_that_are_no_numbers_are_refused():
    with pytest.raises(RefusedRecording):
        held(np.array([[0.0], [np.nan]]), 1000.0, "torn")


def test_a_struck_firing_is_left_out_of_the_mean_and_told():
    """Closed form: four firings of 10 ms and one of 30 ms; without it the mean is 10 ms."""
    made = tuple(Firing(0.5 + i, 0.002, (0.028 if i == 2 else 0.008), 0.002, "linear") for i in range(5))
    result = analyse(Bench(made, rate=RATE).recording())
    struck = without_struck(result, [(made[2].at - 0.02, made[2].at + 0.05)])
    assert result.summary.n == 5
    assert struck.summary.n == len(struck.shots) == 4
    assert struck.summary.effective is not None
    assert struck.summary.effective.value == pytest.approx(0.010, rel=2e-3)
    assert any("more than 1 EV" in line for line in result.warnings)
    assert not any("more than 1 EV" in line for line in struck.warnings)
    assert "1 firing was struck out by hand" in struck.notes[-1]
    assert without_struck(result, []) is result
