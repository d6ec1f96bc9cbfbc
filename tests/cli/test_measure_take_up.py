"""`pegwood measure take-up`, called as a person would."""

import json

import pytest
from jsonschema import Draft202012Validator

from pegwood.instruments.schemas import schema

CHECK = Draft202012Validator(schema("measure.take-up"))
PULLS = ("--force", 0.8, "--force", 0.9, "--force", 1.0, "--radius-mm", 10)


def answer(run, *words):
    ended = run("measure", "take-up", "--core-mm", 14, *words, "--json")
    assert ended.exit_code == 0, ended.output
    data = json.loads(ended.stdout)
    CHECK.validate(data)
    return data


def test_the_answer_holds_to_its_schema(run):
    assert answer(run)["friction"] is None
    data = answer(run, *PULLS, "--drive-turns", 1.1, "--counted", 36)
    assert data["friction"]["torque_n_m"] == pytest.approx(9e-3)  # 0.9 N at 10 mm
    assert data["friction"]["pull_n"][0] == pytest.approx(9e-3 / 7e-3)
    assert data["slip_verdict"] == "within"
    data = answer(
        run, *PULLS, "--what", "rewind", "--length-m", 1.0, "--pitch-mm", 38, "--thickness-mm", 0.13
    )
    assert data["friction"]["verdict"] == "within"
    assert data["expected_frames"] == [20, 20]  # (1.00 - 0.23) / 0.038 = 20.26
    assert data["friction"]["pull_n"] is None


def test_a_single_pull_is_null_with_its_reason(run):
    data = answer(run, "--force", 0.8, "--radius-mm", 10)
    assert data["friction"]["torque_n_m"] is None
    assert "three times" in data["warnings"][0]


def test_a_person_is_told(run):
    ended = run("measure", "take-up", "--core-mm", 14, *PULLS, "--what", "rewind", "--drive-turns", 1.1)
    text = " ".join(ended.output.split())
    for said in ("full spool", "slip", "torque: 9.0 ±", "100 mN m", "GB/T 13985-1992", "seen", "memory"):
        assert said in text


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (("--core-mm", "nan"), "wanted"),
        (("--core-mm", 500), "--core-mm"),
        (("--core-mm", 14, "--roll", "120"), "There are"),
        (("--core-mm", 14, "--length-m", 1620), "in metres"),
        (("--core-mm", 14, "--pitch-mm", 0), "--pitch-mm"),
        (("--core-mm", 14, "--force", 1), "both"),
        (("--core-mm", 14, "--radius-mm", 1), "both"),
        (("--core-mm", 14, "--force", 1, "--force", 1, "--radius-mm", 10, "--what", "all"), "There are"),
    ],
)
def test_a_refusal_is_one_line_and_ends_with_2(run, words, why):
    ended = run("measure", "take-up", *words)
    assert ended.exit_code == 2
    assert len(ended.stderr.strip().splitlines()) == 1
    assert why in ended.stderr
