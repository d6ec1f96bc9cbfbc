"""`pegwood measure rangefinder`, called as a person would."""

import json
import math

import pytest
from jsonschema import Draft202012Validator

from pegwood.instruments.schemas import schema

FINDER = ("--base-mm", 40, "--magnification", 0.7, "--focal-mm", 50, "--stop", 2)
# offset 0.02 dpt, gain 1.03, and a hand's scatter: 1 / (0.02 + 1.03 / true), moved a little
FOUND = (
    "true_m,shown_m\ninf,51\ninf,48\n10,8.2\n10,8.1\n3,2.74\n3,2.76\n1.5,1.42\n1.5,1.41\n1,0.955\n1,0.951\n"
)
CHECK = Draft202012Validator(schema("measure.rangefinder"))


@pytest.fixture
def csv(tmp_path):
    def written(text, name="found.csv"):
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return written


def answer(run, *words):
    ended = run("measure", "rangefinder", *words, "--json")
    assert ended.exit_code == 0, ended.output
    data = json.loads(ended.stdout)
    CHECK.validate(data)
    return data


def test_the_answer_holds_to_its_schema_and_its_truth(run, csv):
    data = answer(run, csv(FOUND), *FINDER)
    assert abs(data["offset_dpt"] - 0.02) < 2.5 * data["offset_u_dpt"] < 0.01
    assert abs(data["gain"] - 1.03) < 2.5 * data["gain_u"] < 0.02
    assert data["limit_m"] == pytest.approx(60e-6)
    assert data["verdict"] == "outside"
    assert len(data["film_error_m"]) == 10
    assert [one["what"] for one in data["turns"]] == ["infinity screw", "gain"]
    assert data["turning"]["best"]["rounds"] >= 1


def test_every_way_of_asking_holds_to_the_schema(run, csv):
    found = csv(FOUND)
    data = answer(
        run, found, *FINDER, "--before", found, "--vertical-arcmin", 9, "--acuity", "vernier",
        "--format", "6x6", "--lever-ratio", 0.3, "--lever-tilt-deg", -4, "--screw-dpt-per-turn", 0.1,
        "--gain-per-turn", 0.02, "--from", "film", "--true-mm", 5, "--nearest", "3 ft",
        "--reading-dpt", 0.004,
    )  # fmt: skip
    assert data["limit_m"] == pytest.approx(2 * 50e-6)
    assert data["vertical"]["error_rad"] == pytest.approx(math.radians(9 / 60))
    assert data["turning"]["given"] is True
    # the same readings before and after: a round that left all of it
    assert data["measured_rounds"]["factor"] == pytest.approx(1)
    data = answer(run, found, *FINDER, "--uncoupled", "--acuity-arcsec", 15, "--circle-mm", 0.025)
    assert data["limit_m"] == pytest.approx(50e-6)
    assert data["turning"] is None
    screen = ("--prism-deg", 8, "--magnification", 0.9, "--focal-mm", 50, "--stop", 2)
    assert answer(run, found, *screen)["base"]["base_m"] == pytest.approx(
        0.1 * math.tan(math.radians(0.49 * 8))
    )


def test_what_is_refused_is_null_with_its_reason(run, csv):
    data = answer(run, csv("true_m,shown_m\ninf,50\n1,0.95\n"), *FINDER)
    assert data["offset_dpt"] is data["gain"] is data["curvature_per_dpt"] is None
    assert data["film_error_m"] == [None, None]
    assert "three distances at least" in data["warnings"][0]
    assert data["advice"]


def test_a_person_is_told_value_limit_and_what_to_do(run, csv):
    ended = run("measure", "rangefinder", csv(FOUND), *FINDER, "--vertical-arcmin", 9)
    assert ended.exit_code == 0
    text = " ".join(ended.output.split())
    for said in (
        "outside",
        "±",
        "depth of focus f/2",
        "memory",
        "Vertical first",
        "Infinity screw",
        "Gain",
        "round",
    ):
        assert said in text
    ended = run("measure", "rangefinder", csv("true_m,shown_m\n1,1\n2,2\n"), *FINDER)
    assert ended.exit_code == 0
    assert "three distances at least" in " ".join(ended.output.split())


@pytest.mark.parametrize(
    ("text", "words", "why"),
    [
        ("", FINDER, "no readings"),
        ("\0\1\2", FINDER, "no text"),
        ("true_m,shown_m\n0,1\n1,1\n2,2\n", FINDER, "line 2"),
        ("true_m,shown_m\ninf,inf\n2,inf\n1,1\n", FINDER, "at its stop"),
        ("true_m,shown_m\ninf,inf\n3,9.84\n1,3.28\n", FINDER, "shown_ft"),
        (FOUND, FINDER[2:], "--base-mm"),
        (FOUND, ("--base-mm", -4, *FINDER[2:]), "above zero"),
        (FOUND, ("--base-mm", 0.04, *FINDER[2:]), "in mm"),
        (FOUND, (*FINDER, "--prism-deg", 8), "either"),
        (FOUND, (*FINDER, "--format", "9x9"), "There are: 135"),
        (FOUND, (*FINDER, "--acuity", "hawk"), "There are: vernier"),
        (FOUND, (*FINDER, "--nearest", "close"), "length"),
        (FOUND, (*FINDER, "--lever-ratio", 0), "above zero"),
        (FOUND, (*FINDER, "--lever-tilt-deg", 80), "60 degrees"),
        (FOUND, (*FINDER, "--vertical-arcmin", "nan"), "arc minutes"),
        (FOUND, (*FINDER, "--before", "/nowhere.csv"), "nowhere.csv"),
    ],
)
def test_a_refusal_is_one_line_and_ends_with_2(run, csv, text, words, why):
    ended = run("measure", "rangefinder", csv(text), *words)
    assert ended.exit_code == 2
    assert len(ended.stderr.strip().splitlines()) == 1
    assert why in ended.stderr
    assert "Traceback" not in ended.output
