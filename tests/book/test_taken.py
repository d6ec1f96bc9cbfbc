"""
Readings by sound and by video in a job.

Truths: sounds made from known instants, videos from a closed form; neither shares code with the analysis.
"""

import io
import json

import numpy as np
import pytest
import soundfile

from book.cast import BY
from instruments.films import Film, Fired
from instruments.sounds import Camera, session
from pegwood.book.arrangement import Arrangement
from pegwood.book.benchwork import list_gear
from pegwood.book.calibrating import enter_calibration, saved_calibration
from pegwood.book.files import store
from pegwood.book.measuring import accept_measurement, accepted_speeds, keep_recording, read_recording
from pegwood.book.models import Measurement
from pegwood.book.refusal import Refused
from pegwood.book.taken import Taken

pytestmark = pytest.mark.django_db
CAMERA = {"opening_db": -3.0, "release_db": None, "gear_db": -26.0, "rattle_db": None}
FILM = Film(tuple(Fired(0.2 + 0.3513 * k, 1 / 16) for k in range(3)), size=(32, 24), replay=8.0)
SOUND, VIDEO = Taken(by="sound", mirror="none"), Taken(by="video", captured_fps=240)


@pytest.fixture(scope="module")
def heard():
    """Three firings of a quarter of a second; the file, and from opening to closing in each, [s]."""
    camera = Camera.drawn(np.random.default_rng(3), **CAMERA)
    made = session(np.random.default_rng(11), 0.25, 3, camera=camera)
    out = io.BytesIO()
    soundfile.write(out, made.samples(), made.rate, subtype="PCM_16", format="WAV")
    return out.getvalue(), [firing.closed - firing.opened for firing in made.firings], made.rate


@pytest.fixture(scope="module")
def film():
    return FILM.bytes()


def kept(job, content, name, taken, marked="1/4", **more):
    return keep_recording(job, io.BytesIO(content), name, marked=marked, by=BY, taken=taken, **more)


def test_a_time_by_sound_is_kept_with_its_own_uncertainty_and_method(arrived, heard):
    content, between, _ = heard
    found = read_recording(kept(arrived, content, "slow.wav", SOUND), by=BY)
    assert found.progress == "read"
    assert found.settings["taken"] == {"by": "sound", "mirror": "none"}
    assert found.result["method"].startswith("Sound.")
    assert abs(found.summary["effective_s"] - np.mean(between)) < 3 * found.summary["effective_u_s"]
    # by practice 1.2 ms part a leaf shutter's strokes from its light; no number of firings makes that smaller
    assert found.summary["effective_u_s"] > 0.001
    accepted = accept_measurement(found, "as found", by=BY)
    assert (accepted.phase, accepted.instrument) == ("as found", "shutter")


def test_it_is_read_again_from_the_kept_file(arrived, heard, film):
    for content, name, taken in ((heard[0], "slow.wav", SOUND), (film, "slow.mp4", VIDEO)):
        once = read_recording(kept(arrived, content, name, taken), by=BY)
        again = read_recording(Measurement.objects.get(pk=once.pk), by=BY)
        assert again.result == once.result


def test_a_time_by_video_holds_the_truth_in_its_interval(arrived, film):
    found = read_recording(kept(arrived, film, "slow.mp4", VIDEO, marked="1/15"), by=BY)
    low, high = found.summary["effective_95_s"]
    assert low < 1 / 16 < high
    assert found.result["video"]["captured_fps"] == 240
    assert found.recording.media_type == "video/mp4"


def test_a_speed_too_fast_for_sound_is_refused_with_the_remedy_and_kept(arrived, heard):
    found = read_recording(kept(arrived, heard[0], "fast.wav", SOUND, marked="1/250"), by=BY)
    assert found.progress == "refused"
    assert found.reason.startswith("Cannot tell")
    assert "light gate" in found.result["sound"]["cannot_tell"][0]["remedy"]
    assert store().path(found.recording.sha256).exists()


