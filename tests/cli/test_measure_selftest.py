"""Testing a measuring chain at the command line."""

import json

import numpy as np
import pytest
import soundfile

from instruments.discs import Turning

MEASURES = ("--slot-mm", 10, "--radius-mm", 40, "--window-mm", 2, "--good-to-mm", 0.1)


@pytest.fixture
def recorded(tmp_path):
    def write(turning, name="disc.wav"):
        soundfile.write(tmp_path / name, 0.5 * turning.light(), int(turning.rate), subtype="FLOAT")
        return tmp_path / name

    return write


def test_a_good_chain_ends_with_pass(run, recorded):
    ended = run("measure", "selftest", recorded(Turning()), *MEASURES)
    assert ended.exit_code == 0, ended.output
    assert "outcome: pass" in ended.stdout
    assert "effective time" in ended.stdout
    assert "clock is not tested" in ended.stdout


def test_a_bad_chain_ends_with_1_and_the_reason(run, recorded):
    ended = run("measure", "selftest", recorded(Turning(clip=0.8)), *MEASURES)
    assert ended.exit_code == 1
    assert "outcome: does not pass" in ended.stdout
    assert "cut off" in ended.stdout


def test_json_holds_the_checks(run, recorded):
    ended = run("measure", "selftest", recorded(Turning()), *MEASURES, "--json")
    found = json.loads(ended.stdout)
    assert found["outcome"] == "pass"
    assert [check["name"] for check in found["checks"]] == ["effective time", "total time"]


def test_a_screen_tests_the_clock(run, tmp_path):
    t = np.arange(10 * 48_000) / 48_000
    soundfile.write(tmp_path / "screen.wav", 0.3 * ((t * 75) % 1 < 0.3), 48_000, subtype="FLOAT")
    assert run("measure", "selftest", tmp_path / "screen.wav", "--refresh-hz", 75).exit_code == 0
    assert run("measure", "selftest", tmp_path / "screen.wav", "--refresh-hz", 74.8).exit_code == 1
    none = run("measure", "selftest", tmp_path / "screen.wav", "--refresh-hz", 90)
    assert none.exit_code == 2
    assert len(none.stderr.splitlines()) == 1


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ((), "Give the disc"),
        (("--refresh-hz", 75, "--slot-mm", 10), "Give the disc"),
        (("--slot-mm", 10), "--radius-mm and --window-mm lacking"),
        (("--slot-mm", 2, "--radius-mm", 40, "--window-mm", 3), "make the window smaller"),
        (("--slot-mm", "nan", "--radius-mm", 40, "--window-mm", 3), "above zero"),
        (("--slot-mm", 10, "--radius-mm", 40, "--window-mm", 2, "--good-to-mm", 0), "above zero"),
        (("--refresh-hz", 5), "No screen"),
    ],
)
def test_bad_measures_are_one_line_and_end_with_2(run, recorded, words, says):
    ended = run("measure", "selftest", recorded(Turning(seconds=0.5)), *words)
    assert ended.exit_code == 2
    assert says in ended.stderr
    assert len(ended.stderr.splitlines()) == 1


def test_a_file_that_is_not_there_is_one_line(run, tmp_path):
    ended = run("measure", "selftest", tmp_path / "none.wav", *MEASURES)
    assert ended.exit_code == 2
    assert len(ended.stderr.splitlines()) == 1
