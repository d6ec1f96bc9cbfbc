"""One reading: what was read, and whether it is taken as the truth. The last ones are really read."""

import csv
import io

import numpy as np
import pytest
from django.urls import reverse
from shutter_results import as_kept, made

from pegwood.book import measuring
from pegwood.book.models import Job, Measurement
from pegwood.demo import simulator as sim
from pegwood.web.pages import readings
from pegwood.web.reading import BackgroundReader

BY = "Tove Halm"


def at_once(errand):
    errand()


@pytest.fixture(autouse=True)
def reader(monkeypatch) -> BackgroundReader:
    reader = BackgroundReader(at_once)
    monkeypatch.setattr("pegwood.web.pages.shutter.reader", reader)
    monkeypatch.setattr("pegwood.web.pages.readings.reader", reader)
    return reader


def kept(job: Job, marked: str = "1/25", content: bytes = b"r", **fields) -> Measurement:
    measurement = measuring.keep_recording(job, io.BytesIO(content), "r.wav", marked=marked, by=BY)
    Measurement.objects.filter(pk=measurement.pk).update(**fields)
    measurement.refresh_from_db()
    return measurement


@pytest.fixture
def read(arrived: Job) -> Measurement:
    return kept(arrived, **as_kept(made("1/25", 0.1, warnings=("The lamp flickers.",))))


def page_of(client, measurement: Measurement) -> str:
    answer = client.get(reverse("reading", args=[measurement.pk]))
    assert answer.status_code == 200
    return answer.content.decode()


def test_it_shows_figures_verdict_limit_and_whose_it_is(client, read):
    page = page_of(client, read)
    # 40 ms * 2**0.1 = 42.87 ms; 1/25 is taken at face value
    for words in (
        "42.9 ± 1.2 ms",
        "+0.10 ±",
        "within",
        "−0.33 to +0.33 EV",
        "old front shutters",
        "practice",
    ):
        assert words in page


def test_what_stands_against_the_figures_is_said(client, read):
    assert "The lamp flickers." in page_of(client, read)


def test_every_firing_has_its_row_and_its_curve(client, read):
    page = page_of(client, read)
    for number in (1, 2, 3):
        address = reverse("firing_chart", args=[read.pk, number])
        assert address in page
        assert client.get(address).json()["doc"]
    assert client.get(reverse("firing_chart", args=[read.pk, 4])).status_code == 404
    assert client.get(reverse("firing_chart", args=[read.pk, 0])).status_code == 404


def test_many_firings_are_turned_over_page_by_page(client, arrived):
    many = kept(arrived, **as_kept(made("1/25", 0.1, n=20)))
    address = reverse("reading", args=[many.pk])
    assert reverse("firing_chart", args=[many.pk, readings.DRAWN + 1]) not in page_of(client, many)
    assert reverse("firing_chart", args=[many.pk, 20]) in client.get(f"{address}?from=16").content.decode()
    for nonsense in ("-1", "x", "9" * 30, "400"):
        assert client.get(address, {"from": nonsense}).status_code == 200


def test_a_firing_without_a_curve_is_shown_without_one(client, arrived):
    fields = as_kept(made("1/25", 0.1, n=1))
    fields["curves"][0] |= {"t_s": [0.0], "level": [0.0]}
    flat = kept(arrived, **fields)
    assert "data-chart" not in page_of(client, flat)
    assert client.get(reverse("firing_chart", args=[flat.pk, 1])).status_code == 404


@pytest.mark.parametrize("phase", ["as found", "as left"])
def test_it_is_accepted_as_found_or_as_left(client, read, phase):
    answer = client.post(reverse("reading_accept", args=[read.pk]), {"phase": phase})
    read.refresh_from_db()
    assert answer.status_code == 302
    assert read.phase == phase
    assert read.job.diary.filter(what=f"accepted {phase}").count() == 1


def test_accepting_twice_is_harmless(client, read):
    for _ in range(2):
        client.post(reverse("reading_accept", args=[read.pk]), {"phase": "as found"})
    assert read.job.diary.filter(what="accepted as found").count() == 1


def test_it_says_that_another_one_would_be_set_aside(client, read):
    measuring.accept_measurement(read, "as found", by=BY)
    second = kept(read.job, content=b"s", **as_kept(made("1/25", 0.2)))
    assert "One stands on the card as found" in page_of(client, second)


@pytest.mark.parametrize("phase", ["", "as wished", "<script>"])
def test_it_is_accepted_as_nothing_else(client, read, phase):
    answer = client.post(reverse("reading_accept", args=[read.pk]), {"phase": phase})
    read.refresh_from_db()
    assert answer.status_code == 422
    assert read.phase == ""


@pytest.mark.parametrize("name", ["reading_accept", "reading_set_aside", "reading_read_again"])
def test_looking_changes_nothing(client, read, name):
    assert client.get(reverse(name, args=[read.pk])).status_code == 405


@pytest.mark.parametrize("name", ["reading_accept", "reading_set_aside", "reading_read_again"])
def test_a_form_without_its_token_is_refused(careful, read, name):
    assert careful.post(reverse(name, args=[read.pk])).status_code == 403


def test_what_is_likelier_goes_by_where_the_job_stands(client, read, proving):
    # one and the same job, further on: what is read now is how it goes home
    read.refresh_from_db()
    page = page_of(client, Measurement.objects.get(pk=read.pk))
    filled = page.split('class="do"')[1].split("</div>")[0].split("<button>")[1]
    assert filled.startswith("Accept as left")


