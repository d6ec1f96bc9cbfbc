"""Slow speeds by sound at the command line, on simulated sounds whose instants are known."""

import json

import numpy as np
import pytest
import soundfile

from instruments.sounds import Camera, session
from pegwood.book.models import Measurement

CAMERA = {"opening_db": -3.0, "release_db": None, "gear_db": -26.0, "rattle_db": None}


@pytest.fixture
def made():
    """Three firings of a quarter of a second."""
    rng = np.random.default_rng(11)
    return session(rng, 0.25, 3, camera=Camera.drawn(np.random.default_rng(3), **CAMERA))


@pytest.fixture
def slow(made, tmp_path):
    path = tmp_path / "slow.wav"
    soundfile.write(path, made.samples(), made.rate, subtype="PCM_16")
    return path


ASK = ("--marked", "1/4", "--kind", "leaf", "--age", "newer", "--mirror", "none")


def test_each_file_is_one_line_of_strict_json(run, slow, made):
    ended = run("measure", "sound", slow, *ASK, "--json")
    (line,) = (json.loads(text) for text in ended.stdout.splitlines())
    assert (line["file"], line["coupling"], line["marked"]) == (str(slow), None, "1/4")
    assert len(line["shots"]) == len(line["sound"]["firings"]) == 3
    for shot, firing, true in zip(line["shots"], line["sound"]["firings"], made.firings, strict=True):
        assert abs(firing["between_s"] - (true.closed - true.opened)) < 3 * firing["between_u_s"]
        assert shot["effective_u_s"] > firing["between_u_s"]
    assert {"at_s", "opening", "closing", "something_else", "called"} <= set(line["sound"]["events"][0])
    assert line["summary"]["verdict"] == "within"


def test_people_see_times_with_uncertainty_chance_and_verdict(run, slow):
    shown = run("measure", "sound", slow, *ASK).stdout
    assert "±" in shown
    assert "chance" in shown
    assert "verdict: within" in shown
    assert "not light" in shown


def test_where_it_cannot_tell_it_says_so_with_the_remedy(run, slow):
    ended = run("measure", "sound", slow, "--marked", "1/250")
    assert ended.exit_code == 0
    assert "cannot tell" in ended.stdout
    assert "light gate" in ended.stdout


def test_a_file_that_cannot_be_read_is_said_and_the_others_are_read(run, slow, tmp_path):
    broken = tmp_path / "broken.wav"
    broken.write_bytes(b"RIFF and no more")
    ended = run("measure", "sound", broken, tmp_path / "not there.wav", slow, "--json")
    assert ended.exit_code == 2
    assert len(ended.stdout.splitlines()) == 1
    assert len(ended.stderr.splitlines()) == 2


@pytest.mark.parametrize("words", [(), ("--marked", "1/0")])
def test_what_makes_no_sense_is_one_line_and_ends_with_two(run, slow, words):
    ended = run("measure", "sound", *((slow, *words) if words else ()))
    assert ended.exit_code == 2
    assert len(ended.stderr.splitlines()) == 1


def test_in_a_job_it_is_kept_and_accepted_with_how_it_was_measured(run, slow):
    run("job", "take-in", "--name", "Ilse Marrick", "--family", "folding-roll-front-cell")
    words = ("measure", "sound", slow, "--marked", "1/4", "--mirror", "none", "--job", 1)
    ended = run(*words, "--as", "found", "--json")
    assert ended.exit_code == 0, ended.stderr
    kept = Measurement.objects.get()
    assert (kept.phase, kept.settings["taken"]) == ("as found", {"by": "sound", "mirror": "none"})
    assert json.loads(ended.stdout)["measurement"] == kept.pk
    assert len(kept.result["sound"]["firings"]) == 3


def test_what_cannot_be_told_is_kept_and_not_accepted(run, slow):
    run("job", "take-in", "--name", "Ilse Marrick", "--family", "folding-roll-front-cell")
    ended = run("measure", "sound", slow, "--marked", "1/250", "--job", 1, "--as", "found")
    assert ended.exit_code == 1
    assert "cannot tell" in ended.stdout
    assert "Not accepted as found: Cannot tell" in ended.stderr
    assert Measurement.objects.get().progress == "refused"


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--job", 1), "--marked 1/125"),
        (("--job", 1, "--marked", "1/4", "--kind", "leaf"), "Leave out --kind"),
        (("--marked", "1/4", "--gear", "7"), "--job NUMBER"),
    ],
)
def test_words_that_do_nothing_in_a_job_are_refused(run, slow, words, says):
    ended = run("measure", "sound", slow, *words)
    assert ended.exit_code == 2
    assert says in ended.stderr


def test_the_pattern_weighs_no_time_by_sound_and_says_so(run, slow, tmp_path):
    lines = tmp_path / "heard.jsonl"
    lines.write_text(run("measure", "sound", slow, *ASK, "--json").stdout)
    ended = run("measure", "pattern", lines)
    assert "1/4: by sound, and only times by light are weighed" in ended.stderr
