"""What stands beside the speeds: figures set by hand come out with 1.96 times their u (JCGM 100, G.1)."""

import pytest

from papers.results_beside import at_stops, beside_it, contact, curtains
from papers.test_making import a_result
from pegwood.papers.beside import beside, figure_words


def result(**more):
    return beside_it(a_result("1/125", 0.1), **more).to_json()


def rows(shown):
    return {row.label: row for row in shown.rows}


def test_a_speed_alone_has_nothing_beside_it():
    assert beside("1/125", result(), None, "en_GB") == ()


def test_smaller_stops_stand_with_their_uncertainty_and_gain():
    (shown,) = beside("1/125", result(at_stops=at_stops()), None, "en_GB")
    assert shown.what == "smaller stops"
    told = rows(shown)
    # 1.96 * 20 us = 0.039 ms; 8 ms * 2**0.25 = 9.514 ms, 1.96 * 30 us = 0.059 ms
    assert told["f/2.8"].found.text == "8.000 ± 0.039 ms"
    # hypot(0.0392 / 8, 0.0588 / 9.514) / ln 2 = 0.0114 EV, cut to 0.01 EV and so rounded up
    assert told["f/4"].found.text == "9.514 ± 0.059 ms, +0.25 ± 0.02 EV"
    assert told["f/4"].left is None


def test_the_gravest_verdict_of_the_firings_is_said_with_their_number():
    contacts = (contact(1.5e-3), contact(1.6e-3), contact(-0.2e-3, "outside"))
    (shown,) = beside("1/125", None, result(contacts=contacts), "en_GB")
    told = rows(shown)
    assert (told["for electronic"].left.verdict, told["for electronic"].left.text) == (
        "outside",
        "1 of 3 firings",
    )
    assert (told["for FP"].left.verdict, told["for FP"].left.text) == ("cannot tell", "3 of 3 firings")
    assert told["closes before full opening"].left.text == "−0.200 to 1.600 ms (± 0.020)"
    assert told["bounces"].left.text == "none"


def test_a_contact_comes_with_whose_figures_and_with_its_caution():
    (shown,) = beside("1/125", result(contacts=(contact(1.5e-3, bounces=2),)), None, "en_GB")
    assert "electronic: contact closes not before the shutter is fully open (a glossary; seen)" in shown.notes
    assert "stay charged" in shown.caution
    assert rows(shown)["bounces"].found.text == "up to 2 in a firing"


def test_curtains_stand_side_by_side_as_found_and_as_left():
    (shown,) = beside("1/250", result(curtains=curtains("found")), result(curtains=curtains()), "en_GB")
    told = rows(shown)
    assert told["first curtain's travel"].left.text == "15.0000 ± 0.0098 ms"
    assert told["second curtain's travel"].found.text == "18.0000 ± 0.0098 ms"
    assert told["taper, last place against first"].left.text == "+1.32 ± 0.01 EV"
    assert told["slit at 18 mm"].left.text == "7.700 ± 0.039 mm"
    assert (told["capping"].found.text, told["capping"].left.text) == ("found", "not found")
    assert told["flash covers the gate from"].left.text == "15.0000 ± 0.0098 ms"
    assert told["fastest speed for flash"].left.text == "1/60"
    assert told["flash covers it at this speed"].left.text == "no"
    # it holds for both and is said once
    assert shown.notes == ("slit efficiency: needs the distance from curtain to film and the stop",)


def test_what_could_be_had_on_one_side_only_is_a_dash_or_nothing_on_the_other():
    bare = result(curtains=curtains())
    bare["curtains"].update(first_travel_s=None, flash_shortest_s=None, withheld={"travel": "too narrow"})
    (shown,) = beside("1/250", bare, result(curtains=curtains()), "en_GB")
    assert rows(shown)["first curtain's travel"].found.text == "–"
    assert rows(shown)["flash covers the gate from"].found.text == "–"
    assert "as found: travel: too narrow" in shown.notes
    assert any(note.startswith("as left: slit efficiency") for note in shown.notes)


@pytest.mark.parametrize(
    ("unit", "value", "half", "words"),
    [
        ("m", 4.83e-3, 0.047e-3, "4.830 ± 0.047 mm"),
        ("m_s", 2.4, 0.02, "2.400 ± 0.020 m/s"),
        ("", 0.727, 0.015, "72.7 ± 1.5 %"),
        ("ev", -0.314, 0.12, "−0.31 ± 0.12 EV"),
        ("s", 0.015, 0.0002, "15.00 ± 0.20 ms"),
    ],
)
def test_a_figure_has_two_digits_of_its_uncertainty(unit, value, half, words):
    end = f"_{unit}" if unit else ""
    data = {f"it{end}": value, f"it_95{end}": [value - half, value + half]}
    assert figure_words(data, "it", unit, "en_GB") == words


def test_a_figure_without_an_uncertainty_is_not_shown():
    assert figure_words({"it_m": 1.0, "it_95_m": None}, "it", "m", "en_GB") == "–"
