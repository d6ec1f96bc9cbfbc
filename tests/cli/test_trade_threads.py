"""Which thread, and how tight, at the command line."""

from __future__ import annotations

import json
import subprocess
import sys

import numpy as np
import pytest
from click.testing import CliRunner
from PIL import Image

from pegwood.cli import main
from trade.screws_drawn import draw


@pytest.fixture
def ask(tmp_path, monkeypatch):
    """``ask("thread", "2.48", "0.45")``: what the command prints, and how it ends."""
    monkeypatch.setenv("PEGWOOD_WORKSHOP", str(tmp_path / "bench"))

    def ask(*words):
        result = CliRunner().invoke(main, ["trade", *(str(word) for word in words)])
        if result.exception is not None and not isinstance(result.exception, SystemExit):
            raise result.exception
        return result

    return ask


def photograph(path, picture):
    """A picture in light as a file holds it: on the curve of IEC 61966-2-1."""
    coded = np.where(picture <= 0.0031308, picture * 12.92, 1.055 * picture ** (1 / 2.4) - 0.055)
    Image.fromarray(np.round(coded * 255).astype(np.uint8)).save(path, quality=92)
    return path


def numbers_without_source(value, where="data"):
    """Mappings that hold a number and no source and mark."""
    if isinstance(value, list):
        return [bad for i, one in enumerate(value) for bad in numbers_without_source(one, f"{where}[{i}]")]
    if not isinstance(value, dict):
        return []
    holds = any(isinstance(one, int | float) and not isinstance(one, bool) for one in value.values())
    bad = [where] if holds and not (value.get("source") and value.get("mark")) else []
    return bad + [
        one for key, inside in value.items() for one in numbers_without_source(inside, f"{where}.{key}")
    ]


def test_a_measured_screw_is_told_in_json_as_promised(ask):
    told = json.loads(ask("thread", "2.48", "0.45", "--json").stdout)
    # 6g of M2.5 ends at 2.480 mm, that of M2.6 begins there: both have to be told
    assert {one["thread"] for one in told["candidates"][:2]} == {"M2.5x0.45", "M2.6x0.45"}
    for one in told["candidates"]:
        assert one.keys() >= {"thread", "p", "diameter_m", "pitch_m", "source", "mark"}
    assert told["next"].keys() >= {"measure", "how", "reads", "gain_bits", "source", "mark"}
    whole = [*told["candidates"], told["none_of_these"], told["less_likely"]]
    assert sum(one["p"] for one in whole) == pytest.approx(1.0)
    assert numbers_without_source(told) == []


def test_a_measured_screw_is_told_in_words_with_a_caution(ask):
    shown = ask("thread", "1.69", "0.35", "--from", "britain").stdout
    assert shown.startswith("10 BA, ")
    assert "never force it" in " ".join(shown.split())
    assert "To tell them apart, next" in shown


@pytest.mark.parametrize(
    "words",
    [
        ["2.18", "--turns", 10, "--over", 4.536],
        ["0.0858", "--tpi", 56, "--inch"],
        ["0.0858", "0.01786", "--inch"],
        ["2.18", "0.4536", "--u-diameter", 0.02, "--u-pitch-percent", 1],
    ],
)
def test_the_pitch_is_taken_in_every_way_people_measure_it(ask, words):
    told = json.loads(ask("thread", *words, "--from", "america", "--json").stdout)
    assert told["candidates"][0]["thread"] == "#2-56 UNC"
    assert told["measured"]["pitch_m"] == pytest.approx(0.4536e-3, rel=1e-3)


