"""
A real recording: the camera of Debian's sound-theme-freedesktop, which ``run.py test`` installs.

An Ogg Vorbis of a camera with mirror and winder, by ear and by eye. Its loud strokes, read from the
waveform (short energies above 2 kHz, by hand): 88, 112, 149, 199 and 292 ms; from 220 to 360 ms a motor
runs.
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import soundfile
from scipy import signal

from pegwood.instruments.recordings import RefusedRecording, open_recording
from pegwood.instruments.shutter import MarkedSpeed
from pegwood.instruments.sound import MIRRORS, analyse_sound

pytestmark = pytest.mark.real_sound

CAMERA = Path("/usr/share/sounds/freedesktop/stereo/camera-shutter.oga")
READ_BY_EYE_S = (0.088, 0.112, 0.149, 0.199, 0.292)


@pytest.fixture(scope="module", autouse=True)
def it_is_there():
    assert CAMERA.exists(), (
        "Debian's sound-theme-freedesktop is not installed: python3 run.py test does it as root"
    )


def strokes_by_envelope() -> np.ndarray:
    """Without the analysis: where SciPy's Hilbert envelope above 2 kHz triples within 3 ms."""
    y, rate = soundfile.read(CAMERA, always_2d=True)
    sos = signal.butter(4, 2000, "highpass", fs=rate, output="sos")
    envelope = np.abs(signal.hilbert(signal.sosfiltfilt(sos, y[:, int(np.argmax(np.abs(y).max(axis=0)))])))
    step = rate // 1000
    smooth = np.sqrt((envelope[: len(envelope) // step * step].reshape(-1, step) ** 2).mean(axis=1))
    jumps = smooth[3:] / smooth[:-3]
    strong = (jumps > 3) & (smooth[3:] > 0.1 * smooth.max())
    at = np.flatnonzero(strong & ~np.roll(strong, 1)) + 3
    return at / 1000


def test_its_loud_strokes_are_found_at_their_times():
    result = analyse_sound(open_recording(CAMERA, compressed=True))
    found = np.array([sound.at.value for sound in result.sounds])
    for at in READ_BY_EYE_S:
        assert np.abs(found - at).min() < 0.003
    by_envelope = strokes_by_envelope()
    assert len(by_envelope) >= 3
    for at in by_envelope:
        assert np.abs(found - at).min() < 0.004


@pytest.mark.parametrize("mirror", MIRRORS)
@pytest.mark.parametrize("marked", [None, "1/8", "1/30", "1/125"])
def test_it_is_given_no_speed_whatever_is_told_of_it(mirror, marked):
    speed = None if marked is None else MarkedSpeed.parse(marked)
    result = analyse_sound(open_recording(CAMERA, compressed=True), marked=speed, mirror=mirror)
    json.dumps(result.to_json(), allow_nan=False)
    assert result.firings == ()
    assert result.shutter.summary.effective is None
    assert result.shutter.summary.verdict != "within"
    assert any("Remedy" in warning or "No firing" in warning for warning in result.shutter.warnings)


def test_its_codec_is_told_and_the_light_gate_refuses_it():
    assert open_recording(CAMERA, compressed=True).is_compressed
    with pytest.raises(RefusedRecording, match="bends the light curve"):
        open_recording(CAMERA)
