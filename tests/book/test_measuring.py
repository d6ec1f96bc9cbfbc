"""A recording comes in, is read, and is accepted. The light curves are trapezoids of known effective time."""

import io

import pytest
import soundfile

from book.cast import BENNO, BY
from instruments.lightcurves import Bench, Firing
from pegwood.book import arriving, leaving, measuring
from pegwood.book.arriving import CameraDetails
from pegwood.book.files import read, store
from pegwood.book.measuring import accept_measurement, keep_recording, read_recording, set_aside
from pegwood.book.models import Measurement
from pegwood.book.refusal import Refused
from pegwood.book.workshop import change_settings

pytestmark = pytest.mark.django_db
TRAPEZOIDS = tuple(Firing(at=at, opening=0.002, plateau=0.0065, closing=0.002) for at in (0.4, 1.4, 2.4))


def recording(*firings: Firing, seconds: float | None = None) -> io.BytesIO:
    made = Bench(firings=firings, rate=24_000, seconds=seconds, sigma=0.003)
    out = io.BytesIO()
    soundfile.write(out, made.samples(), 24_000, subtype="PCM_16", format="WAV")
    out.seek(0)
    return out


def kept(job, marked="1/125", content=None):
    return keep_recording(job, content or recording(*TRAPEZOIDS), "firings.wav", marked=marked, by=BY)


@pytest.fixture
def found(arrived):
    """Read from three firings at 1/125, not accepted yet."""
    return read_recording(kept(arrived), by=BY)


def test_the_recording_itself_is_kept(arrived):
    content = recording(*TRAPEZOIDS)
    measurement = kept(arrived, content=content)
    assert read(measurement.recording) == content.getvalue()
    assert measurement.progress == "to be read"
    assert [m.pk for m in measuring.unread()] == [measurement.pk]


def test_what_is_read_is_the_trapezoids_effective_time(found):
    assert found.progress == "read"
    # ISO 516: exposure over full-open illuminance; 6.5 ms + half of 2 ms + half of 2 ms
    assert abs(found.summary["effective_s"] - 0.0085) < 3 * found.summary["effective_u_s"]
    assert len(found.curves) == len(found.result["shots"]) == 3
    assert measuring.unread() == []


def test_how_it_was_asked_is_kept_with_it(arrived):
    change_settings({"reading": "as marked"}, by=BY)
    measurement = kept(arrived)
    assert measurement.settings["reading"] == "as marked"
    assert measurement.settings["limit"]["mark"] == "practice"
    change_settings({"reading": "exact"}, by=BY)
    # asked "as marked", it is read so, whatever the workshop has chosen since: log2(8.5 ms / 8 ms)
    assert read_recording(measurement, by=BY).summary["error_ev"] == pytest.approx(0.0875, abs=0.01)


def test_the_workshops_own_limit_comes_before_the_default(arrived):
    row = {
        "kind": "leaf", "age": "any", "slowest_s": 1, "fastest_s": 0.001, "unit": "ev", "low": -0.1,
        "high": 0.05, "source": "Lantern bench, rule of 2031", "mark": "practice",
    }  # fmt: skip
    change_settings({"limits": [row]}, by=BY)
    summary = read_recording(kept(arrived), by=BY).summary
    # log2(8.5 ms / (1/128 s)) is +0.12 EV: beyond that limit by many times the uncertainty
    assert (summary["verdict"], summary["limit_source"]) == ("outside", "Lantern bench, rule of 2031")


def test_a_year_not_known_is_said_beside_the_limit(db):
    job = arriving.take_in(BENNO, CameraDetails(family="twin-lens-reflex"), by=BY)
    assert "taken as an older shutter" in kept(job).settings["limit"]["note"]


def test_a_kind_of_shutter_not_known_has_no_limit(db):
    job = arriving.take_in(BENNO, CameraDetails(family="other", maker="Vorrin"), by=BY)
    assert read_recording(kept(job), by=BY).summary["verdict"] == "no limit given"


