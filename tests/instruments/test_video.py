"""A phone's slow-motion video of the lit shutter: times against closed-form light curves."""

from __future__ import annotations

import contextlib
import io
import json
import math
import struct
import wave
from fractions import Fraction

import av
import numpy as np
import pytest

from pegwood.instruments.recordings import RefusedRecording
from pegwood.instruments.shutter import MarkedSpeed, limit_for
from pegwood.instruments.video import analyse_video, fastest_at
from pegwood.instruments.video._transfer import transfer_of

from .films import Film, Fired

FIFTEENTH = tuple(Fired(0.2 + 0.3513 * k, 1 / 16) for k in range(4))
FILM = Film(FIFTEENTH, size=(32, 24))


def read(film: Film, **asked):
    return analyse_video(film.file(), name="slow.mp4", **asked)


def held(result, truth: float) -> bool:
    shots = result.shutter.shots
    return bool(shots) and all(s.effective.coverage_interval()[0] < truth < s.effective.coverage_interval()[1]
                               for s in shots)  # fmt: skip


CODECS = {
    "h264": {"codec": "libx264"},
    "h264 in a mov with coarse stamps": {"codec": "libx264", "container": "mov", "ticks": 600},
    "mpeg4": {"codec": "mpeg4"},
    "mjpeg, whole range": {"codec": "mjpeg", "container": "avi", "ticks": 240},
    "without loss, stamps in whole milliseconds": {"codec": "ffv1", "container": "matroska"},
}


@pytest.mark.parametrize("packed", CODECS.values(), ids=CODECS)
def test_every_codec_gives_the_effective_time_of_the_closed_form(packed):
    """Straight ramps: te = plateau + (t1 + t2)/2 (fact sheet 1.7); here 1/16 s."""
    result = read(FILM.with_(**packed))
    assert len(result.shutter.shots) == 4
    assert held(result, 1 / 16)
    assert result.shutter.summary.effective.value == pytest.approx(1 / 16, rel=0.01)


def test_the_budget_names_what_a_video_is_uncertain_by():
    shot = read(FILM, captured_fps=240).shutter.shots[0]
    names = {part.name for part in shot.effective.budget}
    assert {"frame integration", "transfer function", "rolling rows", "noise", "frame rate", "clock"} <= names
    assert shot.effective.u > 0.05 / 240
    assert all(part.mark for part in shot.effective.budget if part.source)


def test_times_that_frames_are_too_coarse_for_are_withheld():
    shot = read(FILM).shutter.shots[0]
    assert (shot.total, shot.opening, shot.closing, shot.efficiency) == (None, None, None, None)


# --- the rate of capture --------------------------------------------------------------------------


def test_a_slowed_down_file_is_not_believed_without_the_rate_of_capture():
    with pytest.raises(RefusedRecording, match=r"30 frames a second.*such as 240, or 30"):
        read(FILM.with_(replay=8.0))


def test_a_slowed_down_file_is_read_at_the_rate_it_was_filmed():
    result = read(FILM.with_(replay=8.0), captured_fps=240)
    assert held(result, 1 / 16)
    assert (result.captured_fps, round(result.stamped_fps), result.rate_source) == (240, 30, "told")
    assert any("8 times slower" in warning for warning in result.shutter.warnings)


def test_the_rate_in_the_files_own_notes_is_used_and_told():
    result = read(FILM.with_(replay=8.0, notes={"org.example.capture.fps": "240.0"}))
    assert held(result, 1 / 16)
    assert result.rate_source == "notes"
    assert any("the file's own notes" in warning for warning in result.shutter.warnings)


def test_that_stamps_were_believed_is_told():
    assert any("taken from the file's time stamps" in warning for warning in read(FILM).shutter.warnings)


def test_a_rate_of_capture_that_cannot_be_is_refused():
    with pytest.raises(ValueError, match="Give such as 240"):
        read(FILM, captured_fps=0)


