"""Safety and oils at the command line, asked as a person would."""

import json

import pytest
from click.testing import CliRunner

from pegwood.cli import main


@pytest.fixture
def trade(tmp_path, monkeypatch):
    monkeypatch.setenv("PEGWOOD_WORKSHOP", str(tmp_path))
    return lambda *words: CliRunner().invoke(main, ["trade", *words])


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("safety", "lighter", "fluid"), "light naphtha: Danger. Flash point -23 °C"),
        (("safety", "67-64-1"), "acetone: Danger."),
        (("mix", "bleach", "vinegar"), "NEVER. Chlorine: toxic gas."),
        (("mix", "acetone", "water"), "NOT KNOWN."),
        (("hazard", "mercury", "spill"), "! Never a vacuum cleaner"),
        (("capacitor", "1000uF", "330V", "--through", "1k"), "54.45 J. Through 1 kΩ"),
        (("capacitor", "1000", "330"), "54.45 J. Through 12 kΩ"),  # a bare value is in microfarads
        (("oil", "32@40 5.4@100", "--at", "80"), "at 80 °C: 8.5"),
        (("oil", "mineral oil VG 32", "--winter"), "as thick at -10 °C as at 20 °C"),
        (("oil", "grease-2", "--winter", "--at", "-20C"), "as thick at -20 °C as at 20 °C"),
        (("lubricate", "shutter", "blades"), "NEVER. No oil, no grease."),
    ],
)
def test_a_question_is_answered_in_its_first_lines(trade, words, says):
    done = trade(*words)
    assert done.exit_code == 0, done.output
    assert says in " ".join(done.output.split())


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("safety", "heptan"), "Nearest: heptane"),
        (("mix", "bleach", "bleach"), "Give two substances"),
        (("capacitor", "1000uF", "lots"), "'lots' is no voltage. Give it as 330V."),
        (("capacitor", "1000uF", "330uF"), "'330uF' is no voltage"),
        (("oil", "32@40", "--winter"), "give two points"),
        (("oil", "mineral oil VG 32", "--at", "-200"), "no temperature for an oil"),
        (("lubricate", "helicoit"), "Nearest: helicoid"),
    ],
)
def test_what_cannot_be_answered_is_one_line_that_says_what_to_do(trade, words, says):
    done = trade(*words)
    assert done.exit_code == 2
    assert says in " ".join(done.output.split())
    assert len(done.output.splitlines()) == 1


def test_for_scripts_there_is_json_in_si(trade):
    found = json.loads(trade("safety", "heptane", "--json").output)
    assert found["figures"]["flash_k"]["value"] == pytest.approx(266.15)  # IEC 60079-20-1
    assert found["label"]["pictograms"] == ["GHS02", "GHS07", "GHS08", "GHS09"]
    held = json.loads(trade("capacitor", "1000uF", "330V", "--through", "1k", "--json").output)
    assert held["capacitor"]["energy_j"] == pytest.approx(54.45)
    cold = json.loads(trade("oil", "synthetic-oil-10", "--winter", "--json").output)
    assert cold["cold"]["ratio"]["ratio"] == pytest.approx(82 / 19, rel=0.03)  # from D341 and D2270, apart