def test_turns_over_a_length_carry_the_uncertainty_of_that_length(ask):
    words = ["2.18", "--turns", 8, "--over", 3.6, "--u-over", 0.04, "--json"]
    told = json.loads(ask("thread", *words).stdout)
    assert told["measured"]["u_pitch_m"] == pytest.approx(0.04e-3 / 8)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ([], "Give the outside diameter and the pitch"),
        (["2.48"], "Give the pitch once"),
        (["2.48", "0.45", "--tpi", "56"], "Give the pitch once"),
        (["2.48", "--turns", "10"], "--turns needs --over"),
        (["2.48", "--turns", "0", "--over", "4"], "0 turns over 4 mm"),
        (["2.48", "--tpi", "0"], "0 threads per inch"),
        (["0.45", "2.48"], "Give the outside diameter first"),
        (["2.48", "0.45", "--from", "mars"], "'mars' is no origin that the tables know. Nearest:"),
        (["2.48", "0.45", "--photo", __file__], "Give figures or --photo, not both"),
        (["--photo", __file__], "--photo needs --mm-per-px"),
        (["--photo", __file__, "--mm-per-px", "0.01"], "is no photograph that can be read"),
    ],
)
def test_what_cannot_be_asked_is_refused_in_one_line(ask, words, says):
    result = ask("thread", *words)
    assert result.exit_code != 0
    assert result.stderr.startswith("pegwood: ")
    assert result.stderr.count("\n") == 1
    assert says in result.stderr


def test_a_photograph_of_a_screw_is_read(ask, tmp_path):
    picture = draw(2.70, 0.53, profile="ba", mm_per_px=0.014, turned_deg=12, noise=0.02, glints=True)
    path = photograph(tmp_path / "screw.jpg", picture)
    told = json.loads(ask("thread", "--photo", path, "--mm-per-px", 0.014, "--json").stdout)
    assert told["candidates"][0]["thread"] == "6 BA"
    assert told["picture"]["pitch_m"] == pytest.approx(0.53e-3, abs=2.6 * told["picture"]["u_pitch_m"])
    assert numbers_without_source(told) == []
    blurred = photograph(tmp_path / "blurred.png", draw(2.70, 0.53, mm_per_px=0.02, blur_px=4))
    refused = ask("thread", "--photo", blurred, "--mm-per-px", 0.02)
    assert refused.exit_code == 2
    assert "The picture is blurred" in refused.stderr


def test_without_the_extra_a_photograph_says_how_to_add_it(ask, tmp_path, monkeypatch):
    monkeypatch.setattr("pegwood.trade.threads.picture.can_read_pictures", lambda: False)
    path = photograph(tmp_path / "screw.png", draw(2.70, 0.53, mm_per_px=0.02))
    assert "pip install 'pegwood[pictures]'" in ask("thread", "--photo", path, "--mm-per-px", 0.02).stderr


def test_the_look_up_loads_nothing_heavy():
    code = (
        "import sys; from pegwood.trade.reference import Reference; import pegwood.trade.threads as threads; "
        "threads.tell_thread(Reference(), 2.48e-3, 0.45e-3); threads.tell_torque(Reference(), 'M2'); "
        "print(sorted({'numpy', 'scipy', 'skimage', 'PIL', 'django'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_a_torque_is_told_with_what_friction_makes_of_it(ask):
    told = json.loads(ask("torque", "M2x0.4", "--in", "brass", "--json").stdout)
    # standard tightening torque chart after JIS B 1082: 0.5 T of M2 is 0.088 N m
    assert told["torque"]["torque_n_m"] == pytest.approx(0.088, rel=0.016)
    assert told["torque"]["stress_area_m2"] == pytest.approx(2.073e-6, rel=1e-3)
    assert told["torque"]["oiled_n_m"] < told["torque"]["torque_n_m"] < told["torque"]["rough_n_m"]
    assert numbers_without_source(told) == []
    assert "0.087 N·m (8.7 cN·m)" in ask("torque", "M2", "--in", "brass").stdout


def test_a_torque_below_the_chart_says_so_and_plastic_warns(ask):
    assert "below the chart" in ask("torque", "0.50 UNM").stdout
    assert "strips without warning" in ask("torque", "M1.7", "--in", "acetal").stdout


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["M22"], "'M22' is no thread that the tables know. Nearest:"),
        (["M2", "--in", "velvet"], "know no torque"),
    ],
)
def test_an_unknown_thread_or_hole_is_refused_in_one_line(ask, words, says):
    result = ask("torque", *words)
    assert result.exit_code == 2
    assert says in result.stderr
