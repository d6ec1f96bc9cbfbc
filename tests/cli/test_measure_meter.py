"""The meter's commands, called as a person would; what they answer is held to the published schemas."""

import json
import math

import numpy as np
import pytest
from jsonschema import Draft202012Validator

from instruments.meters import Bench, table
from pegwood.instruments.schemas import schema

BENCH = Bench((3, 5, 8, 10, 13, 15))
CELLS = """cell,illuminance_lx,current_ua
old,100,8.1
old,300,25.3
old,1000,82
old,3000,240
spare,100,11
spare,300,33
spare,1000,110
spare,3000,322
"""


@pytest.fixture
def typed(tmp_path):
    """A meter that shows half an EV too much, its needle lagging a little."""
    rng = np.random.default_rng(6)
    path = tmp_path / "readings.csv"
    shown = BENCH.light + 0.5 - 0.1 * BENCH.way / 2 + rng.normal(0, 0.05, 12)
    path.write_text(table(BENCH.light, shown, BENCH.way), "utf-8")
    return path


def held_to(name, text):
    """The one line of an answer, valid by its schema and strict JSON."""
    (line,) = text.splitlines()
    found = json.loads(line, parse_constant=lambda one: pytest.fail(f"{one} is no JSON"))
    problems = [
        f"{one.json_path}: {one.message}" for one in Draft202012Validator(schema(name)).iter_errors(found)
    ]
    assert problems == []
    return found


def test_the_answer_is_as_published(run, typed):
    found = held_to(
        "measure.meter", run("measure", "meter", typed, "--reference-u-ev", "0.05", "--json").stdout
    )
    low, high = found["offset_95_ev"]
    assert low < 0.5 < high
    assert found["slope_95"][0] < 0 < found["slope_95"][1]
    assert found["hysteresis_95_ev"][0] < -0.1 < found["hysteresis_95_ev"][1]
    assert found["pattern"] == "offset"
    assert found["verdict"] == "too close to call"
    assert found["adjust"]["film_speed_factor"] == pytest.approx(2 ** found["adjust"]["shift_ev"])
    assert found["file"] == str(typed)
    assert len(found["points"]) == 12
    assert len(found["curve"]) == 25


@pytest.mark.parametrize(
    "text",
    [
        "reference_ev,shown_ev\n5,5.3\n12,12.4\n",
        "reference_ev,shown_ev\n9,9.3\n9,9.4\n9,9.1\n",
        "reference_lx,shown_ev\n80,5.1\n1280,9.2\n20480,13\n",
        "reference_ev,shown_ev\n4,4\n6,6\n8,8\n10,10\n12,12\n",
        "reference_ev,shown_ev\n4,<4\n6,6.1\n",
    ],
)
def test_what_is_refused_is_null_with_a_reason(run, tmp_path, text):
    path = tmp_path / "few.csv"
    path.write_text(text, "utf-8")
    found = held_to("measure.meter", run("measure", "meter", path, "--json").stdout)
    for key in ("offset_ev", "slope", "hysteresis_ev"):
        if found[key] is None:
            assert any(key.removesuffix("_ev") in line for line in found["warnings"])


def test_people_see_figures_verdict_advice_and_cautions(run, typed):
    shown = run("measure", "meter", typed, "--cell", "cds").stdout
    words = " ".join(shown.split())
    for part in (
        "error at EV 9",
        "±",
        "verdict:",
        "practice",
        "pattern: offset",
        "EV less",
        "caution:",
        "mercury",
    ):
        assert part in words


def test_the_colour_of_the_lamp_and_a_shunt_are_asked_for(run, typed):
    plain = json.loads(run("measure", "meter", typed, "--json").stdout)
    ask = ("--cell", "selenium", "--light", "LED-B3", "--movement-ohm", "500", "--json")
    found = held_to("measure.meter", run("measure", "meter", typed, *ask).stdout)
    light = held_to(
        "measure.meter-light",
        run(
            "measure", "meter-light", "--ev", "9", "--cell", "selenium", "--light", "LED-B3", "--json"
        ).stdout,
    )
    assert found["offset_ev"] == pytest.approx(plain["offset_ev"] - light["colour"]["mismatch_ev"], abs=1e-9)
    assert found["offset_u_ev"] > plain["offset_u_ev"]
    share = 2 ** found["adjust"]["shift_ev"]  # of the current that still moves the needle, selenium
    assert found["adjust"]["shunt"]["new_shunt_ohm"] == pytest.approx(500 * share / (1 - share))
    refused = run("measure", "meter", typed, "--light", "A")
    assert refused.exit_code == 2
    assert "--cell selenium" in refused.output


