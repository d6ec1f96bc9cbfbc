"""The strip-down record: what was dictated and confirmed, for the owner."""

from __future__ import annotations

import io

import pypdf
import pytest

from book.cast import BY, FOLDER, ILSE, MONDAY
from pegwood.book import arriving, hearing, looking
from pegwood.book.hearing import Mended
from pegwood.book.models import Job
from pegwood.book.workshop import change_settings
from pegwood.papers import RefusedPaper, make_paper, remake
from pegwood.papers.content import from_json, to_json
from pegwood.papers.gather import content_of
from pegwood.papers.view import view

SAID = """00:00:15 the shutter blades are badly oily
00:00:31 slow train might be gummed
00:00:44 no fungus on the rear element
00:01:02 nine of ten of these have rust on the strut springs
00:01:20 cleaned the top cover
00:01:44 the top cover is bent
"""


@pytest.fixture
def job(db) -> Job:
    change_settings({"name": "Halm, camera repairs", "repairer": BY}, by=BY)
    return arriving.take_in(ILSE, FOLDER, by=BY, at=MONDAY)


@pytest.fixture
def narration(job):
    return hearing.take_narration(job, text=SAID, by=BY, at=MONDAY)


def content(job):
    return content_of(job, "record", by=BY, at=MONDAY, number=f"{job.number}-record-1")[0]


def heard(narration, words):
    return narration.proposals.get(data__words__icontains=words)


def test_there_is_none_before_something_is_confirmed(job, narration):
    with pytest.raises(RefusedPaper, match="confirmed yet"):
        make_paper(job, "record", by=BY, at=MONDAY)


def test_it_holds_what_was_kept_in_the_order_told_and_nothing_else(job, narration):
    hearing.keep_plain(narration, by=BY)
    hearing.keep(heard(narration, "slow train"), by=BY)
    hearing.drop(heard(narration, "nine of ten"), by=BY)
    (telling,) = content(job).tellings
    assert [(one.at, one.kind, one.part, one.says) for one in telling.noted] == [
        ("0:00:15", "seen", "shutter blades", "oily"),
        ("0:00:31", "seen", "slow train", "possibly gummed"),
        ("0:00:44", "seen", "rear element", "no fungus"),
        ("0:01:20", "done", "top housing", "Cleaned the top housing"),
        ("0:01:44", "seen", "top housing", "bent"),
    ]
    assert [one.surmise for one in telling.noted] == [False, True, False, False, False]


def test_what_was_struck_out_or_amended_since_stands_as_it_does_now(job, narration):
    hearing.keep_plain(narration, by=BY)
    bent, oily = job.findings.get(condition="bent"), job.findings.get(condition="oily")
    looking.strike_out(bent, "a shadow", by=BY)
    looking.amend_finding(oily, looking.FindingDetails(part=oily.part, condition="a film of oil"), by=BY)
    says = [one.says for one in content(job).tellings[0].noted]
    assert "bent" not in says
    assert "a film of oil" in says


def test_a_mended_one_stands_as_it_was_mended(job, narration):
    mended = Mended(kind="finding", part="slow train", condition="rust", grade=2)
    hearing.mend(heard(narration, "slow train"), mended, by=BY)
    (one,) = content(job).tellings[0].noted
    assert (one.says, one.surmise, one.grade) == ("rust", False, 2)


def test_by_part_each_part_stands_once_with_its_numbers(job, narration):
    hearing.keep_plain(narration, by=BY)
    drawn = view(content(job))
    numbered = {one["part"]: [row["number"] for row in one["rows"]] for one in drawn["parts"]}
    assert numbered == {"shutter blades": ["1"], "rear element": ["2"], "top housing": ["3", "4"]}
    assert not any("“Possibly”" in note for note in drawn["notes"]), "nothing on it is surmised"


def test_it_is_made_filed_and_made_again_byte_for_byte(job, narration):
    hearing.keep_plain(narration, by=BY)
    hearing.keep(heard(narration, "slow train"), by=BY)
    paper = make_paper(job, "record", by=BY, at=MONDAY)
    assert from_json(to_json(content(job))) == content(job)
    pdf = remake(paper)
    text = " ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages)
    assert "Strip-down record" in text
    assert "possibly gummed" in text
    assert "nine of ten" not in text