def test_stamps_that_shake_a_little_do_no_harm():
    assert held(read(FILM.with_(shake=0.2)), 1 / 16)


def test_a_frame_missing_in_the_light_is_counted_by_the_stamps():
    lit = round((FIFTEENTH[1].at + 1 / 32) * 240)
    result = read(FILM.with_(missing=(lit, lit + 1)))
    assert held(result, 1 / 16)
    assert len(result.shutter.shots) == 4
    assert any("gaps between the time stamps" in warning for warning in result.shutter.warnings)


def test_a_firing_with_a_frame_missing_at_its_edge_is_not_timed():
    edge = math.floor(FIFTEENTH[1].at * 240)
    result = read(FILM.with_(missing=(edge, edge + 1)))
    assert len(result.shutter.shots) == 3
    assert "missing where its light changes" in result.unread[0][1]


def test_a_pace_that_changes_within_the_file_asks_for_the_rate():
    """Some phones slow down a part only: here every second half runs eight times slower."""

    stamps = [k if k < 120 else 120 + 8 * (k - 120) for k in range(400)]
    content = restamped(FILM, stamps)
    with pytest.raises(RefusedRecording, match="change their pace"):
        analyse_video(io.BytesIO(content), name="ramp.mp4")
    result = analyse_video(io.BytesIO(content), name="ramp.mp4", captured_fps=240)
    assert held(result, 1 / 16)


def restamped(film: Film, stamps: list[int]) -> bytes:
    out = io.BytesIO()
    with av.open(out, "w", format="mp4") as container:
        stream = container.add_stream("libx264", rate=240)
        stream.width, stream.height = film.size
        stream.pix_fmt = "yuv420p"
        stream.time_base = stream.codec_context.time_base = Fraction(1, 240)
        for number, luma in film.frames():
            if number >= len(stamps):
                break
            frame = film._frame(luma)
            frame.pts, frame.time_base = stamps[number], Fraction(1, 240)
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return out.getvalue()


# --- slow speeds only -----------------------------------------------------------------------------


@pytest.mark.parametrize(("fps", "marked"), [(120, "1/15"), (240, "1/30"), (960, "1/125"), (30, "1/4")])
def test_the_fastest_speed_is_six_frames(fps, marked):
    """1/15 is 1/16 s, 7.5 frames of 1/120 s; 1/30 would be 3.75 (exact powers of two, fact sheet 1.5)."""
    assert fastest_at(fps) == (pytest.approx(6 / fps), marked)


def test_a_fast_speed_is_refused_with_the_fastest_that_can_be_told():
    fast = Film(tuple(Fired(0.2 + 0.3 * k, 1 / 125, 0.001, 0.001) for k in range(3)), size=(32, 24))
    result = read(fast, marked=MarkedSpeed.parse("1/125"))
    assert result.shutter.shots == ()
    assert all("nothing shorter than 25 ms (marked 1/30)" in reason for _, reason in result.unread)
    assert any("too fast for this video" in warning for warning in result.shutter.warnings)


def test_a_verdict_is_by_the_workshops_limit():
    marked = MarkedSpeed.parse("1/15")
    limit = limit_for("leaf", "older", marked)
    assert read(FILM, marked=marked, limit=limit).shutter.summary.verdict == "within"
    slow = Film(tuple(Fired(0.2 + 0.4 * k, 0.11) for k in range(3)), size=(32, 24))
    assert read(slow, marked=marked, limit=limit).shutter.summary.verdict == "outside"


# --- light ----------------------------------------------------------------------------------------

# Each the example an open colour-science library documents for its function (seen): light, stored value.
DOCUMENTED = {"BT.709": (1, 0.18, 0.4090077), "sRGB": (13, 0.18, 0.4613561), "HLG": (18, 0.015, 0.2121320)}
# The joints of the pieces as the standards print them (memory).
JOINTS = {"BT.709": (1, 0.018, 0.081), "sRGB": (13, 0.0031308, 0.04045), "HLG": (18, 1 / 12, 0.5)}


