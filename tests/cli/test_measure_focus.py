"""Focus at the command line, on rendered photographs whose best focus is known."""

import json

import numpy as np
import pytest
from jsonschema import Draft202012Validator

from instruments.slanted import Blur, Scene
from pegwood.instruments.schemas import schema

AT = (0.0, 0.1, 0.2, 0.3, 0.4, 0.5)
BEST = 0.23


def answer(ended, name="measure.focus"):
    assert ended.exit_code == 0, ended.output
    found = json.loads(ended.stdout, parse_constant=pytest.fail)
    Draft202012Validator(schema(name)).validate(found)
    return found


@pytest.fixture(scope="module")
def photographs(tmp_path_factory):
    folder, rng = tmp_path_factory.mktemp("focus"), np.random.default_rng(5)
    files = []
    for k, z in enumerate(AT):
        scene = Scene(blur=Blur(float(np.hypot(1.0, 12 * (z - BEST)))), degrees=5, width=200, height=200)
        files.append(folder / f"f{k}.jpg")
        files[-1].write_bytes(scene.picture(rng).read())
    return files


@pytest.mark.parametrize("spelling", ["after one another", "again and again", "commas"])
def test_best_focus_from_photographs(run, photographs, spelling):
    if spelling == "again and again":
        words = [word for f, z in zip(photographs, AT, strict=True) for word in ("--edge", f, "--at", z)]
    elif spelling == "commas":
        words = ["--edge", *photographs, "--at", ",".join(map(str, AT))]
    else:
        words = ["--edge", *photographs, "--at", *AT]
    found = answer(run("measure", "focus", *(["series"] if spelling == "commas" else []), *words, "--json"))
    for got, z in zip(found["mtf50"], AT, strict=True):
        true = Blur(float(np.hypot(1.0, 12 * (z - BEST)))).mtf50(5)
        assert got == pytest.approx(true, rel=0.03)
    assert abs(found["best"] - BEST) < 3 * found["best_u"]
    assert found["best_u"] < 0.003


def test_negative_positions_are_read(run, photographs):
    found = answer(
        run("measure", "focus", "--edge", *photographs, "--at", -0.3, -0.2, -0.1, 0, 0.1, 0.2, "--json")
    )
    assert abs(found["best"] - (BEST - 0.3)) < 3 * found["best_u"]


def test_people_see_the_photographs_and_best_focus(run, photographs):
    shown = run("measure", "focus", "--edge", *photographs, "--at", *AT).stdout
    assert "best focus: 0.2" in shown
    assert "±" in shown


def test_what_cannot_be_told_is_null_with_the_reason(run, photographs):
    found = answer(run("measure", "focus", "--edge", *photographs[:3], "--at", *AT[:3], "--json"))
    assert found["best"] is None
    assert any("3 positions" in one for one in found["warnings"])
    found = answer(run("measure", "focus", "--edge", photographs[0], "--json"))
    assert found["mtf50"][0] > 0
    assert any("Without positions" in one for one in found["warnings"])


def test_a_picture_without_an_edge_is_null_and_the_others_are_read(run, photographs, tmp_path):
    odd = tmp_path / "plain.jpg"
    odd.write_bytes(
        Scene(dark=0.4, bright=0.4, width=200, height=200).picture(np.random.default_rng(1)).read()
    )
    found = answer(run("measure", "focus", "--edge", *photographs, odd, "--at", *AT, 0.6, "--json"))
    assert found["mtf50"][-1] is None
    assert any("plain.jpg" in one for one in found["warnings"])
    assert abs(found["best"] - BEST) < 3 * found["best_u"]


def test_a_file_that_is_no_picture_is_told_and_ends_with_two(run, photographs, tmp_path):
    odd = tmp_path / "notes.txt"
    odd.write_text("not a picture")
    ended = run("measure", "focus", "--edge", *photographs, odd, "--at", *AT, 0.6, "--json")
    assert ended.exit_code == 2
    assert "no picture" in ended.stderr
    assert json.loads(ended.stdout)["mtf50"][-1] is None


