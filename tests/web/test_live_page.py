"""The live page's server side: pieces of sound, steps, what is kept, and what is refused."""

from __future__ import annotations

import io
import json
from uuid import UUID, uuid4

import numpy as np
import pytest
import soundfile
from django.test import Client

from pegwood.book.files.spool import Spool, samples
from pegwood.book.files.store import read
from pegwood.book.models import DiaryEntry, Job, Measurement, StoredFile
from pegwood.demo import simulator as sim
from pegwood.web import hearing
from pegwood.web.reading import BackgroundReader

BY = "Tove Halm"
RATE = 48_000
TICKET = UUID("5f0c7a52-7f0f-4f0e-9a54-3d2b1c0a9e87")
PLAN = {"speeds": ["1/25", "1/50"], "firings": "3", "order": "slowest", "phase": "as found"}


@pytest.fixture(autouse=True)
def fresh_ears(monkeypatch):
    ears = hearing.Ears()
    monkeypatch.setattr("pegwood.web.pages.live.ears", ears)
    monkeypatch.setattr("pegwood.web.pages.live.warm_up", lambda: None)
    return ears


@pytest.fixture
def read_at_once(monkeypatch):
    reader = BackgroundReader(lambda errand: errand())
    for page in ("live", "shutter", "readings"):
        monkeypatch.setattr(f"pegwood.web.pages.{page}.reader", reader)


def fired(intended_s: float, n: int, seed: int) -> tuple[np.ndarray, list[float]]:
    """A leaf shutter by the simulator, which shares no code with the instrument: readings and truths, [s]."""
    rng = np.random.default_rng(seed)
    firings = [sim.fire_leaf(sim.LeafShutter(), sim.HEALTHY, intended_s, i, rng) for i in range(n)]
    gate = sim.LightGate(converter=sim.Converter(sample_rate_hz=RATE))
    recording = sim.record(firings, gate, rng, lead_s=0.8, pause_s=0.8)
    sound, rate = soundfile.read(io.BytesIO(sim.as_audio(recording)), always_2d=True)
    assert rate == RATE
    return sound[:, 0], [truth.effective_s for truth in recording.truths(40_001)]


def pcm(sound: np.ndarray) -> bytes:
    """24-bit little-endian, put together by the struct of the format alone."""
    whole = np.clip(np.round(np.asarray(sound) * 2**23), -(2**23), 2**23 - 1).astype("<i4")
    return whole.view(np.uint8).reshape(-1, 4)[:, :3].tobytes()


