"""
Calibrations of the gear, and what readings make of them.

Truths: trapezoids of known effective time, sampled by a clock that is off by a known share; a first-order
Butterworth high-pass of SciPy's for the input.
"""

import io
import json
import math
from datetime import date, datetime, timedelta, timezone

import numpy as np
import pytest
import soundfile
from scipy import signal

from book.cast import BY
from instruments.lightcurves import Bench, Firing
from pegwood.book.benchwork import list_gear
from pegwood.book.calibrating import (
    Source,
    calibrate_gear,
    enter_calibration,
    in_use,
    saved_calibration,
    strike_out_calibration,
    told,
)
from pegwood.book.files import keep, store
from pegwood.book.instrument import marked_speed
from pegwood.book.measuring import enter_recording, keep_recording, read_recording
from pegwood.book.models import Calibration, DiaryEntry
from pegwood.book.refusal import Refused

pytestmark = pytest.mark.django_db
RATE = 24_000
FIRINGS = tuple(Firing(at=at, opening=0.002, plateau=0.0065, closing=0.002) for at in (0.4, 1.4, 2.4))
OFF = 300e-6
SAVED = {
    "calibration": "clock", "stated_rate_hz": RATE, "by": "tone", "reference_hz": 1000.0,
    "error": OFF, "error_u": 6e-6, "file": "tone.wav",
}  # fmt: skip
THE_DAY = datetime(2031, 5, 3, 12, tzinfo=timezone.utc)  # noqa: UP017


@pytest.fixture
def gate(db):
    return list_gear("light gate", serial="7", by=BY)


def as_file(y, rate=RATE, kind="WAV"):
    out = io.BytesIO()
    soundfile.write(out, y, rate, subtype="PCM_16", format=kind)
    out.seek(0)
    return out


def light(corner_hz=None):
    y = Bench(firings=FIRINGS, rate=RATE, sigma=0.002).samples()
    if corner_hz:
        y = signal.sosfilt(signal.butter(1, corner_hz, "highpass", fs=RATE, output="sos"), y)
    return as_file(y)


def saved(**changes):
    return saved_calibration(json.dumps({**SAVED, **changes}).encode(), "clock.json")


def entered(gear, made_on="2031-05-03", **changes):
    return enter_calibration(gear, saved(**changes), by=BY, made_on=date.fromisoformat(made_on), at=THE_DAY)


def read(job, gear, content=None, at=THE_DAY):
    kept = keep_recording(job, content or light(), "firings.wav", marked="1/125", by=BY, gear=gear, at=at)
    return read_recording(kept, by=BY)


def test_a_tone_is_held_against_the_clock_and_kept_with_its_recording(gate):
    t = np.arange(5 * RATE) / (RATE * (1 + OFF))
    tone = as_file(0.3 * np.sin(2 * np.pi * 1000 * t))
    one = calibrate_gear(gate, tone, "tone.wav", Source(what="tone", reference=1000, within_ppm=1), by=BY)
    assert one.data["error"] == pytest.approx(OFF, abs=1e-7)
    assert one.file.name == "tone.wav"
    assert "+300.0" in told(one)
    assert (one.due_on - one.made_on).days in (365, 366)
    assert (
        DiaryEntry.objects.filter(what="calibrated gear", text__startswith="light gate, no. 7").count() == 1
    )


def test_a_saved_calibration_sent_twice_is_one(gate):
    for _ in range(2):
        content = io.BytesIO(json.dumps(SAVED).encode())
        calibrate_gear(gate, content, "clock.json", Source(what="saved"), by=BY)
    assert Calibration.objects.count() == 1


def test_a_newer_one_takes_the_place_and_the_older_stays_readable(gate):
    old, new = entered(gate, "2030-06-01", error=1e-4), entered(gate, "2031-05-01")
    assert in_use(gate) == [new]
    assert list(gate.calibrations.all()) == [new, old]
    assert "+100.0" in told(old)


def test_one_of_long_ago_entered_late_takes_no_newer_ones_place(gate):
    new = entered(gate, "2031-05-01")
    entered(gate, "2030-06-01", error=1e-4)
    assert in_use(gate) == [new]


def test_each_sample_rate_has_a_clock_of_its_own(gate):
    assert len({entered(gate), entered(gate, stated_rate_hz=96_000)} & {*in_use(gate)}) == 2


def test_a_calibrated_clock_puts_the_time_right_and_says_so(arrived, gate):
    before = read(arrived, None)
    one = entered(gate)
    after = read(arrived, gate)
    # a clock that samples faster than it says makes every time longer than it was
    ratio = before.summary["effective_s"] / after.summary["effective_s"]
    assert ratio == pytest.approx(1 + OFF, abs=1e-6)
    (said,) = after.result["calibrations"]
    assert (said["number"], said["kind"], said["used"]) == (one.pk, "clock", True)
    assert any(f"no. {one.pk}" in note and "2031-05-03" in note for note in after.result["notes"])


def test_what_is_calibrated_anew_or_struck_out_changes_no_reading(arrived, gate):
    first = entered(gate)
    once = read(arrived, gate)
    strike_out_calibration(first, "another recorder", by=BY)
    entered(gate, "2031-05-03", error=-1e-4)
    again = read_recording(once, by=BY)
    assert again.summary == once.summary
    assert again.result == once.result
    assert first not in in_use(gate)
    assert Calibration.everything.count() == 2


