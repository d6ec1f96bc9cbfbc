"""Diaphragm and glass at the command line: answers as their schemas say, refusals in one line."""

import json
import math

import numpy as np
import pytest
from jsonschema import Draft202012Validator

from instruments.glasses import Scene, some_spots, taken
from instruments.irises import Taking, photographed, polygon, stored
from pegwood.instruments.schemas import schema


@pytest.fixture
def files(tmp_path):
    rng = np.random.default_rng(3)
    hexagon = photographed(polygon(6, 110.0, 0.3), (320, 360), (180, 160), Taking(), rng)
    (tmp_path / "hex.jpg").write_bytes(hexagon.read())
    spots = some_spots(rng, 12)
    (tmp_path / "found.jpg").write_bytes(taken(Scene(spots), rng).read())
    (tmp_path / "cleaned.jpg").write_bytes(taken(Scene(spots[:3]), rng, shift=(3.0, 2.0)).read())
    y, x = np.mgrid[:300, :400]
    light = np.where((abs(x - 200) < 40) & (abs(y - 150) < 40), 0.02, 0.6)
    (tmp_path / "veil.jpg").write_bytes(stored(light, Taking(blur=1.5, noise=0.005), rng).read())
    (tmp_path / "empty.jpg").write_bytes(b"")
    (tmp_path / "noise.png").write_bytes(
        stored(rng.uniform(size=(200, 220)), Taking(blur=0, quality=None), rng).read()
    )
    (tmp_path / "read.csv").write_text(
        "marked,diameter_mm,direction\n2.8,17.9,opening\n2.8,17.8,closing\n4,12.5,opening\n4,12.3,closing\n"
    )
    return tmp_path


def answer(run, name, *words):
    ended = run("measure", name, *words, "--json")
    assert ended.exit_code == 0, ended.output
    found = json.loads(ended.stdout)
    Draft202012Validator(schema(f"measure.{name}")).validate(found)
    return found


def test_a_photograph_of_a_diaphragm_answers_as_its_schema_says(run, files):
    found = answer(
        run, "iris", files / "hex.jpg", "--mm-per-px", 0.05, "--marked", "4", "--focal-mm", 40,
        "--returns", files / "hex.jpg", "--scale-u", 0.001,
    )  # fmt: skip
    # hexagon of circumradius 110: De = 2R sqrt(6/2pi sin(60 deg)), in closed form
    truth = 220 * math.sqrt(6 / (2 * math.pi) * math.sin(math.pi / 3)) * 5e-5
    assert found["diameter_m"] == pytest.approx(truth, rel=0.003)
    assert found["diameter_u_m"] > 0
    assert found["roundness"] == pytest.approx(math.cos(math.pi / 6), abs=0.004)
    assert found["blades"] == 6
    assert found["returns"]["same"] is True
    assert found["error_ev"] == pytest.approx(2 * math.log2(4 * truth / 0.04), abs=0.02)


def test_darker_photographs_tell_what_the_camera_itself_does_to_light(run, files):
    rng = np.random.default_rng(4)
    words = []
    for ev in (0, 1, 2, 3):
        how = Taking(light=0.6 / 2**ev, dark=0.01 / 2**ev, blur=1.8, own="contrast 0.9")
        picture = photographed(polygon(6, 60.0, 0.3), (190, 200), (100, 95), how, rng)
        (files / f"less-{ev}.jpg").write_bytes(picture.read())
        words += ["--darker", files / f"less-{ev}.jpg", ev] if ev else []
    alone, told = (answer(run, "iris", files / "less-0.jpg", *more) for more in ((), words))
    truth = 120 * math.sqrt(6 / (2 * math.pi) * math.sin(math.pi / 3))  # as above, in pixels
    assert told["diameter_px"] == pytest.approx(truth, rel=0.003)
    assert told["diameter_u_px"] < alone["diameter_u_px"]
    assert any("Darker pictures" in one for one in alone["warnings"])
    ended = run("measure", "iris", files / "less-0.jpg", "--darker", files / "less-1.jpg", 1)
    assert (ended.exit_code, ended.stderr.count("\n")) == (2, 1)
    assert "Give three" in ended.stderr