def test_k_outside_iso_2720_is_warned_of_where_it_counts(run, tmp_path, typed):
    path = tmp_path / "luminance.csv"
    path.write_text("reference_cd_m2,shown_ev\n4,5.1\n64,9.2\n512,12\n4096,15.1\n", "utf-8")
    found = held_to("measure.meter", run("measure", "meter", path, "--k", "14", "--json").stdout)
    assert any("10.6 to 13.4" in line for line in found["warnings"])
    in_ev = json.loads(run("measure", "meter", typed, "--k", "14", "--json").stdout)
    assert not any("13.4" in line for line in in_ev["warnings"])


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "has no readings"),
        ("reference_ev,shown_ev\n", "has no readings"),
        ("reference_ev;shown_ev\n4,5;inf\n3;off\n", "no reading is left"),
        ("reference_m,shown_m\n4,4\n", "no column reference_ev"),
        ("reference_ev,shown_ev\n4096,15\n4,5\n", "cd/m2 or lx"),
        ("\0\0\0", "no text"),
    ],
)
def test_what_cannot_be_read_is_one_line_and_ends_with_2(run, tmp_path, text, says):
    path = tmp_path / "bad.csv"
    path.write_text(text, "utf-8")
    ended = run("measure", "meter", path)
    assert ended.exit_code == 2
    assert says in ended.stderr
    assert len(ended.stderr.splitlines()) == 1


@pytest.mark.parametrize(
    "ask",
    [
        ("meter", "nowhere.csv"),
        ("meter", "{typed}", "--k", "0"),
        ("meter", "{typed}", "--division-ev", "-1"),
        ("meter", "{typed}", "--reference-u-ev", "-1"),
        ("meter", "{typed}", "--scale", "9", "3"),
        ("meter", "{typed}", "--limit-ev", "-1"),
        ("meter", "{typed}", "--shunt-ohm", "5"),
        ("meter", "{typed}", "--cell", "cds", "--light", "moon"),
        ("meter-light",),
        ("meter-light", "--ev", "5", "--lx", "5"),
        ("meter-light", "--lx", "0"),
        ("meter-light", "--ev", "5000"),
        ("meter-light", "--f-number", "8"),
        ("meter-light", "--ev", "5", "--light", "A"),
        ("meter-supply", "--current-ua", "50"),
        ("meter-supply", "--current-ua", "0", "--is", "silver-oxide"),
        ("meter-supply", "--current-ua", "50", "--volts", "nan"),
        ("meter-cell", "{typed}"),
        ("meter-cell", "{cells}", "--division-ua", "-1"),
    ],
)
def test_every_refusal_is_one_line(run, typed, tmp_path, ask):
    cells = tmp_path / "cells.csv"
    cells.write_text(CELLS, "utf-8")
    ended = run("measure", *(word.format(typed=typed, cells=cells) for word in ask))
    assert ended.exit_code == 2
    assert len(ended.stderr.splitlines()) == 1
    assert "Traceback" not in ended.output


def test_light_is_converted_as_iso_2720_has_it(run):
    found = held_to("measure.meter-light", run("measure", "meter-light", "--ev", "15", "--json").stdout)
    assert found["luminance_cd_m2"] == pytest.approx(4096)  # K = 12.5, ISO 100
    assert found["illuminance_lx"] == pytest.approx(81920)  # C = 250
    # the colour library's example: f/8, 1 s, ISO 100: 8 cd/m2
    setting = json.loads(run("measure", "meter-light", "--f-number", "8", "--time-s", "1", "--json").stdout)
    assert setting["luminance_cd_m2"] == pytest.approx(8.0)
    assert "4096 cd/m2" in run("measure", "meter-light", "--ev", "15").stdout


def test_another_battery_is_told_over_the_scale(run):
    ask = ("measure", "meter-supply", "--current-ua", "50", "--is", "silver-oxide")
    found = held_to("measure.meter-supply", run(*ask, "--json").stdout)
    assert found["error_ev"] == pytest.approx(math.log2(1.55 / 1.35) / 0.7)
    assert found["fixes"][0]["fix"] == "nothing"
    bridge = held_to("measure.meter-supply", run(*ask, "--circuit", "bridge", "--json").stdout)
    assert bridge["error_ev"] == 0
    shown = " ".join(run(*ask).stdout.split())
    assert "mercury" in shown
    assert "+0.28 ±" in shown
    beyond = held_to("measure.meter-supply", run(*ask, "--series-ohm", "20000", "--json").stdout)
    assert beyond["fixes"][0]["worst_ev"] is None


def test_the_better_cell_is_named(run, tmp_path):
    path = tmp_path / "cells.csv"
    path.write_text(CELLS, "utf-8")
    found = held_to("measure.meter-cell", run("measure", "meter-cell", path, "--json").stdout)
    assert found["best"] == "spare"
    assert "the better cell: spare" in run("measure", "meter-cell", path).stdout


def test_cells_may_stand_side_by_side_in_the_table(run, tmp_path):
    path = tmp_path / "side.csv"
    path.write_text("illuminance_lx;old_ua;new_ua\n25;2,5;5\n100;10,1;20\n400;40;81\n1600;160;\n")
    found = held_to("measure.meter-cell", run("measure", "meter-cell", path, "--json").stdout)
    assert [(one["name"], one["n"]) for one in found["cells"]] == [("old", 4), ("new", 3)]
    assert found["points"][0]["current_a"] == pytest.approx(2.5e-6)
    assert found["best"] == "new"


def test_what_is_only_taken_for_granted_is_told_by_which_option(run, typed):
    assert "Told better by --reference-u-ev, --division-ev" in run("measure", "meter", typed).stdout
    told = run(
        "measure", "meter", typed, "--reference-u-ev", "0.1", "--division-ev", "0.1", "--limit-ev", "0.4"
    )
    assert "Told better" not in told.stdout
