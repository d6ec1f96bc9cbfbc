"""Sound and video on the pages: how they are sent, and how a reading by them is told from one by light."""

import io

import numpy as np
import pytest
import soundfile
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from instruments.sounds import Camera, session
from pegwood.book.benchwork import list_gear
from pegwood.book.measuring import accept_measurement, keep_recording, read_recording
from pegwood.book.models import Measurement
from pegwood.book.taken import Taken
from pegwood.web.reading import BackgroundReader

BY = "Tove Halm"
CAMERA = {"opening_db": -3.0, "release_db": None, "gear_db": -26.0, "rattle_db": None}


@pytest.fixture(autouse=True)
def errands(monkeypatch) -> list:
    """What the page hands over to be read, kept instead of done."""
    kept: list = []
    monkeypatch.setattr("pegwood.web.pages.shutter.reader", BackgroundReader(kept.append))
    return kept


@pytest.fixture(scope="module")
def heard() -> bytes:
    camera = Camera.drawn(np.random.default_rng(3), **CAMERA)
    made = session(np.random.default_rng(11), 0.25, 3, camera=camera)
    out = io.BytesIO()
    soundfile.write(out, made.samples(), made.rate, subtype="PCM_16", format="WAV")
    return out.getvalue()


def url(job) -> str:
    return reverse("shutter", args=[job.number])


def read(job, content: bytes, marked: str) -> Measurement:
    taken = Taken(by="sound", mirror="none")
    kept = keep_recording(job, io.BytesIO(content), "slow.wav", marked=marked, by=BY, taken=taken)
    return read_recording(kept, by=BY)


@pytest.mark.parametrize(
    ("sent", "name", "told"),
    [
        ({"taken_by": "sound", "mirror": "locked"}, "a.wav", {"by": "sound", "mirror": "locked"}),
        ({"taken_by": "sound"}, "a.mp3", {"by": "sound", "mirror": "not told"}),
        (
            {"taken_by": "video", "captured_fps": "240", "region": "4, 4, 20, 16"},
            "a.MOV",
            {"by": "video", "captured_fps": 240.0, "region_px": [4, 4, 20, 16]},
        ),
        ({"taken_by": "sound", "widest": "2.8"}, "a.wav", {"by": "sound", "mirror": "not told"}),
        ({"taken_by": "light", "mirror": "locked"}, "a.wav", None),
        ({}, "a.wav", None),
    ],
)
def test_what_the_recording_holds_is_kept_with_it(client, arrived, sent, name, told):
    file = SimpleUploadedFile(name, b"whatever it holds")
    answer = client.post(url(arrived), {"marked": "1/4", "recording": file, **sent})
    assert answer.status_code == 302
    assert arrived.measurements.get().settings.get("taken") == told
    form = client.get(url(arrived)).context["page"].form
    assert form["taken_by"].value() == sent.get("taken_by", "light"), "it is offered again"


def test_the_light_gate_is_not_taken_for_what_heard_or_filmed_the_shutter(client, arrived):
    gate, microphone = list_gear("light gate", by=BY), list_gear("microphone", by=BY)
    form = client.get(url(arrived)).context["page"].form
    assert (form["gear"].value(), form["recorded_with"].value()) == (gate.pk, None)
    sent = {"marked": "1/4", "taken_by": "sound", "gear": gate.pk}
    client.post(url(arrived), {**sent, "recording": SimpleUploadedFile("a.wav", b"one")})
    assert arrived.measurements.latest("pk").gear is None
    told = {**sent, "recorded_with": microphone.pk}
    client.post(url(arrived), {**told, "recording": SimpleUploadedFile("b.wav", b"two")})
    assert arrived.measurements.latest("pk").gear == microphone
    form = client.get(url(arrived)).context["page"].form
    assert (form["gear"].value(), form["recorded_with"].value()) == (gate.pk, microphone.pk)


def test_a_part_of_the_picture_that_was_refused_is_not_offered_again(client, arrived):
    taken = Taken(by="video", captured_fps=240, region=(900, 1, 2, 3))
    kept = keep_recording(arrived, io.BytesIO(b"no film"), "a.mov", marked="1/4", by=BY, taken=taken)
    assert read_recording(kept, by=BY).progress == "refused"
    form = client.get(url(arrived)).context["page"].form
    assert (form["captured_fps"].value(), form["region"].value()) == ("240", "")


@pytest.mark.parametrize(
    ("sent", "name", "field", "words"),
    [
        ({"taken_by": "light"}, "a.mp4", "recording", "may hold a video: say so"),
        ({"taken_by": "video"}, "a.wav", "recording", "may hold light"),
        ({"taken_by": "video", "region": "here"}, "a.mp4", "region", "write x,y,width,height"),
        ({"taken_by": "video", "captured_fps": "many"}, "a.mp4", "captured_fps", "such as 240"),
        ({"taken_by": "taste"}, "a.mp4", "taken_by", "Tap light, sound or a video"),
    ],
)
def test_what_does_not_fit_is_said_at_its_field(client, arrived, sent, name, field, words):
    file = SimpleUploadedFile(name, b"whatever it holds")
    answer = client.post(url(arrived), {"marked": "1/4", "recording": file, **sent})
    assert answer.status_code == 422
    assert words in str(answer.context["page"].form.errors[field])
    assert not arrived.measurements.exists()


def test_without_what_reads_videos_the_page_says_what_to_add(client, arrived, monkeypatch):
    monkeypatch.setattr("pegwood.web.forms.shutter.can_read_video", lambda: False)
    assert "pip install" in client.get(url(arrived)).content.decode()


def test_a_time_by_sound_says_so_on_its_page_and_on_the_card(client, arrived, heard):
    found = read(arrived, heard, "1/4")
    page = client.get(reverse("reading", args=[found.pk])).content.decode()
    assert '<b class="by">by sound</b>' in page
    assert "chance that these are opening and closing: over 0.9" in page
    assert "strokes, not light" in page
    assert "coupling" not in page
    assert "half height" not in page
    accept_measurement(found, "as found", by=BY)
    card = client.get(reverse("job", args=[arrived.number])).content.decode()
    assert '<b class="by">by sound</b>' in card
    chart = client.get(reverse("shutter_chart", args=[arrived.number])).content.decode()
    assert "1/4\\nsound" in chart
    csv = client.get(reverse("shutter_csv", args=[arrived.number])).content.decode()
    assert csv.splitlines()[1].split(",")[5] == "sound"


def test_what_cannot_be_told_is_shown_as_such_with_the_remedy(client, arrived, heard):
    found = read(arrived, heard, "1/250")
    page = client.get(reverse("reading", args=[found.pk])).content.decode()
    assert "<h2>Cannot tell</h2>" in page
    assert "time it with a light gate" in page
    assert "Not read" not in page
    waiting = client.get(url(arrived)).content.decode()
    assert "Cannot tell (at" in waiting
    assert "not read: Cannot tell" not in waiting
