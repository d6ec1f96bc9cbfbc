"""Recordings that are none, that claim what cannot be, or that are traps: kept as they came, and not read."""

from __future__ import annotations

import io
import random

import pytest
from django.test import Client

from hostile import pictures, recordings
from hostile.bounds import bounded
from hostile.conftest import BY, Door
from hostile.sent import Sent, refusals
from pegwood.book.keeping.check import examine
from pegwood.book.keeping.export import job_as_data
from pegwood.book.measuring import LARGEST_RECORDING, keep_recording
from pegwood.book.models import Job, Measurement
from pegwood.web.reading import BackgroundReader

BILLION = 1_000_000_000
NO_RATE = bytes(10)

#: What it is: the name it comes with, its bytes, a word of the instrument's answer.
HOSTILE = {
    "a WAV of four bytes": ("r.wav", lambda: b"RIFF", "r.wav"),
    "a WAV cut short": ("r.wav", lambda: recordings.sound()[:20_000], "cut short"),
    "a WAV without a data chunk": ("r.wav", lambda: recordings.sound()[:36], "r.wav"),
    "a WAV that says a billion samples": (
        "r.wav",
        lambda: recordings.wav(says=2 * BILLION),
        "cut short",
    ),
    "a WAV at 0 Hz": ("r.wav", lambda: recordings.wav(rate=0), "r.wav"),
    "a WAV at 1 Hz": ("r.wav", lambda: recordings.wav(rate=1), "samples per second"),
    "a WAV of 1000 channels": ("r.wav", lambda: recordings.wav(bytes(200_000), channels=1000), "channels"),
    "a WAV of no channels": ("r.wav", lambda: recordings.wav(channels=0), "r.wav"),
    "a WAV of 0 bits": ("r.wav", lambda: recordings.wav(bits=0, align=2), "r.wav"),
    "a WAV of 65535 bits": ("r.wav", lambda: recordings.wav(bits=65535, align=2), "r.wav"),
    "a WAV in a telephone's coding": ("r.wav", lambda: recordings.wav(form=7, bits=8), "r.wav"),
    "a WAV with one NaN": ("r.wav", lambda: recordings.spoilt(float("nan")), "nan"),
    "a WAV with one Inf": ("r.wav", lambda: recordings.spoilt(float("inf")), "inf"),
    "a WAV with one minus Inf": ("r.wav", lambda: recordings.spoilt(float("-inf"), "DOUBLE"), "inf"),
    "a WAV with 1e300": ("r.wav", lambda: recordings.spoilt(1e300, "DOUBLE"), "1e+300"),
    "a WAV of silence": (
        "r.wav",
        lambda: recordings.sound(samples=recordings.light() * 0),
        "",
    ),
    "a WAV of three samples": ("r.wav", lambda: recordings.wav(bytes(6)), "only 3 samples"),
    "an RF64 that says 2^60 samples": ("r.wav", lambda: recordings.rf64(2**60), "No firing"),
    "a FLAC cut short": ("r.flac", lambda: recordings.sound("FLAC")[:9_000], "r.flac"),
    "a FLAC that says a billion samples": (
        "r.flac",
        lambda: recordings.flac_that_says(samples=BILLION),
        "r.flac",
    ),
    "a FLAC at 0 Hz": ("r.flac", lambda: recordings.flac_that_says(rate=0), "r.flac"),
    "a FLAC of its first bytes": ("r.flac", lambda: b"fLaC", "r.flac"),
    "an AIFF cut short": ("r.aif", lambda: recordings.sound("AIFF")[:20_000], "cut short"),
    "an AIFF that says a billion frames": (
        "r.aiff",
        lambda: recordings.aiff(frames=BILLION),
        "No firing",
    ),
    "an AIFF at 0 Hz": ("r.aiff", lambda: recordings.aiff(rate=NO_RATE), "r.aiff"),
    "an AIFF of 1000 channels": ("r.aiff", lambda: recordings.aiff(bytes(20_000), channels=1000), "r.aiff"),
    "an AIFF of -1 channels": ("r.aiff", lambda: recordings.aiff(channels=-1), "r.aiff"),
    "an MP3 renamed": ("r.wav", lambda: b"ID3\x04" + bytes(900), "compressed sound"),
    "an Ogg renamed": ("r.wav", lambda: recordings.sound("OGG", "VORBIS"), "compressed sound"),
    "a ZIP renamed": ("r.csv", lambda: pictures.zipped(), "ZIP"),
    "a gzip renamed": ("r.csv", lambda: recordings.gzipped(recordings.table()), "gzip"),
    "a picture renamed": ("r.wav", lambda: pictures.photograph(), "picture"),
    "a PDF renamed": ("r.wav", lambda: b"%PDF-1.7", "PDF"),
    "an SVG with a script": ("r.csv", lambda: pictures.SVG, "r.csv"),
    "a web page": ("r.txt", lambda: pictures.PAGE, "r.txt"),
    "a program": ("r.wav", lambda: b"\x7fELF" + bytes(5000), "neither a sound file nor a table"),
    "a table of a million columns": ("r.csv", lambda: b",".join([b"1"] * 10**6), "r.csv"),
    "a table of a million columns, twice": (
        "r.csv",
        lambda: (b",".join([b"1"] * 10**6) + b"\n") * 2,
        "r.csv",
    ),
    "a table of 40 columns": ("r.csv", lambda: (b",".join([b"1"] * 40) + b"\n") * 200, "columns"),
    "a table of one column": ("r.csv", lambda: b"1.5\n" * 500, "r.csv"),
    "a table with a NaN": ("r.csv", lambda: recordings.spoilt_table("0.0145833,nan"), "nan"),
    "a table with an Inf": ("r.csv", lambda: recordings.spoilt_table("0.0145833,inf"), "inf"),
    "a table with 1e999": ("r.csv", lambda: recordings.spoilt_table("0.0145833,1e999"), "inf"),
    "a table that jumps where a time lacks": (
        "r.csv",
        recordings.table_that_jumps_where_a_time_lacks,
        "has no time, and the rows beside it do not tell it",
    ),
    "a table whose time runs back": ("r.csv", lambda: recordings.spoilt_table("0.001,0.1"), "backwards"),
    "a table with a line of two million letters": (
        "r.csv",
        lambda: recordings.spoilt_table("x" * 2_000_000, 10_000),
        "r.csv",
    ),
    "a table of names only": ("r.csv", lambda: b"time_s,volts\n", "no rows of numbers"),
    "a table of empty lines": ("r.csv", lambda: b"\n" * 5000, "no rows of numbers"),
    "a table of commas": ("r.csv", lambda: b",,,\n" * 5000, "no rows of numbers"),
    "a table of NaN": ("r.csv", lambda: b"nan,nan\n" * 5000, "time"),
    "a table of words": ("r.txt", lambda: b"=cmd|' /C calc'!A0\n" * 500, "no rows of numbers"),
    "words named as a sound": ("r.wav", lambda: b"no sound at all\n" * 50, "named as a sound file"),
    "words with a number named as a sound": ("r.wav", lambda: b"take 1\n" * 50, "named as a sound file"),
    "a table of bytes": ("r.csv", lambda: random.Random(3).randbytes(5000), "r.csv"),
    "a table of NUL": ("r.csv", lambda: bytes(5000), "neither a sound file nor a table"),
    "a table that stands still": ("r.csv", lambda: b"0.5,0.1\n" * 5000, "time"),
}


