"""Whatever a file holds, the sound instrument answers, or refuses in one line; it never fails."""

from __future__ import annotations

import io
import json
from contextlib import suppress

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hostile import pictures, recordings
from hostile.bounds import bounded
from pegwood.instruments.recordings import RefusedRecording, open_recording
from pegwood.instruments.shutter import MarkedSpeed
from pegwood.instruments.sound import analyse_sound

from .sounds import as_recording
from .test_shutter_garbage import pieces

MANY = settings(max_examples=40, deadline=None, derandomize=True)


def answer(recording):
    result = analyse_sound(recording, marked=MarkedSpeed.parse("1/4"), mirror="none")
    json.dumps(result.to_json(), allow_nan=False)
    for shot in result.shutter.shots:
        assert shot.effective.value > 0
        assert shot.effective.u > 0
    assert result.firings or result.shutter.warnings
    return result


@MANY
@given(st.integers(0, 1 << 30), st.integers(20, 12_000), st.text("lnrdsh0p", min_size=1, max_size=14))
def test_any_sequence_of_levels_noise_and_spikes_is_answered(seed, n, kinds):
    y = np.concatenate([np.zeros(40), pieces(seed, n, kinds)])
    answer(as_recording(y, 22_050, "DOUBLE"))


@MANY
@given(st.integers(32, 3000), st.integers(0, 1 << 30))
def test_the_shortest_recordings_are_answered(n, seed):
    rng = np.random.default_rng(seed)
    y = rng.choice([0, 1e-4, 0.3]) * rng.standard_normal(n)
    y[rng.integers(0, n, 3)] = 1
    assert answer(as_recording(y, 48_000, "DOUBLE")).firings == ()


@pytest.mark.parametrize("value", [0.0, 0.3, -1.0])
def test_one_constant_is_no_sound(value):
    result = answer(as_recording(np.full(96_000, value), 48_000))
    assert result.firings == ()


@pytest.mark.parametrize("scale", [1e-30, 1e14])
def test_absurdly_small_and_large_readings_are_answered(scale):
    y = 0.001 * np.random.default_rng(1).standard_normal(96_000)
    y[[30_000, 60_000]] = 1
    answer(as_recording(scale * y, 48_000, "DOUBLE"))


def test_clicks_without_end_are_answered_in_bounded_time():
    y = 0.001 * np.random.default_rng(1).standard_normal(30 * 48_000)
    y[::480] += 0.5
    with bounded(cpu_s=60, megabytes=300):
        assert answer(as_recording(y, 48_000)).firings == ()


REFUSED = {
    "empty": b"",
    "four bytes": b"RIFF",
    "cut short": recordings.sound()[:20_000],
    "says a billion samples": recordings.wav(says=2_000_000_000),
    "at 1 Hz": recordings.wav(rate=1),
    "at 1000 Hz": recordings.wav(rate=1000),
    "1000 channels": recordings.wav(bytes(200_000), channels=1000),
    "one NaN": recordings.spoilt(float("nan")),
    "one Inf": recordings.spoilt(float("inf")),
    "a head of Ogg and nothing else": b"OggS" + bytes(900),
    "half an Ogg head": recordings.sound("OGG", "VORBIS")[:200],
    "a head of MP3 and nothing else": b"ID3\x04" + bytes(900),
    "a picture": pictures.photograph(),
    "a ZIP": pictures.zipped(),
    "a program": b"\x7fELF" + bytes(5000),
    "words": b"not a sound at all\n" * 50,
}


@pytest.mark.parametrize("what", REFUSED)
def test_what_is_no_recording_is_refused_in_one_line(what):
    with bounded(cpu_s=4, megabytes=200), pytest.raises(RefusedRecording) as refused:
        answer(open_recording(io.BytesIO(REFUSED[what]), "r.wav", compressed=True))
    assert "\n" not in str(refused.value)
    assert str(refused.value).startswith("r.wav: ")
    assert str(refused.value).endswith(".")


@pytest.mark.parametrize("kept", [0.3, 0.6, 0.9])
def test_an_ogg_cut_short_gives_no_firing(kept):
    whole = recordings.sound("OGG", "VORBIS")
    with suppress(RefusedRecording):
        cut = open_recording(io.BytesIO(whole[: int(kept * len(whole))]), "r.ogg", compressed=True)
        assert answer(cut).firings == ()