@pytest.mark.parametrize(("code", "light", "value"), DOCUMENTED.values(), ids=DOCUMENTED)
def test_a_transfer_function_goes_through_its_documented_point(code, light, value):
    assert transfer_of(code).light(np.array(value)) == pytest.approx(light, rel=2e-6)


@pytest.mark.parametrize(("code", "light", "value"), JOINTS.values(), ids=JOINTS)
def test_a_transfer_function_joins_where_the_standard_says(code, light, value):
    transfer = transfer_of(code)
    assert transfer.light(np.array(value)) == pytest.approx(light, rel=4e-3)
    below, above = transfer.light(np.array([value - 1e-9, value + 1e-9]))
    assert above == pytest.approx(below, rel=4e-3)


def test_white_is_all_the_light_there_is():
    assert transfer_of(1).light(np.array(1.0)) == pytest.approx(1.0)
    assert transfer_of(13).light(np.array(1.0)) == pytest.approx(1.0)
    assert transfer_of(18).light(np.array(1.0)) == pytest.approx(1.0, rel=1e-6)


def test_a_stream_that_does_not_say_how_it_stores_light_is_told_of():
    result = read(FILM.with_(trc=2))
    assert not result.transfer_told
    assert any("does not say how it stores light" in warning for warning in result.shutter.warnings)


def test_a_stream_stored_beyond_what_can_be_undone_is_refused():
    with pytest.raises(RefusedRecording, match="Switch HDR off"):
        read(FILM.with_(trc=16))


def test_full_light_that_is_white_is_not_timed():
    result = read(FILM.with_(full=2.0))
    assert result.shutter.shots == ()
    assert "white in the video" in result.unread[0][1]


def test_a_phone_that_changes_its_exposure_is_told_of():
    result = read(FILM.with_(gain=lambda t: 1.0 + 0.25 * (t > 0.45) + 0.25 * (t > 0.8)))
    assert any("between the firings" in warning for warning in result.shutter.warnings)
    assert held(result, 1 / 16)


def test_light_that_sags_while_open_is_told_of_or_refused():
    long = Film((Fired(0.2, 0.8),), size=(32, 24))
    sagging = read(long.with_(gain=lambda t: 1 - 0.1 * max(0.0, t - 0.2)))
    assert any("drifts while the shutter is open" in warning for warning in sagging.shutter.warnings)
    collapsing = read(long.with_(gain=lambda t: 1 - 0.5 * max(0.0, t - 0.2)))
    assert collapsing.shutter.shots == ()
    assert "lock the phone's exposure" in collapsing.unread[0][1]


def test_light_that_comes_back_after_closing_is_in_the_figure_and_told():
    """A bounce that lets through 3 ms, 8 ms after the shutter closed: 60 ms become 63."""
    fired = tuple(
        one
        for k in range(4)
        for one in (Fired(0.2 + 0.4 * k, 0.06), Fired(0.27 + 0.4 * k, 0.003, 0.001, 0.001))
    )
    result = read(Film(fired, size=(32, 24)))
    assert len(result.shutter.shots) == 4
    assert held(result, 0.063)
    assert all(shot.bounce for shot in result.shutter.shots)
    assert result.shutter.shots[0].bounce_extra_s == pytest.approx(0.003, abs=0.002)


# --- where in the picture, and rows ---------------------------------------------------------------


def test_the_region_is_found_where_the_light_changes():
    result = read(FILM.with_(size=(96, 64), spot=0.4))
    x, y, w, h = result.region
    assert result.region_found
    assert 24 <= x <= 34
    assert 30 <= w <= 46
    assert 14 <= y <= 24
    assert 20 <= h <= 34
    assert held(result, 1 / 16)


