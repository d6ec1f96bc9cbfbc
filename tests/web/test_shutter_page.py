"""The page on which a shutter is measured, and what of it stands on the job card."""

import io
import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from shutter_results import as_kept, made

from pegwood.book import measuring
from pegwood.book.models import Gear, Job, Measurement
from pegwood.web.pages import shutter
from pegwood.web.reading import BackgroundReader

BY = "Tove Halm"


@pytest.fixture
def errands(monkeypatch) -> list:
    """What the page hands over to be read, kept instead of done."""
    kept: list = []
    reader = BackgroundReader(kept.append)
    monkeypatch.setattr("pegwood.web.pages.shutter.reader", reader)
    monkeypatch.setattr("pegwood.web.pages.readings.reader", reader)
    return kept


def url(job: Job) -> str:
    return reverse("shutter", args=[job.number])


def wav(content: bytes = b"RIFF, or so it says", name: str = "r.wav") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, content)


def read(job: Job, marked: str, error_ev: float, phase: str = "", **more) -> Measurement:
    content = f"{marked} {error_ev} {phase}".encode()
    measurement = measuring.keep_recording(job, io.BytesIO(content), "r.wav", marked=marked, by=BY)
    Measurement.objects.filter(pk=measurement.pk).update(**as_kept(made(marked, error_ev, **more)))
    measurement.refresh_from_db()
    return measuring.accept_measurement(measurement, phase, by=BY) if phase else measurement


def test_it_keeps_a_recording_and_has_it_read(client, arrived, errands):
    answer = client.post(url(arrived), {"marked": "1/25", "recording": wav()})
    measurement = arrived.measurements.get()
    assert answer.status_code == 302
    assert answer["Location"] == reverse("reading", args=[measurement.pk])
    assert (measurement.marked, measurement.progress) == ("1/25", "to be read")
    assert len(errands) == 1


def test_the_diary_has_a_row(client, arrived, errands):
    client.post(url(arrived), {"marked": "1/25", "recording": wav()})
    assert arrived.diary.filter(what="recorded the shutter", text="1/25").count() == 1


def test_sent_twice_over_a_bad_line_it_is_one(client, arrived, errands):
    for _ in range(2):
        client.post(url(arrived), {"marked": "1/25", "recording": wav()})
    assert arrived.measurements.count() == 1
    assert len(errands) == 1


def test_a_typed_marking_goes_before_a_tapped_one(client, arrived, errands):
    client.post(url(arrived), {"marked": "1/25", "other_marking": "1/75", "recording": wav()})
    assert arrived.measurements.get().marked == "1/75"


def test_a_script_is_told_where_to_go(client, arrived, errands):
    answer = client.post(
        url(arrived), {"marked": "1/25", "recording": wav()}, headers={"accept": "application/json"}
    )
    assert answer.status_code == 201
    assert answer.json() == {"go": reverse("reading", args=[arrived.measurements.get().pk])}


@pytest.mark.parametrize(
    ("sent", "field", "words"),
    [
        ({"recording": wav()}, "marked", "Tap the speed"),
        ({"marked": "1/25"}, "recording", "Record the shutter or choose a file"),
        ({"marked": "1/25", "recording": wav(b"")}, "recording", "empty"),
        ({"marked": "1/25", "recording": wav(name="r.exe")}, "recording", "not a recording"),
        ({"marked": "60", "recording": wav()}, "marked", "may mean 1/60 or 60 s"),
        ({"other_marking": "1/0", "recording": wav()}, "other_marking", "1/0"),
        ({"marked": "<script>", "recording": wav()}, "marked", "Can't read"),
        ({"marked": "1/25", "gear": "99", "recording": wav()}, "gear", "not in the workshop's list"),
    ],
)
def test_it_refuses_nonsense_in_one_line_and_says_where(client, arrived, errands, sent, field, words):
    told = client.post(url(arrived), sent, headers={"accept": "application/json"})
    assert told.status_code == 422
    assert told.json()["field"] == field
    assert words in told.json()["refused"]
    assert "\n" not in told.json()["refused"]
    assert not arrived.measurements.exists()


def test_a_refusal_keeps_what_was_typed(client, arrived, errands):
    answer = client.post(url(arrived), {"marked": "1/50", "other_marking": "1/0", "recording": wav()})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert 'value="1/50" checked' in page
    assert 'value="1/0"' in page
    assert "<script>" not in page.split("<main")[1]


def test_a_job_that_is_over_takes_no_more(client, gone_home, errands):
    assert "data-upload" not in client.get(url(gone_home)).content.decode()
    answer = client.post(url(gone_home), {"marked": "1/25", "recording": wav()})
    assert answer.status_code == 422
    assert "is over" in answer.content.decode()


def test_a_name_with_a_path_in_it_is_only_a_name(client, arrived, errands):
    client.post(url(arrived), {"marked": "1/25", "recording": wav(name="..\\..\\etc\\r.wav")})
    assert arrived.measurements.get().recording.name == "r.wav"


def test_a_form_without_its_token_is_refused(careful, arrived):
    assert careful.post(url(arrived), {"marked": "1/25", "recording": wav()}).status_code == 403


def test_the_page_is_not_found_without_its_job(client, db):
    assert client.get("/job/999/shutter/").status_code == 404


