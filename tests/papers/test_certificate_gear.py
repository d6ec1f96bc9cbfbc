"""What of the gear stands on a certificate: the calibrations that went into its figures, and no others."""

import io

import pypdf
import pytest

from book.cast import BY, FOLDER, ILSE
from papers.test_making import a_result, measured
from pegwood.book import arriving
from pegwood.book.benchwork import list_gear
from pegwood.book.files import read
from pegwood.book.workshop import change_settings
from pegwood.papers import make_paper

pytestmark = pytest.mark.django_db
USED = {
    "number": 4, "kind": "clock", "made_on": "2031-05-03", "due_on": "2032-05-03", "by": BY, "used": True,
    "says": "clock +63.0 ± 11.8 ppm (95 %) at 48000 samples a second",
}  # fmt: skip
NOT_USED = {**USED, "number": 5, "kind": "input", "says": "input, a high-pass at 5 Hz", "used": False}


def test_the_calibrations_used_stand_at_the_gear_with_their_days():
    change_settings({"name": "Werfkade Camera Workshop"}, by=BY)
    job = arriving.take_in(ILSE, FOLDER, by=BY)
    gate = list_gear("light gate", serial="7", by=BY)
    for marked in ("1/125", "1/60"):
        one = measured(job, a_result(marked, 0.05), "as found", gear=gate)
        one.result["calibrations"] = [USED, NOT_USED]
        one.save()
    paper = make_paper(job, "certificate", by=BY)
    pages = pypdf.PdfReader(io.BytesIO(read(paper.file))).pages
    text = " ".join(" ".join(page.extract_text().replace("\u200b", "") for page in pages).split())
    assert text.count("clock +63.0 ± 11.8 ppm") == 1
    assert "calibrated 3 May 2031, due again 3 May 2032" in text
    assert "high-pass" not in text