def test_five_places_tell_the_tilt_and_the_shims(run, tmp_path):
    rng = np.random.default_rng(9)
    places = ((0, 0), (-15, 10), (15, 10), (-15, -10), (15, -10))
    slope = 0.004  # right side further from the film, mm per mm
    files = []
    for z in AT:
        for k, (x, _) in enumerate(places):
            blur = Blur(float(np.hypot(1.0, 12 * (z - 0.25 - slope * x))))
            files.append(tmp_path / f"t{z}-{k}.png")
            files[-1].write_bytes(Scene(blur=blur, width=120, height=100).picture(rng, None).read())
    words = [word for x, y in places for word in ("--place", f"{x},{y}")]
    words += ["--screw", "20,0", "-10,17", "-10,-17", "--stop", "2", "--format", "24x36"]
    found = answer(run("measure", "focus", "--edge", *files, "--at", *AT, *words, "--json"))
    tilt = found["tilt"]
    assert abs(tilt["right_rad"] - slope) < 3 * tilt["right_u_rad"]
    assert abs(tilt["up_rad"]) < 3 * tilt["up_u_rad"]
    assert tilt["right_u_rad"] < 0.0005
    changes = [one["change_m"] for one in found["screws"]]
    assert changes == pytest.approx([8e-5, -4e-5, -4e-5], abs=1.5e-5)
    assert found["verdict"] == "outside"  # 0.072 mm in the corner, 0.030 allowed at f/2
    shown = run("measure", "focus", "--edge", *files[5:25], "--at", *AT[1:5], *words).stdout
    assert "arcmin" in shown
    assert "Screw at 20,0 mm" in shown


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (["--at", "1"], "Give photographs"),
        (["--edge", "a.jpg", "b.jpg", "--at", "1"], "2 photographs and 1 positions"),
        (["--edge", "a.jpg", "--at", "near"], "is no number"),
        (["--edge", "a.jpg", "--at", "inf"], "is no number"),
        (["--edge", "a.jpg", "--region", "1,2,3"], "X,Y,W,H"),
        (["--edge", "a.jpg", "--region", "0,0,4,4"], "16 by 16"),
        (["--edge", "a.jpg", "--screw", "1;2"], "no place"),
        (["--edge", "a.jpg", "--format", "9x12"], "There are: 24x36"),
        (["--edge", "a.jpg", "--stop", "0"], "above zero"),
        (["--edge", "a.jpg", "--at-u", "-1"], "below zero"),
    ],
)
def test_what_was_asked_wrongly_is_one_line(run, words, why):
    ended = run("measure", "focus", *words)
    assert ended.exit_code == 2
    assert why in ended.stderr
    assert len(ended.stderr.strip().splitlines()) == 1


SCALE = ("--focal-mm", 50, "--stop", 2, "--format", "24x36")


def test_a_distance_scale_in_feet_and_metres(run, tmp_path):
    table = tmp_path / "marks.csv"
    table.write_text("marked,found_m\ninf,30\ninf,31\n10 ft,2.9\n1.5,1.47\n")
    found = answer(
        run("measure", "focus", "scale", table, *SCALE, "--lead-mm", 10, "--json"), "measure.focus.scale"
    )
    assert [one["marked_m"] for one in found["marks"]] == pytest.approx([1.5, 3.048, None])  # 0.3048 m a foot
    assert found["offset_m"] > 0 > found["shim_m"]
    assert found["helicoid_turns"] == pytest.approx(found["shim_m"] / 0.01)
    shown = run("measure", "focus", "scale", table, *SCALE).stdout
    assert "thinner" in shown
    assert "practice" in shown


@pytest.mark.parametrize(
    ("text", "words", "why"),
    [
        ("", SCALE, "no readings"),
        ("far,near\n1,2\n", SCALE, "no column 'marked_m'"),
        ("marked_m,found_m\n0,3\n", SCALE, "focal length"),
        ("marked_m,found_m\n3,ten\n", SCALE, "line 2"),
        ("marked_m,found_m\n3,3\n", SCALE[:4], "--format"),
        ("marked_m,found_m\n3,3\n", ("--focal-mm", 0, *SCALE[2:]), "above zero"),
    ],
)
def test_a_scale_s_bad_readings_are_one_line(run, tmp_path, text, words, why):
    table = tmp_path / "marks.csv"
    table.write_text(text)
    ended = run("measure", "focus", "scale", table, *words)
    assert ended.exit_code == 2
    assert why in ended.stderr
    assert len(ended.stderr.strip().splitlines()) == 1


def test_a_register_by_depth_gauge(run, tmp_path):
    table = tmp_path / "depths.csv"
    rows = [
        f"{x},{y},{53.94 + e},rails" for x, y in ((-15, 10), (15, 10), (0, -10)) for e in (0, 0.004, -0.004)
    ]
    table.write_text("\n".join(["x_mm,y_mm,depth_mm,to", *rows, "0,0,54.14,plate", "0,0,54.142,plate"]))
    words = ("--nominal-mm", 43.9, "--bar-mm", 10, "--gauge-error-mm", 0.005, "--gauge-step-mm", 0.002)
    found = answer(run("measure", "focus", "flange", table, *words, "--json"), "measure.focus.flange")
    assert found["error_m"] == pytest.approx(4e-5, abs=1e-9)
    assert found["channel_m"] == pytest.approx(2.01e-4, abs=1e-9)
    assert found["verdict"] == "outside"
    assert "thinner" in run("measure", "focus", "flange", table, *words).stdout


def test_depth_of_field_says_whose_circle_it_is(run):
    words = ("depth", "--focal-mm", 50, "--stop", 2, "--format", "24x36", "--at", 3, "inf", "--json")
    found = answer(run("measure", "focus", *words), "measure.focus.depth")
    # standards.md, section 12, rows 16 and 17
    assert found["distances"][0]["near_m"] == pytest.approx(2.80164, abs=1e-5)
    assert found["distances"][0]["image_shift_m"] == pytest.approx(0.84746e-3, abs=1e-8)
    assert found["distances"][1]["far_m"] is None
    assert found["confusion_mark"] == "memory"
    assert (
        "hyperfocal"
        in run("measure", "focus", "depth", "--focal-mm", 50, "--stop", 2, "--format", "135").stdout
    )