def test_it_offers_the_gear_last_used(client, arrived, errands):
    gate = Gear.objects.create(name="Light gate", serial="LG-2")
    Gear.objects.create(name="Another gate")
    client.post(url(arrived), {"marked": "1/25", "gear": gate.pk, "recording": wav()})
    page = client.get(url(arrived)).content.decode()
    assert f'<option value="{gate.pk}" selected>Light gate, no. LG-2' in page


def test_the_marking_asked_for_is_tapped_already(client, arrived):
    assert 'value="1/25" checked' in client.get(url(arrived) + "?marked=1/25").content.decode()


def test_it_warns_of_the_light_and_of_the_flash_where_the_work_is(client, arrived):
    page = client.get(url(arrived)).content.decode()
    assert "keep your eye out of the beam" in page
    assert "stay charged" in page


@pytest.mark.parametrize(
    ("found", "left", "is_read", "words"),
    [
        ((), (), False, "tap the speed on the dial"),
        ((), (), True, "as found or as left"),
        (("1/25", "1/50"), ("1/25",), False, "as left what was measured as found: 1/50"),
        (("1/25",), ("1/25",), False, "go on with the job"),
    ],
)
def test_it_says_what_comes_next(proving, found, left, is_read, words):
    assert words in shutter.next_words(proving, found, left, is_read)


def test_all_speeds_stand_beside_their_limits(client, arrived):
    read(arrived, "1/50", 0.9, "as found")
    read(arrived, "1/50", 0.05, "as left")
    read(arrived, "1/25", 0.3, "as found", u_ev=0.05)
    page = client.get(url(arrived)).content.decode()
    table = page.split("<table", 1)[1].split("</table>")[0]
    assert table.index("1/25") < table.index("1/50")
    for words in ("outside", "within", "too close to call", "−0.33 to +0.33 EV"):
        assert words in table
    assert "the workshop&#x27;s own, for old front shutters (practice)" in page


def test_the_summary_for_the_job_card_leaves_out_what_nobody_accepted(arrived):
    read(arrived, "1/50", 0.1, "as found")
    read(arrived, "1/25", 0.1)
    summary = shutter.summary(arrived)
    assert [row.marked for row in summary.rows] == ["1/50"]
    assert summary.not_accepted == 1
    assert summary.charted == 1


def test_b_stands_in_the_table_and_not_on_the_chart(arrived):
    read(arrived, "B", 0.0, "as left")
    summary = shutter.summary(arrived)
    assert [row.left.verdict for row in summary.rows] == ["no limit given"]
    assert summary.charted == 0


def test_the_chart_is_there_once_something_is_accepted(client, arrived):
    address = reverse("shutter_chart", args=[arrived.number])
    assert client.get(address).status_code == 404
    read(arrived, "1/50", 0.1, "as found")
    item = client.get(address).json()
    assert {"doc", "root_id"} <= item.keys()
    assert "1/50" in json.dumps(item)


def test_the_chart_comes_light_or_dark(client, arrived):
    read(arrived, "1/50", 0.1, "as found")
    address = reverse("shutter_chart", args=[arrived.number])
    assert "#1f6b5c" in client.get(address).content.decode()
    assert "#6fc3ae" in client.get(address + "?scheme=dark").content.decode()


def test_accepted_readings_leave_as_csv(client, arrived):
    read(arrived, "1/50", 0.1, "as found")
    read(arrived, "1/25", 0.1)
    lines = client.get(reverse("shutter_csv", args=[arrived.number])).content.decode().splitlines()
    heading, row = lines[0].split(","), lines[1].split(",")
    assert len(lines) == 2
    assert dict(zip(heading, row, strict=False))["effective_s"].startswith("0.0214")  # 20 ms * 2**0.1


def test_while_a_recording_is_read_the_list_asks_again(client, arrived, errands):
    client.post(url(arrived), {"marked": "1/25", "recording": wav()})
    assert 'hx-trigger="every 1s"' in client.get(url(arrived)).content.decode()
    errands.clear()
    waiting = client.get(reverse("shutter_waiting", args=[arrived.number])).content.decode()
    assert "being read" in waiting
    assert "<html" not in waiting


def test_once_nobody_reads_the_list_stops_asking(client, arrived):
    read(arrived, "1/25", 0.1)
    assert "hx-trigger" not in client.get(reverse("shutter_waiting", args=[arrived.number])).content.decode()


def test_many_readings_cost_no_more_queries(client, arrived, django_assert_max_num_queries):
    for i, marked in enumerate(("1", "1/2", "1/5", "1/10", "1/25", "1/50", "1/100")):
        read(arrived, marked, 0.1, "as found")
        read(arrived, marked, i / 10)
    with django_assert_max_num_queries(20):
        client.get(url(arrived))


def test_the_chart_library_comes_from_its_wheel_and_nothing_else_does(client, db):
    answer = client.get(shutter.library_url(), headers={"accept-encoding": "gzip"})
    assert answer.status_code == 200
    assert "immutable" in answer["Cache-Control"]
    assert answer["Content-Type"].startswith("text/javascript")
    assert client.get("/static/charts/bokeh-0.0.0.min.js").status_code == 404
    assert client.get("/static/charts/bokeh-..%2Fbokeh.min.js").status_code == 404
