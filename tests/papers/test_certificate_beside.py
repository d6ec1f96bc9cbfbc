"""Smaller stops, flash contacts and curtains on the certificate: from the book's readings to the ink."""

import io
import json
from dataclasses import replace

import pypdf
import pytest

from book.cast import BENNO, BY, FOLDER, ILSE, REFLEX
from instruments.lightcurves import Bench, Firing
from papers.results_beside import at_stops, beside_it, contact, curtains
from papers.test_making import a_result, measured
from pegwood.book import arriving, measuring
from pegwood.book.arrangement import Arrangement
from pegwood.book.files import read
from pegwood.book.workshop import change_settings
from pegwood.instruments.shutter import Summary
from pegwood.papers import make_paper, remake
from pegwood.papers.content import from_json

pytestmark = pytest.mark.django_db


def words_on(paper) -> str:
    pages = pypdf.PdfReader(io.BytesIO(read(paper.file))).pages
    return " ".join(" ".join(page.extract_text().replace("\u200b", "") for page in pages).split())


@pytest.fixture(autouse=True)
def shop(db):
    change_settings({"name": "Werfkade Camera Workshop"}, by=BY)


@pytest.fixture
def reflex(db):
    return arriving.take_in(BENNO, REFLEX, by=BY)


@pytest.fixture
def folder(db):
    return arriving.take_in(ILSE, FOLDER, by=BY)


def test_stops_and_contact_stand_as_found_and_as_left_with_whose_figures_they_are(folder):
    found = beside_it(a_result("1/125", 0.4), contacts=(contact(-0.2e-3, "outside"),) * 3)
    left = beside_it(a_result("1/125", 0.05), contacts=(contact(1.5e-3),) * 3, at_stops=at_stops())
    measured(folder, found, "as found")
    measured(folder, left, "as left")
    paper = make_paper(folder, "certificate", by=BY)
    said = words_on(paper)
    assert "1/125: what to expect at smaller stops" in said
    assert "9.514 ± 0.059 ms, +0.25 ± 0.02 EV" in said
    assert "1/125: flash contact" in said
    assert "(a glossary; seen)" in said
    assert "stay charged" in said
    row = next(
        row
        for one in from_json(json.dumps(paper.content)).beside
        for row in one.rows
        if row.label == "for electronic"
    )
    assert (row.found_verdict, row.left_verdict) == ("outside", "within")
    assert remake(paper) == read(paper.file)


def test_curtains_stand_as_found_and_as_left(reflex):
    measured(reflex, beside_it(a_result("1/250", 0.4), curtains=curtains()), "as found")
    measured(reflex, beside_it(a_result("1/250", 0.1), curtains=curtains()), "as left")
    said = words_on(make_paper(reflex, "certificate", by=BY))
    assert "1/250: both curtains across the gate" in said
    assert "18.0000 ± 0.0098 ms" in said
    assert "+1.32 ± 0.01 EV" in said
    assert "fastest speed for flash 1/60" in said


def test_a_gate_that_was_dark_in_part_has_no_time_and_the_certificate_says_so(reflex):
    dark = a_result("1/500", 0.0)
    capped = beside_it(
        replace(dark, summary=Summary(0, None, None, None, None, None, "no limit given", None)),
        curtains=curtains("found", warnings=("Capping: the second curtain catches the first.",)),
    )
    measured(reflex, capped, "as found")
    measured(reflex, beside_it(a_result("1/500", 0.1), curtains=curtains()), "as left")
    paper = make_paper(reflex, "certificate", by=BY)
    content = from_json(json.dumps(paper.content))
    (speed,) = content.speeds
    assert (speed.found, speed.left is not None) == (None, True)
    assert [(r.marked, r.when) for r in content.refused] == [("1/500", "as found")]
    assert "1/500, as found: Capping: the second curtain catches the first." in words_on(paper)


def test_a_certificate_from_before_curtains_were_kept_can_still_be_read(folder):
    measured(folder, a_result("1/125", 0.05), "as left")
    paper = make_paper(folder, "certificate", by=BY)
    older = json.loads(json.dumps(paper.content))
    del older["content"]["beside"]
    assert from_json(json.dumps(older)) == from_json(json.dumps(paper.content))


def test_what_the_instrument_read_of_smaller_stops_is_what_stands_there(folder):
    import soundfile

    firings = tuple(Firing(at=at, opening=0.002, plateau=0.0065, closing=0.002) for at in (0.4, 1.4))
    content = io.BytesIO()
    soundfile.write(
        content, Bench(firings=firings, rate=24_000, sigma=0.003).samples(), 24_000, "PCM_16", format="WAV"
    )
    content.seek(0)
    kept = measuring.keep_recording(
        folder, content, "r.wav", marked="1/125", arrangement=Arrangement(widest=4.0), by=BY
    )
    measuring.accept_measurement(measuring.read_recording(kept, by=BY), "as found", by=BY)
    said = words_on(make_paper(folder, "certificate", by=BY))
    # straight ramps at f/16: 1/16 of the light is enough, so 10.5 ms less 2 ms / 16
    text = said.split("f/16 ")[1].split(" ms")[0]
    value, half = (float(number) for number in text.split(" ± "))
    assert abs(value - 10.375) < 2 * half