def test_a_region_can_be_given():
    result = read(FILM.with_(size=(96, 64), spot=0.4), region=(40, 26, 16, 12))
    assert not result.region_found
    assert result.region == (40, 26, 16, 12)
    assert held(result, 1 / 16)


def test_a_region_outside_the_picture_is_refused():
    with pytest.raises(RefusedRecording, match="no region 30,0,10,10 in frames of 32 x 24"):
        read(FILM, region=(30, 0, 10, 10))


@pytest.mark.parametrize("sweep", [0.0, 0.5, 0.9])
def test_the_time_of_the_rows_is_found_from_edges_of_light(sweep):
    """The film's own sweep, built in."""
    fired = tuple(Fired(0.1 + 0.1513 * k, 1 / 30) for k in range(12))
    result = read(Film(fired, size=(32, 24), sweep=sweep, exposure=0.6))
    low, high = result.row_sweep.coverage_interval()
    assert low - 0.04 / 240 < sweep / 240 < high + 0.04 / 240
    assert high - low < 0.5 / 240


def test_rows_whose_time_does_not_show_are_said_to_take_a_frame_at_most():
    result = read(Film(FIFTEENTH[:1], size=(32, 24)))
    assert result.row_sweep is None
    assert any("at most one frame period" in note for note in result.shutter.notes)


# --- nothing, or too little -----------------------------------------------------------------------


def test_a_file_without_darkness_around_a_firing_times_nothing():
    result = read(Film((Fired(0.004, 0.3),), seconds=0.5, size=(32, 24)))
    assert result.shutter.shots == ()
    assert "darkness" in result.unread[0][1]


def test_a_picture_in_which_nothing_happens_is_refused():
    with pytest.raises(RefusedRecording, match="nothing in the picture gets brighter"):
        read(Film((Fired(9.0, 0.1),), seconds=0.5, size=(32, 24)))


def test_a_light_that_is_switched_on_and_stays_is_no_firing():
    result = read(Film((Fired(0.3, 5.0),), seconds=1.0, size=(32, 24)))
    assert result.shutter.shots == ()
    assert result.shutter.summary.verdict == "no limit given"


# --- broken files ---------------------------------------------------------------------------------


def refused(content: bytes) -> str:
    with pytest.raises(RefusedRecording) as said:
        analyse_video(io.BytesIO(content), name="broken.mp4", captured_fps=240)
    line = str(said.value)
    assert "\n" not in line
    assert line.startswith("broken.mp4: ")
    return line


def sound_only() -> bytes:
    out = io.BytesIO()
    with av.open(out, "w", format="mp4") as container:
        stream = container.add_stream("aac", rate=48_000, layout="mono")
        frame = av.AudioFrame.from_ndarray(np.zeros((1, 1024), np.float32), "fltp", "mono")
        frame.sample_rate = 48_000
        container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return out.getvalue()


def plain_wave() -> bytes:
    out = io.BytesIO()
    with wave.open(out, "wb") as sound:
        sound.setparams((1, 2, 8000, 8000, "NONE", ""))
        sound.writeframes(struct.pack("<8000h", *range(8000)))
    return out.getvalue()


BROKEN = {
    "empty": lambda: b"",
    "text named mp4": lambda: b"this is no film\n" * 200,
    "a playlist": lambda: b"#EXTM3U\n#EXT-X-TARGETDURATION:1\n#EXTINF:1,\n/etc/hostname\n#EXT-X-ENDLIST\n",
    "a list of files": lambda: b"ffconcat version 1.0\nfile '/etc/hostname'\n",
    "a picture": lambda: b"\x89PNG\r\n\x1a\n" + bytes(500),
    "sound in a wave": plain_wave,
    "noise": lambda: np.random.default_rng(1).integers(0, 256, 50_000, np.uint8).tobytes(),
    "header without its index": lambda: FILM.bytes()[:3000],
}


