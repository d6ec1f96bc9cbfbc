"""
On the reading's page and on the card: smaller stops, contact, curtains; firings laid over one another.

Stops, contacts and curtains are set by hand in `papers.results_beside`; curves are trapezoids.
"""

import io
import json
from dataclasses import replace

import pytest
from django.urls import reverse
from shutter_results import as_kept, made
from test_charts import glyphs

from papers.results_beside import at_stops, contact, curtains
from pegwood.book import measuring
from pegwood.book.models import Job, Measurement
from pegwood.instruments.shutter import Summary

BY = "Tove Halm"
NO_TIME = Summary(0, None, None, None, None, None, "no limit given", None)


def kept(job: Job, phase: str = "", marked: str = "1/25", error_ev: float = 0.1, **beside) -> Measurement:
    content = f"{marked} {phase} {error_ev} {sorted(beside)}".encode()
    measurement = measuring.keep_recording(job, io.BytesIO(content), "r.wav", marked=marked, by=BY)
    result = replace(made(marked, error_ev), **beside)
    Measurement.objects.filter(pk=measurement.pk).update(**as_kept(result))
    measurement.refresh_from_db()
    return measuring.accept_measurement(measurement, phase, by=BY) if phase else measurement


def page_of(client, measurement: Measurement, **asked) -> str:
    return client.get(reverse("reading", args=[measurement.pk]), asked).content.decode()


def part(page: str, title: str) -> str:
    """A sheet of a page, by its heading, without its tags' line breaks."""
    return page.split(f">{title}<")[1].split("</section>")[0]


def chart(client, name: str, measurement: Measurement, **asked) -> dict:
    return client.get(reverse(name, args=[measurement.pk]), asked).json()


# --- stops, contact, curtains -------------------------------------------------------------------------


def test_a_reading_of_a_time_alone_has_none_of_it(client, arrived):
    page = page_of(client, kept(arrived))
    for title in ("Smaller stops", "Flash contact", "Both curtains"):
        assert f">{title}<" not in page


def test_smaller_stops_stand_in_a_table_with_their_uncertainty(client, arrived):
    shown = part(page_of(client, kept(arrived, at_stops=at_stops())), "Smaller stops")
    assert "f/2.8" in shown
    assert "8.000 ± 0.039 ms" in shown
    assert "9.514 ± 0.059 ms, +0.25 ± 0.02 EV" in shown


def test_a_contact_stands_with_its_verdicts_whose_figures_they_are_and_the_caution(client, arrived):
    shown = part(page_of(client, kept(arrived, contacts=(contact(1.5e-3), contact(1.6e-3)))), "Flash contact")
    for words in ("for electronic", "for M", "for FP", "within", "outside", "cannot tell", "2 of 2 firings"):
        assert words in shown
    assert "(a glossary; seen)" in shown
    assert "stay charged" in shown
    assert "1.500 ± 0.020 ms" in shown  # each closing


def test_curtains_stand_place_by_place_with_a_picture(client, benno_s_reflex):
    shown = part(page_of(client, kept(benno_s_reflex, curtains=curtains())), "Both curtains")
    for words in ("18.0000 ± 0.0098 ms", "+1.32 ± 0.01 EV", "7.700 ± 0.039 mm", "2.400 ± 0.020 m/s", "1/60"):
        assert words in shown
    assert "curtains.json" in shown
    assert "slit efficiency: needs the distance from curtain to film and the stop" in shown


def test_the_picture_holds_the_results_own_passings(client, benno_s_reflex):
    measurement = kept(benno_s_reflex, curtains=curtains())
    (marks,) = glyphs(chart(client, "curtains_chart", measurement), "Scatter")
    # as set by hand: x / 2.4 m/s, and 2 ms + x / 2 m/s, at 0, 18 and 36 mm
    assert marks["data"]["t"] == pytest.approx([0.0, 7.5, 15.0, 2.0, 11.0, 20.0])


def test_where_the_curtains_were_not_timed_there_is_no_picture(client, benno_s_reflex):
    bare = curtains()
    unknown = replace(bare, places=tuple(replace(p, opens=None, closes=None) for p in bare.places))
    measurement = kept(benno_s_reflex, curtains=unknown)
    assert "curtains.json" not in page_of(client, measurement)
    assert client.get(reverse("curtains_chart", args=[measurement.pk])).status_code == 204


def test_firings_across_a_gate_are_named_by_their_place(client, benno_s_reflex):
    result = made("1/250", 0.1)
    shots = tuple(replace(shot, channel=i) for i, shot in enumerate(result.shots))
    page = page_of(client, kept(benno_s_reflex, marked="1/250", shots=shots, curtains=curtains()))
    assert "Firing 2</b>, 18 mm" in page


def test_a_gate_that_was_dark_in_part_has_no_time_and_no_made_up_verdict(client, benno_s_reflex):
    capped = kept(benno_s_reflex, "as found", curtains=curtains("found"), summary=NO_TIME)
    page = page_of(client, capped)
    assert "no time for the whole gate" in page
    assert "cannot tell" in part(page, "What it says")
    card = client.get(reverse("job", args=[benno_s_reflex.number])).content.decode()
    assert ">no time</a>" in card