def test_b_is_measured_without_a_limit(arrived):
    held = recording(Firing(at=0.3, opening=0.002, plateau=1.2, closing=0.002))
    measurement = read_recording(kept(arrived, marked="b", content=held), by=BY)
    assert measurement.marked == "B"
    assert measurement.summary["error_ev"] is None
    assert measurement.summary["effective_s"] == pytest.approx(1.202, abs=0.001)


def test_a_recording_without_a_firing_is_refused_with_the_reason(arrived):
    measurement = read_recording(kept(arrived, content=recording(seconds=1.0)), by=BY)
    assert (measurement.progress, measurement.phase) == ("refused", "")
    assert "firing" in measurement.reason
    with pytest.raises(Refused, match="nothing to accept"):
        accept_measurement(measurement, "as found", by=BY)


def test_a_file_that_is_no_recording_is_refused_and_kept(arrived):
    measurement = read_recording(kept(arrived, content=io.BytesIO(b"RIFF and no more")), by=BY)
    assert measurement.progress == "refused"
    assert measurement.reason
    assert read(measurement.recording) == b"RIFF and no more"


@pytest.mark.parametrize(
    ("name", "marked", "says"),
    [
        ("firings.exe", "1/125", "not a recording"),
        ("firings", "1/125", "not a recording"),
        ("firings.wav", "soon", "marked speed"),
        ("firings.wav", "60", "may mean"),
    ],
)
def test_what_cannot_be_read_at_all_is_refused_at_the_door(arrived, name, marked, says):
    with pytest.raises(Refused, match=says):
        keep_recording(arrived, io.BytesIO(b"x"), name, marked=marked, by=BY)
    assert not Measurement.objects.exists()
    assert list(store().names()) == []


def test_accepting_is_in_the_diary_with_the_figures(found):
    accept_measurement(found, "as found", by=BY)
    entry = found.job.diary.get(what="accepted as found")
    assert entry.text == "1/125"
    assert entry.new["effective_s"] == found.summary["effective_s"]


def test_a_later_reading_takes_the_place_of_an_earlier_one(arrived, found):
    accept_measurement(found, "as found", by=BY)
    again = read_recording(kept(arrived, content=recording(*TRAPEZOIDS[:2])), by=BY)
    accept_measurement(again, "as found", by=BY)
    found.refresh_from_db()
    assert found.set_aside
    assert arrived.measurements.get(phase="as found", set_aside=False).pk == again.pk


def test_found_and_left_stand_beside_each_other(arrived, found):
    accept_measurement(found, "as found", by=BY)
    left = read_recording(kept(arrived, content=recording(*TRAPEZOIDS[:2])), by=BY)
    accept_measurement(left, "as left", by=BY)
    assert arrived.measurements.filter(set_aside=False).exclude(phase="").count() == 2


def test_accepting_twice_is_harmless(found):
    accept_measurement(found, "as found", by=BY)
    accept_measurement(found, "as found", by=BY)
    assert found.job.diary.filter(what="accepted as found").count() == 1


def test_an_accepted_reading_is_not_read_anew(found):
    accepted = accept_measurement(found, "as found", by=BY)
    with pytest.raises(Refused, match="was accepted"):
        read_recording(accepted, by=BY)


def test_a_reading_set_aside_leaves_its_recording_and_its_entry(found):
    accept_measurement(found, "as found", by=BY)
    set_aside(found, "lamp was bumped", by=BY)
    found.refresh_from_db()
    assert found.set_aside
    assert read(found.recording)
    assert found.job.diary.get(what="set a reading aside").text == "lamp was bumped"


def test_a_reading_of_a_job_that_is_over_stands(found):
    accept_measurement(found, "as found", by=BY)
    leaving.send_back_unmended(found.job, "too dear", by=BY)
    with pytest.raises(Refused, match="stand as they were handed over"):
        set_aside(found, "too late", by=BY)


def test_a_damaged_recording_is_not_read(arrived):
    measurement = kept(arrived)
    store().path(measurement.recording.sha256).write_bytes(b"rotten")
    with pytest.raises(Refused, match="damaged"):
        read_recording(measurement, by=BY)