@pytest.fixture(scope="module")
def made() -> dict[str, bytes]:
    return {}


@pytest.mark.parametrize("what", HOSTILE)
def test_it_is_kept_as_it_came_and_not_read_and_the_job_is_unharmed(
    client: Client, job: Job, read_at_once: BackgroundReader, made, what
):
    name, build, word = HOSTILE[what]
    content = made[what] = made.get(what) or build()
    told = job_as_data(job)
    with bounded(cpu_s=4, megabytes=200):
        body_sent = Door("", lambda job: f"/job/{job.number}/shutter/", "recording", {"marked": "1/25"})
        answer = body_sent.send(client, job, Sent(content, name, "audio/wav"))
    measurement = Measurement.objects.get()
    assert (answer.status_code, answer["Location"]) == (302, f"/reading/{measurement.pk}/")
    assert read_at_once.progress(measurement) is None, "it was not Pegwood's fault"
    assert measurement.progress == "refused", measurement.reason
    assert word in measurement.reason
    assert measurement.reason.endswith(".")
    assert measurement.reason.isprintable()
    assert not (measurement.result or {}).get("shots")
    page = client.get(answer["Location"])
    assert page.status_code == 200
    assert "Record again" in page.content.decode()
    kept = client.get(f"/reading/{measurement.pk}/recording")
    assert b"".join(kept.streaming_content) == content
    assert kept["Content-Disposition"].startswith("attachment")
    refused = client.post(f"/reading/{measurement.pk}/accept/", {"phase": "as found"})
    assert refused.status_code == 422
    now = job_as_data(Job.objects.get())
    for grown in ("measurements", "diary"):
        now[grown] = told[grown]
    assert now == told
    assert client.get(f"/job/{job.number}/").status_code == 200
    assert client.get(f"/job/{job.number}/shutter/").status_code == 200