class Bench:
    """A page that listens, as the script does it."""

    def __init__(self, client: Client, job: Job, ticket: UUID = TICKET, **plan: object) -> None:
        self.client, self.at, self.n = client, 0, 0
        self.base = f"/job/{job.number}/shutter/live/"
        sent = {**PLAN, "ticket": str(ticket), "rate": RATE, "channels": 1, **plan}
        self.begun = client.post(f"{self.base}begin/", sent)
        self.session = f"{self.base}{ticket}/"

    def step(self, **entry: object):
        self.n += 1
        return self.send_step({"n": self.n, "at": self.at, **entry})

    def send_step(self, entry: object):
        return self.client.post(f"{self.session}step/", json.dumps(entry), content_type="application/json")

    def listen(self, voice: str = "one"):
        return self.step(do="listen", voice=voice, device="line in", bent=[])

    def send(self, sound: bytes, at: int | None = None, *, voice: str = "one", channels: int = 1):
        place = self.at if at is None else at
        answer = self.client.post(
            f"{self.session}sound/?at={place}&voice={voice}", sound, content_type="application/octet-stream"
        )
        if at is None and answer.status_code == 200:
            self.at += len(sound) // (3 * channels)
        return answer

    def hear(self, sound: np.ndarray, piece: int = RATE // 5) -> None:
        for start in range(0, len(sound), piece):
            assert self.send(pcm(sound[start : start + piece])).status_code == 200

    def state(self) -> dict:
        return self.client.get(f"{self.session}state/").json()

    def spool(self) -> Spool:
        return Spool.open(TICKET)


@pytest.fixture
def bench(client: Client, arrived: Job) -> Bench:
    bench = Bench(client, arrived)
    assert bench.begun.status_code == 200, bench.begun.content
    assert bench.listen().status_code == 200
    bench.step(do="go", speed="1/25")
    return bench


def test_a_shutter_is_fired_down_its_speeds_and_kept_whole(
    bench: Bench, client: Client, arrived, read_at_once
):
    slow, slow_truth = fired(1 / 25, 4, 1)
    fast, fast_truth = fired(1 / 50, 3, 2)
    bench.hear(slow)
    bench.step(do="strike", firings=[2])
    bench.step(do="go", speed="1/50")
    bench.hear(fast)
    state = bench.state()
    assert (state["speed"], state["done"], len(state["standing"])) == ("1/50", True, 3)
    answer = client.post(f"{bench.session}keep/")
    assert (answer.status_code, answer["Location"]) == (302, f"/job/{arrived.number}/shutter/#open-readings")
    one, two = Measurement.objects.order_by("pk")
    assert (one.marked, two.marked, one.progress, two.progress) == ("1/25", "1/50", "read", "read")
    assert one.recording_id == two.recording_id
    assert StoredFile.objects.count() == 1
    assert one.summary["n"] == 3
    assert one.summary["effective_s"] == pytest.approx(np.mean(np.delete(slow_truth, 1)), rel=2e-3)
    assert two.summary["effective_s"] == pytest.approx(np.mean(fast_truth), rel=2e-3)
    assert "1 firing was struck out by hand" in " ".join(one.result["notes"])
    whole, rate = soundfile.read(io.BytesIO(read(one.recording)), dtype="int32")
    sent = np.concatenate([slow, fast])
    assert rate == RATE
    assert np.array_equal(whole >> 8, np.round(sent * 2**23).astype(np.int32))
    assert (one.settings["live"]["phase"], one.settings["live"]["session"]) == ("as found", str(TICKET))
    entry = DiaryEntry.objects.get(what="listened to the shutter")
    assert (entry.text, entry.new["firings"], entry.new["struck_out"]) == ("1/25, 1/50", 7, 1)


def test_kept_twice_it_is_kept_once(bench: Bench, client: Client, read_at_once, settings):
    bench.hear(fired(1 / 25, 3, 1)[0])
    for _ in range(2):
        assert client.post(f"{bench.session}keep/").status_code == 302
    assert Measurement.objects.count() == 1
    assert not (settings.WORKSHOP.live / str(TICKET)).exists()


def test_a_piece_sent_twice_lies_once(bench: Bench):
    sound = pcm(np.linspace(-0.5, 0.5, 4800))
    assert bench.send(sound, 0).json()["have"] == 4800
    assert bench.send(sound, 0).json()["have"] == 4800
    assert bench.send(sound[: 3 * 100], 50).json()["have"] == 4800
    assert np.array_equal(bench.spool().sound(0, 4800), samples(sound, 1))


def test_a_piece_that_overlaps_adds_what_is_new(bench: Bench):
    sound = pcm(np.linspace(-0.5, 0.5, 4800))
    bench.send(sound[: 3 * 3000], 0)
    assert bench.send(sound[3 * 2000 :], 2000).json()["have"] == 4800
    assert np.array_equal(bench.spool().sound(0, 4800), samples(sound, 1))


def test_a_piece_that_comes_too_early_is_refused_with_the_frame_that_is_wanted(bench: Bench):
    bench.send(pcm(np.zeros(100)), 0)
    answer = bench.send(pcm(np.zeros(100)), 300)
    assert (answer.status_code, answer.json()) == (409, {"have": 100})


@pytest.mark.parametrize("piece", [b"", b"12", b"1234", b"\0" * (1024 * 1024 + 2)])
def test_what_is_no_piece_of_sound_is_refused(bench: Bench, piece):
    answer = bench.send(piece, 0)
    assert answer.status_code == 422
    assert "piece of sound" in answer.json()["refused"]
    assert bench.spool().frames == 0


@pytest.mark.parametrize("at", ["", "-1", "1e3", "x", "9" * 13, "٣"])
def test_a_piece_without_its_place_is_refused(bench: Bench, client, at):
    answer = client.post(
        f"{bench.session}sound/?at={at}&voice=one", b"\0" * 3, content_type="application/octet-stream"
    )
    assert answer.status_code == 422


def test_a_session_has_its_fill_at_an_hour(bench: Bench, monkeypatch):
    monkeypatch.setattr("pegwood.book.listening.LONGEST_S", 1)
    assert bench.send(pcm(np.zeros(RATE))).status_code == 200
    answer = bench.send(pcm(np.zeros(10)))
    assert answer.status_code == 422
    assert "has its fill" in answer.json()["refused"]


def test_nothing_is_taken_for_a_job_that_is_over(bench: Bench, arrived):
    Job.objects.filter(pk=arrived.pk).update(standing="gone home")
    answer = bench.send(pcm(np.zeros(100)), 0)
    assert answer.status_code == 422
    assert "is over" in answer.json()["refused"]
    assert (
        bench.client.post(
            f"{bench.base}begin/", {**PLAN, "ticket": str(uuid4()), "rate": 48000, "channels": 1}
        ).status_code
        == 422
    )


def test_only_the_page_that_listens_is_heard(bench: Bench):
    assert bench.listen("another").status_code == 200
    answer = bench.send(pcm(np.zeros(100)), 0)
    assert answer.status_code == 409
    assert "Another page" in answer.json()["refused"]
    assert bench.send(pcm(np.zeros(100)), 0, voice="another").status_code == 200


@pytest.mark.parametrize(
    "entry",
    [
        [], "go", {}, {"n": 3}, {"n": 3, "at": -1, "do": "go", "speed": "1/50"},
        {"n": 3, "at": 0, "do": "go", "speed": "60"}, {"n": 3, "at": 0, "do": "go"},
        {"n": 3, "at": 0, "do": "strike", "firings": "all"},
        {"n": 3, "at": 0, "do": "strike", "firings": [True]},
        {"n": 3, "at": 0, "do": "dance"}, {"n": True, "at": 0, "do": "go", "speed": "1/50"},
        {"n": 9, "at": 0, "do": "go", "speed": "1/50"},
    ],
)  # fmt: skip
def test_what_is_no_step_is_refused_and_nothing_is_written_down(bench: Bench, entry):
    before = bench.spool().noted("log")
    answer = bench.send_step(entry)
    assert answer.status_code == 422
    assert answer.json()["refused"]
    assert bench.spool().noted("log") == before


def test_a_step_sent_twice_counts_once(bench: Bench):
    entry = {"n": 3, "at": 0, "do": "go", "speed": "1/50"}
    for _ in range(2):
        assert bench.send_step(entry).json()["last"] == 3
    assert len(bench.spool().noted("log")) == 3


def test_what_was_struck_out_can_be_taken_back(bench: Bench):
    bench.hear(fired(1 / 25, 3, 1)[0])
    bench.step(do="strike", firings=[3])
    assert bench.state()["standing"] == [1, 2]
    assert "struck out" in bench.state()["html"]
    bench.step(do="take back", firings=[3])
    assert bench.state()["standing"] == [1, 2, 3]


def test_a_speed_can_be_gone_back_to(bench: Bench, read_at_once):
    sound, truths = fired(1 / 25, 2, 1)
    bench.hear(sound)
    bench.step(do="go", speed="1/50")
    bench.hear(fired(1 / 50, 2, 2)[0])
    bench.step(do="go", speed="1/25")
    more, more_truths = fired(1 / 25, 2, 3)
    bench.hear(more)
    bench.client.post(f"{bench.session}keep/")
    slow = Measurement.objects.get(marked="1/25")
    assert slow.summary["n"] == 4
    assert len(slow.settings["live"]["stretches"]) == 2
    assert slow.summary["effective_s"] == pytest.approx(np.mean([*truths, *more_truths]), rel=2e-3)


def test_a_misfire_is_flagged_and_stays(bench: Bench):
    good, bad = fired(1 / 25, 3, 1)[0], fired(1 / 12, 1, 2)[0]
    bench.hear(np.concatenate([good, bad]))
    html = bench.state()["html"]
    assert "look at it" in html
    assert "longer than the middle of the other 3" in html
    assert bench.state()["standing"] == [1, 2, 3, 4]


def test_another_server_takes_over_from_what_lies_on_the_disk(bench: Bench, monkeypatch):
    sound = fired(1 / 25, 4, 1)[0]
    half = len(sound) // 2
    bench.hear(sound[:half])
    before = bench.state()["standing"]
    monkeypatch.setattr("pegwood.web.pages.live.ears", hearing.Ears())  # as after a restart
    bench.hear(sound[half:])
    assert before
    assert bench.state()["standing"] == [1, 2, 3, 4]


def test_a_line_that_a_power_cut_tore_is_passed_over(bench: Bench):
    place = bench.spool().folder / "log.jsonl"
    place.write_text(place.read_text() + '{"n": 3, "at": 0, "do": "g')
    assert bench.step(do="go", speed="1/50").json()["last"] == 3
    assert bench.state()["speed"] == "1/50"


def test_listening_again_after_a_pause_parts_the_recording(bench: Bench, read_at_once):
    bench.hear(fired(1 / 25, 2, 1)[0])
    at = bench.at
    bench.listen("two")
    for start in range(0, len(more := fired(1 / 25, 2, 4)[0]), 9600):
        bench.send(pcm(more[start : start + 9600]), voice="two")
    bench.client.post(f"{bench.session}keep/")
    (only,) = Measurement.objects.all()
    assert [a for a, _ in only.settings["live"]["stretches"]] == [0, at]
    assert only.summary["n"] == 4


def test_nothing_heard_is_nothing_to_keep(bench: Bench, client):
    bench.hear(0.001 * np.random.default_rng(1).standard_normal(RATE))
    answer = client.post(f"{bench.session}keep/", follow=True)
    assert "no firing was heard" in answer.content.decode()
    assert Measurement.objects.count() == 0
    assert bench.spool().frames == RATE


def test_a_session_can_be_thrown_away_and_twice_is_harmless(bench: Bench, client):
    for _ in range(2):
        assert client.post(f"{bench.session}drop/").status_code == 302
    assert client.get(f"{bench.session}state/").status_code == 404


def test_a_session_of_another_job_is_not_there(bench: Bench, client, benno_s_reflex):
    assert client.get(f"/job/{benno_s_reflex.number}/shutter/live/{TICKET}/state/").status_code == 404


@pytest.mark.parametrize("name", ["begin/", "{}/sound/", "{}/step/", "{}/keep/", "{}/drop/"])
def test_looking_does_nothing(bench: Bench, client, name):
    assert client.get(bench.base + name.format(TICKET)).status_code == 405


@pytest.mark.parametrize(
    "wrong",
    [
        {"speeds": []}, {"speeds": ["1/3"]}, {"firings": "9"}, {"ticket": "x"}, {"rate": "0"}, {"rate": "x"},
        {"channels": "7"}, {"phase": "as lost"}, {"rate": "999999999"},
    ],
)  # fmt: skip
def test_a_plan_that_cannot_be_walked_is_refused_in_one_line(client, arrived, wrong):
    answer = Bench(client, arrived, **wrong).begun
    assert answer.status_code == 422
    assert answer.json()["refused"].count("\n") == 0


def test_begun_twice_it_is_one_session(client, arrived):
    first, second = Bench(client, arrived), Bench(client, arrived)
    assert first.begun.json()["ticket"] == second.begun.json()["ticket"] == str(TICKET)
    assert "Heard and not kept yet" in client.get(first.base).content.decode()


def test_too_many_sessions_that_nobody_keeps_are_refused(client, arrived, monkeypatch):
    monkeypatch.setattr("pegwood.book.listening.MOST_OPEN", 2)
    answers = [Bench(client, arrived, uuid4()).begun.status_code for _ in range(3)]
    assert answers == [200, 200, 422]


def test_the_page_offers_the_dial_and_says_the_cautions(client, arrived):
    page = client.get(f"/job/{arrived.number}/shutter/live/").content.decode()
    assert 'name="speeds" value="1/25" checked' in page
    assert "never use the sun" in page
    assert "Discharge them" in page
    assert (
        f"/job/{arrived.number}/shutter/live/"
        in client.get(f"/job/{arrived.number}/shutter/").content.decode()
    )


def test_a_job_that_is_over_is_listened_to_no_more(client, gone_home):
    page = client.get(f"/job/{gone_home.number}/shutter/live/").content.decode()
    assert "stands at" in page
    assert 'data-part="plan"' not in page
