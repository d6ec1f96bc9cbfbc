"""Dictation at the command line; its JSON is held to the published schema by jsonschema, draft 2020-12."""

from __future__ import annotations

import json
import time

import pytest
from jsonschema import Draft202012Validator

from book.cast import BY, FOLDER, ILSE
from pegwood.book import arriving
from pegwood.book.models import Job, Narration
from pegwood.cli._schemas import schema

SAID = """00:00:04 right, kettle's on
00:00:15 the shutter blades are badly oily, needs a bath
00:00:31 slow train might be gummed
00:00:44 no fungus on the rear element
00:01:02 nine of ten of these have rust on the strut springs
00:01:20 cleaned the top cover
00:01:40 it's cracked
"""


@pytest.fixture
def told(tmp_path):
    file = tmp_path / "bench.txt"
    file.write_text(SAID, "utf-8")
    return file


@pytest.fixture
def job(db) -> Job:
    return arriving.take_in(ILSE, FOLDER, by=BY)


def test_without_a_job_it_is_heard_and_nothing_is_stored(run, told):
    ended = run("hear", told, "--family", "folding-roll-front-cell")
    assert ended.exit_code == 0
    assert "shutter blades: oily" in ended.output
    assert "possibly gummed" in ended.output
    assert "0:00:44  rear element: no fungus" in ended.output
    assert "of such cameras: nine of ten" in ended.output
    assert "Nothing was stored" in ended.output
    assert not Narration.objects.exists()


def test_where_there_is_no_workshop_none_is_made(run_alone, told, tmp_path):
    ended = run_alone("hear", told, "--family", "folding-roll-front-cell", "--json")
    assert ended.returncode == 0, ended.stderr
    assert ended.stderr == ""
    Draft202012Validator(schema("hear")).validate(json.loads(ended.stdout))
    assert not (tmp_path / "alone").exists()


def test_its_json_is_what_the_schema_says(run, told, job):
    check = Draft202012Validator(schema("hear"))
    alone = json.loads(run("hear", told, "--family", "folding-roll-front-cell", "--json").output)
    check.validate(alone)
    kept = json.loads(run("hear", told, "--job", job.number, "--json").output)
    check.validate(kept)
    assert kept["narration"] == Narration.objects.get().pk
    blades = alone["findings"][0]
    assert (blades["part_id"], blades["condition"]) == ("shutter.shutter-blades", "oily")
    assert [one["certainty"] for one in alone["findings"]][:2] == ["plain", "possible"]
    bad = {**alone, "findings": [{**blades, "grade": 9}]}
    assert not check.is_valid(bad), "a schema that takes anything checks nothing"


def test_with_a_job_it_waits_and_is_confirmed_by_number(run, told, job):
    shown = run("hear", told, "--job", job.number).output
    assert "Nothing stands on the card before it is kept" in shown
    assert not job.findings.exists()
    number = next(line.split()[0] for line in shown.splitlines() if "possibly gummed" in line)
    run("heard", job.number, "--keep", number)
    assert job.findings.get().condition == "possibly gummed"
    listed = run("heard", job.number).output
    assert "possibly gummed" not in listed
    assert "possibly gummed" in run("heard", job.number, "--all").output
    assert "open again" in run("heard", job.number, "--undo").output
    assert not job.findings.exists()
    run("heard", job.number, "--plain")
    assert {one.condition for one in job.findings.all()} >= {"oily", "no fungus"}
    assert all("possibly" not in one.condition for one in job.findings.all())


def test_the_pipe_is_read(run, told, job, monkeypatch):
    from click.testing import CliRunner

    from pegwood.cli import main

    ended = CliRunner().invoke(main, ["hear", "-", "--family", "box"], input="the shutter is stiff")
    assert ended.exit_code == 0
    assert "1 line." in ended.output


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ((), "Give --job NUMBER, or --family"),
        (("--family", "nothing"), "There is no kind 'nothing'"),
        (("--family", "box", "--language", "tlh"), "Nothing is heard in 'tlh' yet"),
        (("--job", "4711"), "There is no job 4711"),
    ],
)
def test_what_cannot_be_meant_is_one_line(run, told, words, says):
    ended = run("hear", told, *words)
    assert ended.exit_code in (1, 2)
    assert says in ended.output
    assert ended.output.count("\n") == 1


@pytest.mark.parametrize("content", [b"", b"  \n", b"\x00\x01", b"\xff\xfe\x00", b"x" * (4 * 1024**2 + 1)])
def test_a_file_that_is_no_narration_is_one_line(run, tmp_path, content):
    file = tmp_path / "odd.srt"
    file.write_bytes(content)
    ended = run("hear", file, "--family", "box")
    assert ended.exit_code == 2
    assert ended.output.startswith("pegwood: ")
    assert ended.output.count("\n") == 1


def test_a_file_with_a_wrong_time_is_named_once_with_its_line(run, job, tmp_path):
    file = tmp_path / "bench.vtt"
    file.write_text("WEBVTT\n\n00:00 --> nonsense\nthe cover is off\n", "utf-8")
    for to in (("--family", "folding-roll-front-cell"), ("--job", str(job.number))):
        ended = run("hear", file, *to)
        assert ended.exit_code == 2
        assert ended.output.count("bench.vtt") == 1
        assert "line 3" in ended.output


def test_a_file_that_is_not_there_is_one_line(run, tmp_path):
    ended = run("hear", tmp_path / "gone.txt", "--family", "box")
    assert ended.exit_code == 2
    assert "could not be read" in ended.output


@pytest.mark.parametrize(
    "words", [("--keep", "x"), ("--keep", "99"), ("--keep", "1", "--drop", "1"), ("--narration", "99")]
)
def test_numbers_that_are_none_settle_nothing(run, told, job, words):
    run("hear", told, "--job", job.number)
    ended = run("heard", job.number, *words)
    assert ended.exit_code in (1, 2)
    assert ended.output.count("\n") == 1
    assert not job.findings.exists()


def test_an_hour_of_talk_is_heard_in_seconds(run, tmp_path):
    """Some 9,000 words. The bound is far off the 2.5 s measured: a shared machine's clock fails nobody."""
    lines = [line[9:] for line in SAID.splitlines()]
    rounds = 9000 // sum(len(line.split()) for line in lines)
    timed = [f"00:{n % 3600 // 60:02}:{n % 60:02} {line}" for n, line in enumerate(lines * rounds)]
    file = tmp_path / "hour.txt"
    file.write_text("\n".join(timed), "utf-8")
    began = time.perf_counter()
    ended = run("hear", file, "--family", "folding-roll-front-cell", "--json")
    assert time.perf_counter() - began < 30
    assert len(json.loads(ended.output)["findings"]) >= 3 * rounds  # blades, slow train, rear element
