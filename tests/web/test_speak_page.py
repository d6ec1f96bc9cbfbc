"""
Speaking to a job, without a microphone: written words, posted sound, refusals, and what stands in the book
after.
"""

from __future__ import annotations

import io
import wave
from uuid import uuid4

import pytest
from django.test import Client

from hearing.voices import at_the_bench
from pegwood.anatomy.construction import constructions
from pegwood.book.hearing.voice import kept_voice
from pegwood.book.models import Finding, Job, TakenOff
from pegwood.book.stripping.off import OffDetails, log_off
from pegwood.book.stripping.way_in import Aim, take_aim
from pegwood.hearing.spoken import sentences_to_read

pytestmark = pytest.mark.django_db
BY = "Tove Halm"


def write(client: Client, job: Job, words: str) -> dict:
    return client.post(f"/job/{job.number}/speak/written/", {"words": words}).json()


def take_back(client: Client, job: Job, token: str) -> dict:
    return client.post(f"/job/{job.number}/speak/back/", {"token": token}).json()


def as_wav(pcm: bytes) -> bytes:
    file = io.BytesIO()
    with wave.open(file, "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(16_000)
        out.writeframes(pcm)
    return file.getvalue()


def test_the_page_tells_what_can_be_said(client, on_the_bench):
    page = client.get(f"/job/{on_the_bench.number}/speak/").content.decode()
    for words in ("Hold and speak", "tray two pocket five", "straightening", "stays on the machine"):
        assert words in page


def test_without_the_extra_the_page_says_in_one_line_how_to_add_it(client, on_the_bench, monkeypatch):
    monkeypatch.setattr("pegwood.web.pages.speak.find_spec", lambda _: None)
    page = client.get(f"/job/{on_the_bench.number}/speak/").content.decode()
    assert "pip install" in page
    assert "Hold and speak" not in page
    assert write(client, on_the_bench, "bellows, torn")["says"]  # written words need no recogniser


def test_a_finding_stands_on_the_card_and_undo_strikes_it_out(client, on_the_bench):
    done = write(client, on_the_bench, "Bellows, badly torn on the left, needs patching")
    found = Finding.objects.get(job=on_the_bench, part="bellows", condition="torn")
    assert (found.grade, found.place, found.note) == (4, "left", "Needs: patch.")
    assert "bellows" in client.get(f"/job/{on_the_bench.number}/").content.decode()
    assert "Taken back" in take_back(client, on_the_bench, done["token"])["says"]
    assert not Finding.objects.filter(pk=found.pk, struck_out=False).exists()


def test_work_goes_into_the_diary_and_undo_is_added_to_it(client, on_the_bench):
    done = write(client, on_the_bench, "bellows needs cleaning")
    assert on_the_bench.diary.filter(what="remarked", text="To do: clean, bellows.").exists()
    take_back(client, on_the_bench, done["token"])
    assert on_the_bench.diary.filter(text="Taken back: To do: clean, bellows.").exists()


def test_a_pocket_is_where_the_part_that_came_off_last_lies(client, on_the_bench):
    assert "Nothing is off" in write(client, on_the_bench, "tray two pocket five")["refused"]
    step = log_off(on_the_bench, OffDetails(name="bellows", pocket=(1, 1)), by=BY)
    done = write(client, on_the_bench, "tray two pocket five")
    step.refresh_from_db()
    assert (step.tray, step.pocket) == (2, 5)
    take_back(client, on_the_bench, done["token"])
    step.refresh_from_db()
    assert (step.tray, step.pocket) == (1, 1)


def test_a_shims_thickness_is_kept_with_the_step_or_as_a_finding(client, on_the_bench):
    part = constructions()["folding-roll-front-cell"].parts["bed.bellows"]
    write(client, on_the_bench, "shim bellows two tenths")
    found = Finding.objects.get(job=on_the_bench, condition="shim")
    assert found.note.startswith("0.2 mm")
    step = log_off(on_the_bench, OffDetails(name=part.name, part=part.id, pocket=(1, 1)), by=BY)
    done = write(client, on_the_bench, "shim bellows three hundredths")
    (kept,) = step.kept.all()
    assert kept.kind == "shim"
    assert kept.thickness_mm == pytest.approx(0.03)  # three hundredths of a millimetre
    assert kept.thickness_u_mm > 0
    take_back(client, on_the_bench, done["token"])
    assert not step.kept.exists()


def test_counted_turns_are_noted_at_the_step(client, on_the_bench):
    step = log_off(on_the_bench, OffDetails(name="bellows", pocket=(1, 1)), by=BY)
    done = write(client, on_the_bench, "count turns three and a half")
    step.refresh_from_db()
    assert step.notes == [{"kind": "count turns", "says": "3.5 turns"}]
    take_back(client, on_the_bench, done["token"])
    step.refresh_from_db()
    assert step.notes == []


def test_next_takes_off_what_the_way_in_proposes(client, on_the_bench):
    assert "No way in" in write(client, on_the_bench, "next")["refused"]
    take_aim(on_the_bench, Aim(reach=("shutter.slow-train",)), by=BY)
    done = write(client, on_the_bench, "next")
    (step,) = TakenOff.objects.filter(job=on_the_bench)
    assert step.name in done["says"]
    assert step.tray
    take_back(client, on_the_bench, done["token"])
    assert not TakenOff.objects.filter(job=on_the_bench).exists()


def test_what_is_no_command_is_asked_again_and_changes_nothing(client, on_the_bench):
    before = on_the_bench.diary.count()
    for words in ("", "the tea has gone cold", "bellows", "tray two", "x" * 5000, "<script>", "shim bellows"):
        answer = write(client, on_the_bench, words)
        assert answer["ask"]
        assert "\n" not in answer["ask"]
    assert on_the_bench.diary.count() == before


def test_a_token_of_another_job_takes_nothing_back(client, on_the_bench, arrived):
    done = write(client, on_the_bench, "bellows torn")
    for token in (
        done["token"],
        "",
        "finding",
        "finding:x",
        "step:1:2:3",
        "pocket:999999:1:1",
        "finding:" + "9" * 30,
    ):
        job = arrived if token == done["token"] and arrived.pk != on_the_bench.pk else on_the_bench
        if token != done["token"] or job.pk != on_the_bench.pk:
            assert "refused" in take_back(client, job, token)
    assert Finding.objects.filter(condition="torn", struck_out=False).exists()


@pytest.mark.voices
def test_spoken_words_are_heard_piece_by_piece_and_done(client, on_the_bench):
    pcm = at_the_bench("bellows, torn, needs patching", "en-us", 150, 5)
    base = f"/job/{on_the_bench.number}/speak/{uuid4()}"
    for at in range(0, len(pcm), 3200):
        have = client.post(f"{base}/sound/?at={at}", pcm[at : at + 3200], "application/octet-stream").json()
        assert have == {"have": min(len(pcm), at + 3200)}
    again = client.post(f"{base}/sound/?at=0", pcm[:3200], "application/octet-stream").json()
    assert again == {"have": len(pcm)}  # sent twice is heard once
    answer = client.post(f"{base}/said/").json()
    assert answer["says"].startswith("Noted: bellows")
    assert Finding.objects.filter(job=on_the_bench, condition="torn").count() == 1
    assert "Nothing came in" in client.post(f"{base}/said/").json()["refused"]


@pytest.mark.voices
def test_a_whole_wav_is_heard_as_well(client, on_the_bench):
    pcm = at_the_bench("tray two pocket five", "en-us", 150, 6)
    log_off(on_the_bench, OffDetails(name="bellows", pocket=(1, 1)), by=BY)
    address = f"/job/{on_the_bench.number}/speak/whole/"
    answer = client.post(address, as_wav(pcm), "audio/wav").json()
    assert answer["says"] == "bellows: tray 2, pocket 5"


@pytest.mark.parametrize(
    ("sent", "why"),
    [
        (b"", "no sound"),
        (b"RIFF\x00\x00\x00\x00WAVEfmt ", "no sound"),
        (b"\xff\xd8\xff\xe0 a picture", "no sound"),
        (as_wav(b"\x00\x00" * 16_000), "Nothing came in"),
        (as_wav(b"\x00\x10" * 100), "too soon"),
        (as_wav(b"\x00\x10" * 16_000 * 21), "longer than"),
    ],
)
def test_bad_sound_is_one_clear_line(client, on_the_bench, sent, why):
    answer = client.post(f"/job/{on_the_bench.number}/speak/whole/", sent, "audio/wav")
    assert answer.status_code == 422
    assert why in answer.json()["refused"]
    assert "\n" not in answer.json()["refused"]


def test_pieces_out_of_order_or_without_end_are_refused(client, on_the_bench):
    base = f"/job/{on_the_bench.number}/speak/{uuid4()}/sound/"
    for query in ("", "?at=x", "?at=-1", "?at=3200", "?at=" + "9" * 20):
        assert client.post(base + query, b"\0" * 3200, "application/octet-stream").status_code == 422
    at = 0
    for _ in range(3):
        answer = client.post(f"{base}?at={at}", b"\0\1" * 160_000, "application/octet-stream")
        at += 320_000
    assert "longer than" in answer.json()["refused"]


# --- the voice --------------------------------------------------------------------------------------


def read_to_it(client: Client, job: Job, at: int, pcm: bytes):
    return client.post(f"/job/{job.number}/speak/read/{at}/", pcm, "application/octet-stream")


def test_from_too_little_no_voice_is_learned_and_none_is_kept(client, on_the_bench, settings):
    for at, pcm, why in (
        (99, b"\0\1" * 16_000, "no such"),
        (0, b"", "too soon"),
        (0, b"\0\0" * 16_000, "Nothing"),
    ):
        answer = read_to_it(client, on_the_bench, at, pcm)
        assert answer.status_code == 422
        assert why in answer.json()["refused"]
    for _ in range(2):  # with nothing at all, then with one sentence of a tone
        answer = client.post(f"/job/{on_the_bench.number}/speak/learned/")
        assert answer.status_code == 422
        assert "Read each as it stands" in answer.json()["refused"]
        assert read_to_it(client, on_the_bench, 0, b"\x00\x10\x00\xf0" * 16_000).json() == {"have": 1}
    assert not settings.WORKSHOP.voice.exists()


def test_a_spoiled_file_of_a_voice_is_as_none(client, on_the_bench, settings):
    settings.WORKSHOP.voice.parent.mkdir(parents=True, exist_ok=True)
    for content in (b"", b"{}", b'{"sentences": 16, "speech_s": 40}\nhalf', b"\xff" * 100):
        settings.WORKSHOP.voice.write_bytes(content)
        assert kept_voice() is None
    assert "knows a voice" in client.get(f"/job/{on_the_bench.number}/speak/").content.decode()
    assert "forgotten" in client.post(f"/job/{on_the_bench.number}/speak/forget/").json()["says"]
    assert not settings.WORKSHOP.voice.exists()
    assert "knows no voice yet" in client.get(f"/job/{on_the_bench.number}/speak/").content.decode()


@pytest.mark.voices
def test_a_voice_is_taught_known_by_the_next_ears_and_forgotten(client, on_the_bench, settings):
    from pegwood.web.speaking import listening

    for at, text in enumerate(sentences_to_read()):
        have = read_to_it(client, on_the_bench, at, at_the_bench(text, "en-gb-x-rp", 150, 50 + at)).json()
        assert have == {"have": at + 1}
    answer = client.post(f"/job/{on_the_bench.number}/speak/learned/").json()
    assert "knows your voice" in answer["says"]
    assert settings.WORKSHOP.voice.stat().st_mode & 0o077 == 0
    ears = listening._ears(on_the_bench.camera.family)
    assert ears.ears.voice == kept_voice()
    wav = as_wav(at_the_bench("bellows, badly torn on the left", "en-gb-x-rp", 165, 7))
    told = client.post(f"/job/{on_the_bench.number}/speak/whole/", wav, "audio/wav").json()
    assert told["says"].startswith("Noted: bellows")
    client.post(f"/job/{on_the_bench.number}/speak/forget/")
    assert listening._ears(on_the_bench.camera.family).ears.voice is None
