"""The page of a piece of gear: its calibrations, and how one is brought to it."""

import io
import json
from datetime import date, timedelta

import numpy as np
import pytest
import soundfile
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils.timezone import localdate

from pegwood.book.benchwork import list_gear
from pegwood.book.calibrating import enter_calibration, saved_calibration
from pegwood.book.models import Calibration, DiaryEntry, Gear
from pegwood.book.workshop import workshop

BY = "Tove Halm"
CLOCK = {
    "calibration": "clock", "stated_rate_hz": 48_000, "by": "tone", "reference_hz": 1000.0, "error": 63e-6,
    "error_u": 6e-6, "file": "tone.wav",
}  # fmt: skip


@pytest.fixture
def gate(halm) -> Gear:
    return list_gear("light gate", serial="7", by=BY)


def url(gear: Gear) -> str:
    return reverse("gear", args=[gear.pk])


def saved(**changes) -> SimpleUploadedFile:
    return SimpleUploadedFile("clock.json", json.dumps({**CLOCK, **changes}).encode(), "application/json")


def known(gear: Gear, made_on: str, **changes) -> Calibration:
    found = saved_calibration(json.dumps({**CLOCK, **changes}).encode(), "clock.json")
    return enter_calibration(gear, found, by=BY, made_on=date.fromisoformat(made_on))


def test_the_workshop_leads_to_it(client, gate):
    assert url(gate) in client.get(reverse("workshop")).content.decode()


def test_a_tone_sent_from_the_page_is_a_calibration(client, gate):
    t = np.arange(5 * 8000) / (8000 * (1 + 63e-6))  # as a clock hears it that is 63 ppm fast
    out = io.BytesIO()
    soundfile.write(out, 0.3 * np.sin(2 * np.pi * 1000 * t), 8000, subtype="PCM_16", format="WAV")
    file = SimpleUploadedFile("tone.wav", out.getvalue())
    sent = {"what": "tone", "reference": "1000,0", "within_ppm": "1", "channel": "0", "file": file}
    answer = client.post(url(gate), {**sent, "due_on": "2099-12-31"})
    assert answer.status_code == 302
    assert Calibration.objects.get().data["error"] == pytest.approx(63e-6, abs=1e-6)
    text = client.get(url(gate)).content.decode()
    assert "clock +63." in text
    assert "31 Dec 2099" in text
    assert "tone.wav" in text


def test_what_the_command_saved_is_one_and_can_be_had_again(client, gate):
    answer = client.post(
        url(gate), {"what": "saved", "file": saved()}, headers={"accept": "application/json"}
    )
    assert (answer.status_code, answer.json()) == (201, {"go": url(gate)})
    one = Calibration.objects.get()
    again = client.get(reverse("calibration_json", args=[one.pk]))
    assert json.loads(again.content)["error"] == 63e-6
    file = client.get(reverse("calibration_file", args=[one.pk]))
    assert json.loads(b"".join(file.streaming_content)) == CLOCK


@pytest.mark.parametrize(
    ("sent", "field", "words"),
    [
        ({}, "what", "Tap what was recorded"),
        ({"what": "saved"}, "file", "Choose the recording"),
        ({"what": "tone", "within_ppm": "1", "file": saved()}, "reference", "true frequency"),
        ({"what": "pulses", "reference": "1", "file": saved()}, "within_ppm", "millionths"),
        ({"what": "pulses", "reference": "soon", "file": saved()}, "reference", "plain number"),
        ({"what": "torch", "file": saved()}, "file", "Send a WAV"),
        ({"what": "saved", "file": saved(error=2)}, "file", "can&#x27;t be"),
        ({"what": "saved", "file": saved(), "made_on": "2999-01-01"}, "file", "today"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(client, gate, sent, field, words):
    answer = client.post(url(gate), sent)
    assert answer.status_code == 422
    assert next(iter(answer.context["page"].form.errors)) == field
    assert words in answer.content.decode()
    assert not Calibration.objects.exists()


def test_earlier_ones_stay_readable_and_an_overdue_one_says_so(client, gate):
    known(gate, "2019-01-01", error=1e-5)
    known(gate, "2020-01-01")
    page = client.get(url(gate)).context["page"]
    assert [line.says.split(" ppm")[0] for line in (*page.used, *page.earlier)] == [
        "clock +63.0 ± 11.8",
        "clock +10.0 ± 11.8",
    ]
    assert page.used[0].state == "overdue"
    assert "overdue and not used" in page.next


@pytest.mark.parametrize(
    ("days", "shown", "next"),
    [(-1, "clock overdue", "overdue and not used"), (0, "clock due", "before it is due again"),
     (30, "clock due", "before it is due again"), (31, "light gate", "nothing")],
)  # fmt: skip
def test_the_workshops_page_says_what_is_overdue_or_soon_due_and_leads_there(client, gate, days, shown, next):
    found = saved_calibration(json.dumps(CLOCK).encode(), "clock.json")
    due_on = localdate(timezone=workshop().zone) + timedelta(days=days)
    enter_calibration(gate, found, by=BY, made_on=date(2020, 1, 1), due_on=due_on)
    text = client.get(reverse("workshop")).content.decode()
    assert shown in text
    assert (f'<a class="overdue" href="{url(gate)}"' in text) == (days <= 30)
    assert next in client.get(url(gate)).context["page"].next


def test_the_workshops_page_asks_the_book_no_more_often_for_more_gear(
    client, gate, django_assert_max_num_queries
):
    for n in range(8):
        known(list_gear(f"gate {n}", by=BY), "2020-01-01")
    with django_assert_max_num_queries(12):
        assert client.get(reverse("workshop")).content.decode().count("clock overdue") == 8


def test_a_wrong_one_is_struck_out_with_the_reason(client, gate):
    one = known(gate, "2020-01-01")
    strike = reverse("calibration_strike", args=[one.pk])
    refused = client.post(strike, {"reason": ""})
    assert refused.status_code == 422
    assert "Say why" in refused.content.decode()
    assert client.post(strike, {"reason": "another recorder"}).status_code == 302
    assert not Calibration.objects.exists()
    assert "another recorder" in DiaryEntry.objects.get(what="struck out a calibration").text
    assert "Struck out (1)" in client.get(url(gate)).content.decode()