def test_a_table_of_readings_answers_as_the_same_schema_says(run, files):
    found = answer(run, "iris", files / "read.csv", "--focal-mm", 50, "--blades", 6, "--across", "flats")
    assert len(found["marks"]) == 4
    # 2 log2 of opening over closing, mean of both marks
    truth = math.log2(17.9 / 17.8) + math.log2(12.5 / 12.3)
    assert found["hysteresis"]["difference_ev"] == pytest.approx(truth)


def test_without_a_scale_the_diameter_is_null_and_the_reason_is_told(run, files):
    found = answer(run, "iris", files / "hex.jpg")
    assert found["diameter_m"] is None
    assert found["blades"] == 6
    assert any("how large a pixel" in one for one in found["warnings"])


def test_glass_answers_as_its_schema_says(run, files):
    one = answer(run, "glass", files / "found.jpg")
    assert one["grade"] is not None
    both = answer(run, "glass", "--before", files / "found.jpg", "--after", files / "cleaned.jpg")
    assert both["change"]["gone_percent"] > both["change"]["come_percent"]
    veil = answer(run, "glass", "--veil", files / "veil.jpg")
    assert veil["veiling_glare_percent"] == pytest.approx(100 * 0.02 / 0.6, rel=0.05)


def test_a_person_is_told_the_verdict_and_whose_limit_it_is(run, files):
    said = run(
        "measure", "iris", files / "hex.jpg", "--scale", "0,0,300,0,15", "--marked", "4", "--focal-mm", "40"
    )
    assert said.exit_code == 0
    assert "verdict:" in said.output
    assert "[practice]" in said.output
    said = run("measure", "glass", "--before", files / "found.jpg", "--after", files / "cleaned.jpg")
    assert "cleaner on" in said.output
    assert "scattered light less by" in said.output


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["iris"], "Give a photograph or a table"),
        (["iris", "empty.jpg"], "no picture"),
        (["iris", "noise.png"], "no lit opening"),
        (["iris", "gone.jpg"], "No such file"),
        (["iris", "hex.jpg", "--mm-per-px", "0"], "can't be"),
        (["iris", "hex.jpg", "--mm-per-px", "nan"], "can't be"),
        (["iris", "hex.jpg", "--scale", "1,2,3"], "no scale"),
        (["iris", "hex.jpg", "--scale", "1,2,3,4,5", "--mm-per-px", "1"], "not both"),
        (["iris", "hex.jpg", "--marked", "wide"], "no f-number"),
        (["iris", "hex.jpg", "--focal-mm", "-50"], "can't be"),
        (["iris", "hex.jpg", "--blades", "6"], "does not go with a photograph"),
        (["iris", "read.csv", "--mm-per-px", "1"], "does not go with a table"),
        (["iris", "read.csv", "--blades", "6"], "go together"),
        (["iris", "hex.jpg", "--returns", "found.jpg"], "not as large"),
        (["glass"], "Give a photograph"),
        (["glass", "noise.png"], "pegwood:"),
        (["glass", "--before", "found.jpg"], "wants --after"),
        (["glass", "found.jpg", "--glass", "1,2"], "no place in a picture"),
        (["glass", "found.jpg", "--glass", "1,2,3"], "can't be graded"),
        (["glass", "--veil", "hex.jpg"], "black patch"),
        (["glass", "found.jpg", "--own", "veil.jpg"], "go with --veil"),
    ],
)
def test_what_cannot_be_is_one_line_with_the_remedy(run, files, words, says):
    words = [files / one if one.endswith((".jpg", ".png", ".csv")) else one for one in words]
    ended = run("measure", *words)
    assert ended.exit_code == 2
    assert says in ended.stderr
    assert ended.stderr.count("\n") == 1
    assert ended.stdout == ""
