"""
A film that was refused for want of a figure: the figure is given on its page, and the kept file read by it.

Truth: a film from a closed form of the shutter, replayed slower than it was filmed.
"""

import io

import pytest
from django.urls import reverse

from instruments.films import Film, Fired
from pegwood.book.measuring import accept_measurement, keep_recording, read_recording
from pegwood.book.models import Measurement
from pegwood.book.taken import Taken
from pegwood.web.reading import BackgroundReader

BY = "Tove Halm"
FILM = Film(tuple(Fired(0.2 + 0.3513 * k, 1 / 16) for k in range(3)), size=(32, 24), replay=8.0)


@pytest.fixture(autouse=True)
def _at_once(monkeypatch):
    reader = BackgroundReader(lambda errand: errand())
    monkeypatch.setattr(reader, "_read", lambda pk, by: _read(reader, pk, by))
    monkeypatch.setattr("pegwood.web.pages.readings.reader", reader)


def _read(reader, pk, by):
    read_recording(Measurement.objects.get(pk=pk), by=by)
    reader._under_way.pop(pk)


@pytest.fixture
def refused(arrived) -> Measurement:
    taken = Taken(by="video")
    kept = keep_recording(arrived, io.BytesIO(FILM.bytes()), "slow.mp4", marked="1/15", by=BY, taken=taken)
    return read_recording(kept, by=BY)


def page(client, measurement) -> str:
    return client.get(reverse("reading", args=[measurement.pk])).content.decode()


def film(client, measurement, **told):
    return client.post(reverse("reading_film", args=[measurement.pk]), told)


def test_the_missing_rate_is_given_on_the_page_and_the_kept_film_is_measured(client, arrived, refused):
    assert refused.progress == "refused"
    shown = page(client, refused)
    assert "Next: say below how it was filmed" in shown
    assert 'type="file"' not in shown
    assert film(client, refused, captured_fps="240").status_code == 302
    found = arrived.measurements.get()
    assert (found.pk, found.progress, found.recording_id) == (refused.pk, "read", refused.recording_id)
    low, high = found.summary["effective_95_s"]
    assert low < 1 / 16 < high
    told = arrived.diary.get(what="told more of the recording")
    assert (told.old["taken"], told.new["taken"]["captured_fps"]) == ({"by": "video"}, 240)


def test_a_part_of_the_picture_that_cannot_be_is_asked_for_again(client, refused):
    film(client, refused, captured_fps="240", region="900,1,20,20")
    found = Measurement.objects.get()
    assert "no region 900,1,20,20" in found.reason
    assert "Next: record 1/15 again" in page(client, refused)
    film(client, refused, captured_fps="240", region="0,0,32,24")
    assert Measurement.objects.get().result["video"]["region_px"] == [0, 0, 32, 24]


@pytest.mark.parametrize(
    ("told", "words"),
    [({"captured_fps": "many"}, "such as 240"), ({"region": "here"}, "x,y,width,height"),
     ({"captured_fps": "0.1"}, "No phone films 0.1")],
)  # fmt: skip
def test_what_cannot_be_is_said_at_its_field_and_changes_nothing(client, refused, told, words):
    answer = film(client, refused, **told)
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert Measurement.objects.get().reason == refused.reason


def test_a_film_that_was_accepted_stays_as_it_was_read(client, refused):
    film(client, refused, captured_fps="240")
    accepted = accept_measurement(Measurement.objects.get(), "as found", by=BY)
    assert reverse("reading_film", args=[accepted.pk]) not in page(client, accepted)
    answer = film(client, accepted, captured_fps="120")
    assert answer.status_code == 422
    assert "it stays as it is" in answer.content.decode()
    assert Measurement.objects.get().result == accepted.result


def test_a_reading_of_what_was_told_before_is_not_entered(refused, monkeypatch):
    """Told more of while it was being read: the answer to the earlier question is dropped."""
    early = Measurement.objects.get()
    Measurement.objects.update(settings={**early.settings, "taken": {"by": "video", "captured_fps": 240}})
    assert read_recording(early, by=BY).settings["taken"]["captured_fps"] == 240
    assert Measurement.objects.get().progress == "refused"
    assert Measurement.objects.get().reason == refused.reason