def test_it_is_set_aside_with_a_reason(client, read):
    answer = client.post(reverse("reading_set_aside", args=[read.pk]), {"reason": "wrong dial"})
    read.refresh_from_db()
    assert answer.status_code == 302
    assert read.set_aside
    assert read.job.diary.get(what="set a reading aside").text == "wrong dial"


def test_it_is_not_set_aside_without_a_reason(client, read):
    answer = client.post(reverse("reading_set_aside", args=[read.pk]), {"reason": " "})
    read.refresh_from_db()
    assert answer.status_code == 422
    assert "Say in a word why" in answer.content.decode()
    assert not read.set_aside


def test_a_refused_recording_says_why_and_what_to_do(client, arrived):
    refused = kept(arrived, progress="refused", reason="It is silent. Turn the level up and record again.")
    page = page_of(client, refused)
    assert "It is silent. Turn the level up and record again." in page
    assert "?marked=1%2F25#measure" in page
    assert "Accept as" not in page


def test_a_recording_nobody_reads_can_be_read_by_a_press(client, arrived, monkeypatch):
    left = kept(arrived)
    assert "Read it now" in page_of(client, left)
    done = []
    monkeypatch.setattr("pegwood.web.reading.read_recording", lambda m, **_: done.append(m.pk))
    client.post(reverse("reading_read_again", args=[left.pk]))
    assert done == [left.pk]


def test_while_it_is_read_the_page_asks_again_and_can_be_left(client, arrived, monkeypatch):
    monkeypatch.setattr("pegwood.web.pages.readings.reader", BackgroundReader([].append))
    left = kept(arrived)
    readings.reader.take(left, by=BY)
    page = page_of(client, left)
    assert 'hx-trigger="every 1s"' in page
    assert "You can leave" in page
    assert "See how far it has come" in page  # without JavaScript
    part = client.get(reverse("reading_state", args=[left.pk])).content.decode()
    assert 'id="reading"' in part
    assert "<html" not in part


def test_once_read_it_asks_no_more(client, read):
    assert 'hx-trigger="every' not in client.get(reverse("reading_state", args=[read.pk])).content.decode()


def test_the_recording_comes_back_as_it_was_sent(client, arrived):
    sent = kept(arrived, content=b"every byte of it")
    answer = client.get(reverse("reading_recording", args=[sent.pk]))
    assert b"".join(answer.streaming_content) == b"every byte of it"
    assert answer["Content-Disposition"] == 'attachment; filename="r.wav"'


def test_a_damaged_recording_is_not_handed_out(client, arrived, workshop_folder):
    sent = kept(arrived, content=b"every byte of it")
    (workshop_folder.files / sent.recording_id[:2] / sent.recording_id).write_bytes(b"other bytes")
    answer = client.get(reverse("reading_recording", args=[sent.pk]))
    assert answer.status_code == 422
    assert "damaged" in answer.content.decode()


def test_the_result_leaves_whole_as_json_and_firing_by_firing_as_csv(client, read):
    assert client.get(reverse("reading_json", args=[read.pk])).json() == read.result
    rows = list(
        csv.DictReader(io.StringIO(client.get(reverse("reading_csv", args=[read.pk])).content.decode()))
    )
    assert [float(row["effective_s"]) for row in rows] == [s["effective_s"] for s in read.result["shots"]]


@pytest.mark.parametrize(
    "name", ["reading", "reading_state", "reading_recording", "reading_json", "reading_csv"]
)
@pytest.mark.parametrize("pk", [0, 999, 10**30])
def test_there_is_no_such_reading(client, db, name, pk):
    assert client.get(reverse(name, args=[pk])).status_code == 404


def simulated(intended_s: float) -> tuple[bytes, list[float]]:
    """A healthy leaf shutter fired three times, and the effective times the simulator knows it had."""
    rng = np.random.default_rng(7)
    firings = [sim.fire_leaf(sim.LeafShutter(), sim.HEALTHY, intended_s, i, rng) for i in range(3)]
    recording = sim.record(firings, sim.LightGate(), rng)
    return sim.as_audio(recording), [truth.effective_s for truth in recording.truths(40_001)]


def test_a_recording_sent_on_the_page_is_read_by_the_instrument(client, arrived):
    content, truths = simulated(0.04)
    upload = io.BytesIO(content)
    upload.name = "r.wav"
    answer = client.post(
        reverse("shutter", args=[arrived.number]), {"marked": "1/25", "recording": upload}, follow=True
    )
    measurement = arrived.measurements.get()
    low, high = measurement.result["summary"]["effective_95_s"]
    assert answer.status_code == 200
    assert measurement.progress == "read"
    assert low <= sum(truths) / 3 <= high  # against the simulator, which shares no code with the instrument
    assert client.get(reverse("firing_chart", args=[measurement.pk, 3])).status_code == 200


@pytest.mark.parametrize(
    "content",
    [b"RIFF\xff\xff\xff\xffWAVE", b"not a recording at all" * 50, b"\x00" * 4096],
    ids=["cut short", "words", "noughts"],
)
def test_a_file_that_is_no_recording_is_refused_and_the_job_unharmed(client, arrived, content):
    upload = io.BytesIO(content)
    upload.name = "r.wav"
    answer = client.post(
        reverse("shutter", args=[arrived.number]), {"marked": "1/25", "recording": upload}, follow=True
    )
    measurement = arrived.measurements.get()
    assert measurement.progress == "refused"
    assert measurement.reason
    assert "Record again" in answer.content.decode()
    arrived.refresh_from_db()
    assert arrived.standing == "arrived"
