"""'How it was recorded' on the shutter's page: what is offered, kept, remembered and refused."""

import io

import numpy as np
import pytest
import soundfile
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from pegwood.web.diary_words import changes
from pegwood.web.reading import BackgroundReader

CONTACT, WIDEST, PLACES = 'name="contact"', 'name="widest"', 'name="places"'


@pytest.fixture(autouse=True)
def nobody_reads(monkeypatch):
    reader = BackgroundReader([].append)
    monkeypatch.setattr("pegwood.web.pages.shutter.reader", reader)
    monkeypatch.setattr("pegwood.web.pages.readings.reader", reader)


def wav(channels: int = 1) -> SimpleUploadedFile:
    out = io.BytesIO()
    soundfile.write(out, np.zeros((1000, channels)), 8000, format="WAV")
    return SimpleUploadedFile("r.wav", out.getvalue())


def url(job) -> str:
    return reverse("shutter", args=[job.number])


def page(client, job) -> str:
    return client.get(url(job)).content.decode()


def send(client, job, channels=1, **more):
    return client.post(url(job), {"marked": "1/25", "recording": wav(channels), **more})


def told(client, job, channels=1, **more):
    sent = {"marked": "1/25", "recording": wav(channels), **more}
    return client.post(url(job), sent, headers={"accept": "application/json"})


def test_a_leaf_shutter_is_offered_contact_and_stops_and_a_focal_plane_one_sensors(
    client, arrived, benno_s_reflex
):
    leaf, curtains = page(client, arrived), page(client, benno_s_reflex)
    assert CONTACT in leaf
    assert WIDEST in leaf
    assert PLACES not in leaf
    assert CONTACT in curtains
    assert PLACES in curtains
    assert WIDEST not in curtains


def test_it_is_folded_away_while_nothing_is_said(client, arrived):
    assert '<details class="arrangement"><summary>How it was recorded' in page(client, arrived)


def test_the_caution_of_a_charged_flash_stands_at_the_contact(client, arrived):
    folded = page(client, arrived).split('class="arrangement"')[1].split("</details>")[0]
    assert "Never wire a charged" in folded


def test_what_is_said_is_kept_in_si_units(client, benno_s_reflex):
    send(client, benno_s_reflex, 3, places="0, 18, 36", gate_mm="36", gap_mm="1,5", f_number="2")
    (kept,) = benno_s_reflex.measurements.all()
    assert kept.settings["arrangement"] == {
        "places_m": [0.0, 0.018, 0.036],
        "gate_m": 0.036,
        "gap_m": 0.0015,
        "f_number": 2.0,
    }


def test_contact_and_full_aperture_are_kept(client, arrived):
    send(client, arrived, 2, contact="1", widest="3.5")
    assert arrived.measurements.get().settings["arrangement"] == {"contact": 1, "widest": 3.5}


def test_nothing_said_is_one_light_channel(client, arrived):
    send(client, arrived)
    assert "arrangement" not in arrived.measurements.get().settings


def test_it_is_offered_again_for_this_job_and_for_no_other(client, arrived, benno_s_reflex):
    send(client, benno_s_reflex, 3, places="0,18,36", gate_mm="36")
    again = page(client, benno_s_reflex)
    assert 'value="0, 18, 36"' in again
    assert '<details class="arrangement" open>' in again
    assert '<details class="arrangement" open>' not in page(client, arrived)


def test_once_it_is_said_no_more_it_is_offered_no_more(client, arrived):
    send(client, arrived, 2, contact="1")
    assert '<option value="1" selected>' in page(client, arrived)
    send(client, arrived, 2)
    assert '<details class="arrangement" open>' not in page(client, arrived)


@pytest.mark.parametrize(
    ("sent", "field", "words"),
    [
        ({"widest": "wide"}, "widest", "plain number"),
        ({"widest": "nan"}, "widest", "plain number"),
        ({"widest": "0"}, "widest", "such as 2.8"),
        ({"contact": "left"}, "contact", "one of the channels"),
        ({"contact": "1"}, "recording", "no channel 1"),
        ({"places": "0, 18"}, "places", "no curtains"),
        ({"gate_mm": "36"}, "places", "need the sensors"),
    ],
)
def test_what_cannot_be_is_refused_in_one_line_at_its_field(client, arrived, sent, field, words):
    answer = told(client, arrived, **sent)
    assert answer.status_code == 422
    assert answer.json()["field"] == field
    assert words in answer.json()["refused"]
    assert "\n" not in answer.json()["refused"]
    assert not arrived.measurements.exists()


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        ({"places": "left, right"}, "in mm"),
        ({"places": "36, 0"}, "must rise"),
        ({"places": "0, 18"}, "the recording has 3 channels"),
        ({"places": "0, 18, 36", "gap_mm": "1.5"}, "needs both"),
        ({"places": "0, 18, 36", "contact": "2"}, "one light channel"),
        ({"widest": "2.8"}, "for a leaf shutter"),
    ],
)
def test_a_gate_that_cannot_be_is_refused_in_one_line(client, benno_s_reflex, sent, words):
    answer = told(client, benno_s_reflex, 3, **sent)
    assert answer.status_code == 422
    assert words in answer.json()["refused"]
    assert not benno_s_reflex.measurements.exists()


def test_a_refusal_keeps_what_was_typed_and_shows_it(client, benno_s_reflex):
    answer = send(client, benno_s_reflex, 3, places="0, 18, 36", gate_mm="20", contact="")
    shown = answer.content.decode()
    assert answer.status_code == 422
    assert '<details class="arrangement" open>' in shown
    assert 'value="0, 18, 36"' in shown
    assert 'value="20"' in shown
    assert "reach to the last sensor" in shown
    assert 'value="1/25" checked' in shown


def test_the_diary_says_it_in_millimetres(client, benno_s_reflex):
    send(client, benno_s_reflex, 3, places="0,18,36", gate_mm="36", gap_mm="1.5", f_number="8")
    entry = benno_s_reflex.diary.get(what="recorded the shutter")
    said = {change.name: change.new for change in changes(entry.old, entry.new, "en_GB", "EUR")}
    assert said["sensors at"] == "0, 18, 36 mm"
    assert said["gate"] == "36 mm"
    assert said["curtain to film"] == "1.5 mm"
    assert said["stop f/"] == "8"
