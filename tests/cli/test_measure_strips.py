"""`pegwood measure transport` and `pegwood measure leaks`, called as a person would."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import numpy as np
import pytest
from jsonschema import Draft202012Validator
from PIL import Image

from pegwood.instruments.schemas import schema

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from instruments.strips import Camera, at_spacing, picture


@pytest.fixture(scope="module")
def strip(tmp_path_factory):
    """A strip of three frames, fogged from its upper edge."""
    fog = lambda _x, y: 0.4 * np.exp(-(17.49 + y) / 4)  # noqa: E731
    path = tmp_path_factory.mktemp("strips") / "strip.jpg"
    path.write_bytes(
        picture(at_spacing([38.2, 37.9], seed=3, fog=fog), Camera(size=(860, 300), samples=2)).getvalue()
    )
    return path


@pytest.mark.parametrize("name", ["transport", "leaks"])
def test_the_answer_is_as_published(run, strip, name):
    ended = run("measure", name, str(strip), "--json")
    assert ended.exit_code == 0, ended.output
    answer = json.loads(ended.output)
    Draft202012Validator(schema(f"measure.{name}")).validate(answer)


def test_transport_tells_the_spacing(run, strip):
    answer = json.loads(run("measure", "transport", str(strip), "--json").output)
    assert answer["pitch_m"] == pytest.approx(38.05e-3, abs=0.05e-3)
    assert answer["overlaps"] == 0
    assert [one["start_m"] for one in answer["frames"]] == pytest.approx(
        [1.3e-3, 39.5e-3, 77.4e-3], abs=0.1e-3
    )
    said = run("measure", "transport", str(strip)).output
    assert "spacing: 38.0" in said
    assert "practice" in said


def test_leaks_tells_the_edge_and_the_cameras_own_side(run, strip):
    answer = json.loads(run("measure", "leaks", str(strip), "--json").output)
    assert answer["places"][0]["place"] == "back seal, top"
    assert answer["places"][0]["camera"] == "bottom of the camera"
    assert sum(one["p"] for one in answer["places"]) == pytest.approx(1)
    turned = json.loads(run("measure", "leaks", str(strip), "--json", "--upside-down").output)
    assert turned["places"][0]["camera"] == "top of the camera"
    assert "back seal, top" in run("measure", "leaks", str(strip)).output


@pytest.mark.parametrize("name", ["transport", "leaks"])
def test_what_cannot_be_read_is_one_line(run, tmp_path, name):
    empty, text, noise = (tmp_path / one for one in ("empty.jpg", "text.jpg", "noise.png"))
    empty.write_bytes(b"")
    text.write_text("frame,start\n1,2\n")
    Image.fromarray(np.random.default_rng(1).integers(0, 255, (300, 500)).astype(np.uint8)).save(noise)
    for path in (empty, text, noise, tmp_path / "nothing.jpg"):
        ended = run("measure", name, str(path), "--json")
        assert ended.exit_code == 2
        assert len(ended.output.strip().splitlines()) == 1
        assert path.name in ended.output
        assert "Traceback" not in ended.output


@pytest.mark.parametrize("name", ["transport", "leaks"])
def test_a_format_nobody_knows_and_no_picture_at_all(run, strip, name):
    ended = run("measure", name, str(strip), "--format", "126")
    assert ended.exit_code == 2
    assert "Give one of 135" in ended.output
    assert run("measure", name).exit_code == 2


def test_a_hole_pitch_in_the_wrong_unit(run, strip):
    ended = run("measure", "transport", str(strip), "--hole-pitch-mm", "0.187")
    assert ended.exit_code == 2
    assert "no pitch of 35 mm film" in ended.output
