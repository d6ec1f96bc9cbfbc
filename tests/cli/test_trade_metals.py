"""What a repairer types about metals, rust and glue."""

import json


def test_a_couple_is_answered_in_its_first_line(run):
    result = run("trade", "couple", "brass", "steel", "--in", "salt", "--area-ratio", 0.1)
    assert result.exit_code == 0
    assert result.output.startswith("Over the limit: 0.45 V apart, limit 0.15 V; the plain steel suffers")


def test_scripts_get_figures_in_si_with_their_source(run):
    told = json.loads(run("trade", "glue", "slow epoxy", "--at", 35, "--json").output)
    assert told["curing"]["temperature"]["temperature_k"] == 308.15
    assert told["curing"]["full_s"]["likely"] == 12 * 3600
    assert told["curing"]["full_s"]["mark"] == "practice"


def test_a_card_a_look_a_grade_and_a_covering_are_told(run):
    assert "0.95 V below gold" in run("trade", "metal", "cadmium").output
    assert "Green wax on brass" in run("trade", "corrosion", "green", "wax", "on", "brass").output
    assert "A failure" in run("trade", "rust", 0.1, "--flag", "moving part").output
    assert "Not above 60 °C" in run("trade", "glue", "leather").output
    assert "weld with butanone" in run("trade", "glue", "abs", "abs", "--for-good").output


def test_what_cannot_be_answered_is_one_line_and_exit_2(run):
    for words, says in (
        (("couple", "leather", "brass"), "no metal"),
        (("couple", "brass", "steel", "--area-ratio", 0), "above zero"),
        (("rust", "250"), "from 0 to 100 %"),
        (("glue", "shelac"), "Nearest: shellac"),
        (("glue", "a", "b", "c"), "two materials"),
        (("corrosion", "purple elephants"), "no look of corrosion"),
        (("glue", "shellac", "--at", 30), "no figure is known"),
    ):
        result = run("trade", *words)
        assert result.exit_code == 2, words
        assert says in result.output, words
        assert result.output.strip().count("\n") == 0, words
