"""Videos at the command line."""

import json

import pytest

from instruments.films import Film, Fired
from pegwood.book.models import Measurement

FILM = Film(tuple(Fired(0.2 + 0.3513 * k, 1 / 16) for k in range(3)), size=(32, 24), replay=8.0)


@pytest.fixture(scope="module")
def slow(tmp_path_factory):
    path = tmp_path_factory.mktemp("films") / "slow.mp4"
    path.write_bytes(FILM.bytes())
    return path


def test_a_video_is_read_with_its_verdict(run, slow):
    ended = run("measure", "video", slow, "--marked", "1/15", "--captured-fps", 240, "--kind", "leaf")
    assert ended.exit_code == 0, ended.output
    assert "verdict: within" in ended.output
    assert "region 0,0,32,24 (found)" in ended.output


def test_json_holds_the_firings_and_what_is_known_of_the_frames(run, slow):
    ended = run("measure", "video", slow, "--marked", "1/15", "--captured-fps", 240, "--json")
    found = json.loads(ended.stdout)
    low, high = found["summary"]["effective_95_s"]
    assert low < 1 / 16 < high
    assert found["video"]["captured_fps"] == 240
    assert found["file"] == str(slow)


def test_a_region_is_taken_as_given(run, slow):
    ended = run("measure", "video", slow, "--captured-fps", 240, "--region", "4,4,20,16", "--json")
    assert json.loads(ended.stdout)["video"]["region_px"] == [4, 4, 20, 16]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ([], "--captured-fps 240"),
        (["--captured-fps", "240", "--region", "1,2,3"], "write x,y,width,height"),
        (["--captured-fps", "240", "--region", "0,0,900,900"], "no region"),
        (["--captured-fps", "240", "--marked", "1/0"], "1/0"),
    ],
    ids=["rate of capture", "region in words", "region outside", "marked speed"],
)
def test_bad_input_is_one_line_and_ends_with_2(run, slow, words, says):
    ended = run("measure", "video", slow, *words)
    assert ended.exit_code == 2
    assert says in ended.stderr
    assert len(ended.stderr.splitlines()) == 1


def test_a_rate_that_is_no_number_is_one_line(run, slow):
    ended = run("measure", "video", slow, "--captured-fps", "nan")
    assert ended.exit_code == 2
    assert "No phone films nan frames a second. Give such as --captured-fps 240." in ended.output
    assert "Traceback" not in ended.output


def test_a_file_that_is_no_video_is_said_and_the_others_are_read(run, slow, tmp_path):
    text = tmp_path / "text.mp4"
    text.write_text("no film at all\n" * 50)
    ended = run("measure", "video", text, tmp_path / "none.mp4", slow, "--captured-fps", 240, "--json")
    assert ended.exit_code == 2
    assert [json.loads(line)["file"] for line in ended.stdout.splitlines()] == [str(slow)]
    assert len(ended.stderr.splitlines()) == 2


def test_no_video_at_all_is_one_line(run):
    ended = run("measure", "video")
    assert ended.exit_code == 2
    assert len(ended.stderr.splitlines()) == 1


def test_in_a_job_it_is_kept_and_accepted_with_how_it_was_measured(run, slow):
    run("job", "take-in", "--name", "Ilse Marrick", "--family", "folding-roll-front-cell")
    words = ("measure", "video", slow, "--marked", "1/15", "--captured-fps", 240, "--region", "4,4,20,16")
    ended = run(*words, "--job", 1, "--as", "left")
    assert ended.exit_code == 0, ended.stderr
    assert "region 4,4,20,16 (given)" in ended.stdout
    kept = Measurement.objects.get()
    assert kept.settings["taken"] == {"by": "video", "captured_fps": 240, "region_px": [4, 4, 20, 16]}
    low, high = kept.summary["effective_95_s"]
    assert low < 1 / 16 < high
    assert kept.phase == "as left"