@pytest.mark.parametrize("row", [",0.1", "nan,0.1"])
def test_a_table_that_lacks_one_time_is_read_and_that_is_told(
    client: Client, job: Job, read_at_once: BackgroundReader, row
):
    content = recordings.spoilt_table(row)
    door = Door("", lambda job: f"/job/{job.number}/shutter/", "recording", {"marked": "1/25"})
    answer = door.send(client, job, Sent(content, "r.csv", "text/csv"))
    measurement = Measurement.objects.get()
    assert measurement.progress == "read", measurement.reason
    told = "A row has no time stamp; it was taken from the rows beside."
    assert told in measurement.result["warnings"]
    assert told in client.get(answer["Location"]).content.decode()


@pytest.mark.parametrize(
    ("file", "words"),
    [
        (Sent(b"", "r.wav"), "empty"),
        (Sent(b"", "r.csv"), "empty"),
        (Sent(recordings.sound(), "r.exe"), "Send a WAV, FLAC, AIFF or CSV file"),
        (Sent(recordings.sound(), "r"), "Send a WAV, FLAC, AIFF or CSV file"),
        (Sent(pictures.SVG, "r.svg"), "Send a WAV, FLAC, AIFF or CSV file"),
        (Sent(recordings.sound(), "r.wav.html"), "Send a WAV, FLAC, AIFF or CSV file"),
        (Sent(recordings.sound(), "r" * 240 + ".wav"), "name"),
    ],
    ids=lambda value: value.name[:12] if isinstance(value, Sent) else "",
)
def test_what_is_no_recording_by_its_name_is_refused_at_the_form(
    client: Client, job: Job, recording_door: Door, read_at_once, everything, file, words
):
    before = everything()
    answer = recording_door.send(client, job, file, other_marking="1/75")
    assert answer.status_code == 422
    if answer["Content-Type"] == "application/json":
        assert words in answer.json()["refused"]
    else:
        assert [line for line in refusals(answer) if words in line]
        assert 'value="1/75"' in answer.content.decode(), "what was typed stays typed"
    assert everything() == before


def test_one_that_is_too_large_is_refused_and_leaves_nothing(
    client: Client, job: Job, recording_door: Door, everything, monkeypatch
):
    monkeypatch.setattr("pegwood.book.measuring.LARGEST_RECORDING", 1024**2)
    before = everything()
    answer = recording_door.send(client, job, Sent(bytes(2 * 1024**2), "r.wav"))
    assert answer.status_code == 422
    assert "larger than 1 MB" in answer.content.decode()
    assert everything() == before
    assert LARGEST_RECORDING <= 2 * 1024**3


def test_a_full_disk_is_said_and_leaves_nothing(
    client: Client, job, recording_door: Door, everything, monkeypatch
):
    def full(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    before = everything()
    monkeypatch.setattr("os.fsync", full)
    answer = recording_door.send(client, job, Sent(recordings.sound(), "r.wav"))
    assert answer.status_code == 422
    assert "Make room on the disk" in answer.content.decode()
    assert everything() == before


@pytest.mark.parametrize(
    ("name", "whole"),
    [
        ("r.wav", recordings.sound()),
        ("r.wav", recordings.sound("WAV", "FLOAT")),
        ("r.flac", recordings.sound("FLAC")),
        ("r.aiff", recordings.sound("AIFF")),
        ("r.csv", recordings.table(3000)),
    ],
)
def test_a_recording_with_any_bytes_changed_is_read_or_refused_and_never_breaks_the_bench(
    job: Job, name, whole
):
    """Bytes changed, mostly in the head, cut out or doubled; always the same ones."""
    dice = random.Random(2031)
    reader = BackgroundReader(lambda errand: errand())
    with bounded(cpu_s=40, megabytes=400):
        for _ in range(25):
            spoilt = bytearray(whole)
            for _ in range(dice.randint(1, 5)):
                at = dice.randrange(len(spoilt) if dice.random() < 0.3 else min(60, len(spoilt)))
                spoilt[at : at + dice.choice([0, 1, 1, 1, 4])] = dice.randbytes(dice.choice([0, 1, 1, 4]))
            measurement = keep_recording(job, _file(spoilt), name, marked="1/50", by=BY)
            reader.take(measurement, by=BY)
            trouble = reader.progress(measurement)
            assert trouble is None, trouble
            measurement.refresh_from_db()
            assert measurement.progress in {"read", "refused"}
            assert bool(measurement.reason) == (measurement.progress == "refused")
    assert examine().is_sound


def _file(content: bytearray) -> io.BytesIO:
    return io.BytesIO(bytes(content))