def test_the_card_has_a_line_as_found_and_as_left_and_the_rest_folded_away(client, benno_s_reflex):
    kept(benno_s_reflex, "as found", curtains=curtains())
    kept(
        benno_s_reflex, "as left", error_ev=0.0, curtains=replace(curtains(), taper=None, capping="not found")
    )
    card = client.get(reverse("job", args=[benno_s_reflex.number])).content.decode()
    line = card.split('class="beside-one"')[1].split("</summary>")[0]
    assert "taper, last place against first" in line
    assert "+1.32 ± 0.01 EV" in line
    assert card.count("18.0000 ± 0.0098 ms") == 2


def test_how_it_was_recorded_stands_with_the_recording(client, arrived):
    measurement = kept(arrived)
    Measurement.objects.filter(pk=measurement.pk).update(
        settings={"arrangement": {"contact": 1, "widest": 2.8}}
    )
    measurement.refresh_from_db()
    assert "flash contact in channel 1; lens wide open at f/2.8" in page_of(client, measurement)


def test_the_budget_of_the_mean_and_of_each_firing_stands_as_bars(client, arrived):
    page = page_of(client, kept(arrived))
    assert page.count('<i style="width:100%">') == 4  # the mean and three firings, of one component each
    assert "Noise of the sensor" in page


# --- laid over one another ----------------------------------------------------------------------------


def curves(item: dict) -> list[list[float]]:
    (lines,) = glyphs(item, "MultiLine")
    return lines["data"]["t"]


def test_the_first_and_the_last_firing_are_laid_over_one_another(client, arrived):
    measurement = kept(arrived)
    shown = part(page_of(client, measurement), "Laid over one another")
    assert shown.count("checked") == 3  # two firings, and how they meet
    assert "firing=1&amp;firing=3&amp;align=first" in shown
    assert len(curves(chart(client, "laid_over_chart", measurement))) == 2


def test_firings_are_chosen_and_laid_as_asked(client, arrived):
    measurement = kept(arrived, error_ev=0.0)
    item = chart(client, "laid_over_chart", measurement, firing=["2"], align="half")
    # a trapezoid of 1 ms edges and 40 ms (1/25 taken at its word), laid at half of its edge
    assert curves(item) == [pytest.approx([-0.5, 0.5, 39.5, 40.5])]


def test_as_found_and_as_left_of_a_speed_are_laid_over_one_another(client, arrived):
    found, left = kept(arrived, "as found", error_ev=1.0), kept(arrived, "as left", error_ev=0.0)
    shown = part(page_of(client, left), "Laid over one another")
    assert "1, as found" in shown
    assert "1, as left" in shown
    before, after = curves(chart(client, "laid_over_chart", left))
    # last light: an EV too long is twice the time, and an edge of 1 ms on top
    assert (before[-1], after[-1]) == (pytest.approx(81.0), pytest.approx(41.0))
    back = part(page_of(client, found), "Laid over one another")
    assert f"{left.pk}-1" in back


def test_each_line_is_told_apart_by_its_dashes_and_has_its_row(client, arrived):
    shown = part(page_of(client, kept(arrived), firing=["1", "2", "3"]), "Laid over one another")
    dashes = [piece.split('"')[0] for piece in shown.split('stroke-dasharray="')[1:]]
    assert dashes == ["none", "12 5", "2 4"]
    assert shown.count('<th scope="row">') == 3


def test_more_than_can_be_told_apart_are_left_out_and_that_is_said(client, arrived):
    eight = made("1/25", 0.1, n=8)
    measurement = kept(arrived, shots=eight.shots)
    shown = part(page_of(client, measurement, firing=[str(n) for n in range(1, 9)]), "Laid over one another")
    assert "6 curves can be told apart: 2 more are left out" in shown
    assert shown.count('<th scope="row">') == 6


def test_a_firing_whose_half_was_not_seen_is_named_and_not_drawn(client, arrived):
    measurement = kept(arrived)
    measurement.curves[0]["marks_s"]["half_open"] = None
    measurement.save()
    asked = {"firing": ["1", "2"], "align": "half"}
    assert "not seen in 1: lay it at first light" in page_of(client, measurement, **asked)
    assert len(curves(chart(client, "laid_over_chart", measurement, **asked))) == 1
    assert (
        client.get(
            reverse("laid_over_chart", args=[measurement.pk]), {"firing": "1", "align": "half"}
        ).status_code
        == 204
    )


@pytest.mark.parametrize("asked", ["99", "0", "-1", "x", "10" * 40, "1-1", "<script>", ""])
def test_a_firing_that_is_not_there_is_as_if_not_asked_for(client, arrived, asked):
    measurement = kept(arrived)
    item = chart(client, "laid_over_chart", measurement, firing=asked, align="sideways")
    assert len(curves(item)) == 2
    assert "<script>" not in part(page_of(client, measurement, firing=asked), "Laid over one another")


def test_a_firing_of_another_job_is_not_to_be_had(client, arrived, benno_s_reflex):
    other = kept(benno_s_reflex, "as found")
    measurement = kept(arrived)
    item = chart(client, "laid_over_chart", measurement, firing=f"{other.pk}-1")
    assert len(curves(item)) == 2
    assert f"{other.pk}-1" not in page_of(client, measurement)


def test_it_comes_light_or_dark(client, arrived):
    measurement = kept(arrived)
    for scheme, ink in (("light", "#20252a"), ("dark", "#ece7dc")):
        assert ink in json.dumps(chart(client, "laid_over_chart", measurement, scheme=scheme))


@pytest.mark.parametrize("name", ["laid_over_chart", "curtains_chart"])
def test_there_is_no_such_reading(client, db, name):
    assert client.get(reverse(name, args=[999])).status_code == 404
    assert client.post(reverse(name, args=[999])).status_code == 405