def test_an_overdue_one_is_told_and_left_out(arrived, gate):
    entered(gate, "2029-01-01")
    found = read(arrived, gate)
    assert found.summary["effective_s"] == read(arrived, None).summary["effective_s"]
    assert any("due again on 2030-01-01" in line and "\n" not in line for line in found.result["warnings"])
    assert found.result["calibrations"][0]["used"] is False


def test_one_is_good_to_the_end_of_the_day_it_is_due(arrived, gate):
    entered(gate, "2030-05-03")
    assert read(arrived, gate).result["calibrations"][0]["used"] is True
    late = read(arrived, gate, at=THE_DAY + timedelta(days=1))
    assert late.result["calibrations"][0]["used"] is False


def test_a_clock_of_another_rate_is_told_and_left_out(arrived, gate):
    entered(gate, stated_rate_hz=48_000)
    found = read(arrived, gate)
    assert any(
        "at 48000 samples a second and this recording has 24000" in w for w in found.result["warnings"]
    )
    assert found.summary["effective_s"] == read(arrived, None).summary["effective_s"]


INPUT = {
    "calibration": "input", "steps": 6, "sum_per_s": 2 * math.pi * 5, "product_per_s2": 0.0,
    "covariance": [[1e-4, 0.0], [0.0, 0.0]], "file": "torch.wav",
}  # fmt: skip


def test_a_calibrated_input_narrows_what_it_undoes(arrived, gate):
    alone = read(arrived, None, light(5.0))
    enter_calibration(gate, saved_calibration(json.dumps(INPUT).encode(), "in.json"), by=BY, at=THE_DAY)
    known = read(arrived, gate, light(5.0))

    def high_pass(found):
        return next(c["u"] for c in found.summary["budget"] if c["name"] == "high-pass")

    assert high_pass(known) < 0.7 * high_pass(alone)
    assert abs(known.summary["effective_s"] - 0.0085) < 3 * known.summary["effective_u_s"]
    assert known.result["calibrations"][0]["used"] is True


def test_an_input_that_the_recording_did_not_come_through_is_told_and_left_out(arrived, gate):
    enter_calibration(gate, saved_calibration(json.dumps(INPUT).encode(), "in.json"), by=BY, at=THE_DAY)
    found = read(arrived, gate)
    assert found.summary["effective_s"] == read(arrived, None).summary["effective_s"]
    assert found.result["calibrations"][0]["used"] is False
    assert any("left out" in warning for warning in found.result["warnings"])


@pytest.mark.parametrize(
    ("content", "name", "source", "says"),
    [
        (b"{}", "clock.json", Source(what="saved"), "no calibration"),
        (b"[" * 60_000, "clock.json", Source(what="saved"), "no calibration"),
        (b'{"calibration": "clock", "error": 1e999}', "clock.json", Source(what="saved"), "lacks 'error_u'"),
        (b"{" + b" " * 70_000, "clock.json", Source(what="saved"), "too large"),
        (b"RIFF and no more", "t.wav", Source(what="torch"), "t.wav"),
        (b"x", "t.exe", Source(what="torch"), "Send a WAV"),
        (b"x", "t.wav", Source(what="tone", within_ppm=1), "frequency of the tone"),
        (b"x", "t.wav", Source(what="pulses", reference=1), "how many millionths"),
        (b"x", "t.wav", Source(what="tone", reference=math.nan, within_ppm=1), "frequency of the tone"),
    ],
)
def test_what_is_none_is_refused_in_one_line_and_nothing_is_stored(gate, content, name, source, says):
    with pytest.raises(Refused, match=says) as refused:
        calibrate_gear(gate, io.BytesIO(content), name, source, by=BY)
    assert "\n" not in str(refused.value)
    assert not Calibration.objects.exists()
    assert list(store().names()) == []


@pytest.mark.parametrize(
    "days", [{"made_on": date(2040, 1, 1)}, {"made_on": date(1, 1, 1)}, {"due_on": date(2031, 5, 3)}]
)
def test_days_that_cannot_be_are_refused(gate, days):
    with pytest.raises(Refused, match="on"):
        enter_calibration(gate, saved(), by=BY, at=THE_DAY, **days)


def test_what_was_heard_live_is_put_on_the_true_time_with_what_was_struck_out(arrived, gate):
    entered(gate)
    file = keep(light(), name="live.wav", media_type="audio/wav", at_most=10**7, at=THE_DAY)
    stretch, struck = ([int(s * RATE) for s in ends] for ends in ((0.1, 2.5), (1.4, 1.412)))
    live = {"stretches": [stretch], "struck": [struck], "phase": ""}
    speed = marked_speed("1/125")
    kept = enter_recording(arrived, speed, file, by=BY, gear=gate, at=THE_DAY, more={"live": live})
    found = read_recording(kept, by=BY)
    assert [round(shot["at_s"], 2) for shot in found.result["shots"]] == [0.3, 2.3]
    assert found.result["sample_rate_hz"] == pytest.approx(RATE * (1 + OFF))
    assert found.result["calibrations"][0]["used"] is True