@pytest.mark.parametrize("content", BROKEN.values(), ids=BROKEN)
def test_what_is_no_video_is_refused_in_one_line(content):
    refused(content())


def test_sound_alone_is_refused():
    assert "no picture in it" in refused(sound_only())


def test_one_frame_is_refused():
    one = Film((Fired(9.0, 0.1),), seconds=1.5 / 240, size=(32, 24))
    assert "1 frame" in refused(one.bytes())


def test_frames_of_an_impossible_size_are_refused_before_they_are_decoded():
    """The size in the header of every frame (start of frame, JPEG) is made 40000 x 40000 by hand."""
    content = FILM.with_(codec="mjpeg", container="avi", ticks=240).bytes()
    size = struct.pack(">HH", 24, 32)
    assert content.count(b"\x08" + size) > 100
    refused(content.replace(b"\x08" + size, b"\x08" + struct.pack(">HH", 40_000, 40_000)))


def test_a_film_that_is_cut_short_is_told_of_and_what_is_there_is_read():
    whole = FILM.with_(codec="mjpeg", container="avi", ticks=240).bytes()
    result = analyse_video(io.BytesIO(whole[: whole.rindex(b"00dc", 0, len(whole) * 2 // 3)]), name="cut.avi")
    assert 1 <= len(result.shutter.shots) < 4
    assert held(result, 1 / 16)
    assert any("cut short" in warning for warning in result.shutter.warnings)


def test_a_film_that_ends_within_a_frame_is_refused():
    whole = FILM.with_(codec="mjpeg", container="avi", ticks=240).bytes()
    assert "damaged" in refused(whole[: whole.rindex(b"00dc", 0, len(whole) * 2 // 3) + 60])


def test_damage_in_the_middle_is_refused_or_does_no_harm():
    whole = bytearray(FILM.bytes())
    rng = np.random.default_rng(3)
    for at in rng.integers(2000, len(whole) - 4000, 40):
        whole[at] ^= 0xFF
    with contextlib.suppress(RefusedRecording):
        result = analyse_video(io.BytesIO(bytes(whole)), name="broken.mp4")
        assert all(0.05 < s.effective.value < 0.08 for s in result.shutter.shots)


def test_a_video_without_its_reader_says_how_to_add_it(monkeypatch):
    import sys

    monkeypatch.setitem(sys.modules, "av", None)
    with pytest.raises(RefusedRecording, match=r"pip install 'pegwood\[video\]'"):
        analyse_video(io.BytesIO(b""), name="slow.mp4")


# --- the result -----------------------------------------------------------------------------------


def test_the_result_is_strict_json():
    marked = MarkedSpeed.parse("1/15")
    data = read(FILM, marked=marked, limit=limit_for("leaf", "older", marked)).to_json()
    again = json.loads(json.dumps(data, allow_nan=False))
    assert again["video"]["captured_fps"] == pytest.approx(240)
    assert again["video"]["fastest_marked"] == "1/30"
    assert again["summary"]["verdict"] == "within"
    assert all(shot["budget"] for shot in again["shots"])


def test_progress_goes_from_nothing_to_all():
    seen: list[float] = []
    analyse_video(FILM.file(), progress=seen.append)
    assert seen == sorted(seen)
    assert 0 < seen[0] < 0.1
    assert seen[-1] == pytest.approx(1.0)


def test_a_region_beside_the_light_is_refused_and_gives_no_time():
    film = Film((Fired(0.15, 0.25), Fired(0.65, 0.25), Fired(1.15, 0.25)), spot=0.4)
    with pytest.raises(RefusedRecording, match="nothing in the region 0,0,8,8 gets brighter") as refused:
        analyse_video(film.file(), region=(0, 0, 8, 8))
    assert "leave it out: then it is looked for" in str(refused.value)
    assert len(analyse_video(film.file(), region=(20, 14, 24, 20)).shutter.shots) == 3