def test_a_video_that_does_not_tell_its_rate_of_capture_asks_for_it(arrived, film):
    found = read_recording(kept(arrived, film, "slow.mp4", Taken(by="video")), by=BY)
    assert found.progress == "refused"
    assert "240" in found.reason


def test_the_same_file_as_light_and_as_sound_are_two_readings(arrived, heard):
    first = kept(arrived, heard[0], "slow.wav", Taken())
    second = kept(arrived, heard[0], "slow.wav", SOUND)
    assert first.pk != second.pk
    assert kept(arrived, heard[0], "slow.wav", SOUND).pk == second.pk


def test_only_light_goes_into_the_pattern(arrived, heard):
    accept_measurement(read_recording(kept(arrived, heard[0], "slow.wav", SOUND), by=BY), "as found", by=BY)
    assert accepted_speeds(arrived) == {}


def test_a_calibrated_clock_serves_sound_and_an_input_says_nothing_of_it(arrived, heard):
    content, _, rate = heard
    gear = list_gear("recorder", by=BY)
    clock = {
        "calibration": "clock", "stated_rate_hz": rate, "by": "tone", "reference_hz": 1000.0, "error": 4e-4,
        "error_u": 6e-6,
    }  # fmt: skip
    alone = read_recording(kept(arrived, content, "slow.wav", SOUND), by=BY)

    enter_calibration(gear, saved_calibration(json.dumps(clock).encode(), "c.json"), by=BY)
    found = read_recording(kept(arrived, content, "slow.wav", SOUND, gear=gear), by=BY)
    ratio = alone.summary["effective_s"] / found.summary["effective_s"]
    assert ratio == pytest.approx(1 + 4e-4, abs=2e-6)
    (said,) = found.result["calibrations"]
    assert (said["kind"], said["used"]) == ("clock", True)


@pytest.mark.parametrize(
    ("name", "taken", "more", "says"),
    [
        ("slow.mp4", Taken(), {}, "'slow.mp4' may hold a video: say so"),
        ("slow.wav", VIDEO, {}, "'slow.wav' may hold light: say so"),
        ("slow.doc", SOUND, {}, "is not a recording"),
        ("slow.wav", SOUND, {"arrangement": Arrangement(contact=1)}, "need light"),
        ("slow.mp4", Taken(by="video", captured_fps=1e9), {}, "No phone films"),
        ("slow.mp4", Taken(by="video", region=(0, 0, -1, 5)), {}, "in pixels"),
        ("slow.wav", Taken(by="smell"), {}, "light, sound or a video"),  # type: ignore[arg-type]
    ],
)
def test_what_does_not_fit_is_refused_in_one_line_and_nothing_is_stored(arrived, name, taken, more, says):
    with pytest.raises(Refused, match=says) as refused:
        kept(arrived, b"x", name, taken, **more)
    assert "\n" not in str(refused.value)
    assert list(store().names()) == []


def test_where_nothing_reads_videos_one_line_says_what_to_add(arrived, film, monkeypatch):
    monkeypatch.setattr("pegwood.book.taken.can_read_video", lambda: False)
    with pytest.raises(Refused, match=r"pip install 'pegwood\[video\]'"):
        kept(arrived, film, "slow.mp4", VIDEO)


@pytest.mark.parametrize(
    ("name", "taken"), [("bad.wav", SOUND), ("bad.ogg", SOUND), ("bad.mp3", SOUND), ("bad.mp4", VIDEO)]
)
@pytest.mark.parametrize(
    "content",
    [
        b"no film at all\n" * 50,
        b"OggS" + bytes(200),
        b"ID3" + bytes(500),
        bytes(64),
        b"\x00\x00\x00\x20ftypisom",
    ],
    ids=["text", "ogg head", "mp3 head", "zeros", "mp4 head"],
)
def test_a_file_that_is_none_is_kept_and_refused_in_one_line(arrived, name, taken, content):
    found = read_recording(kept(arrived, content, name, taken), by=BY)
    assert found.progress == "refused"
    assert found.reason
    assert "\n" not in found.reason
