"""Looking things up, on every database the book may be kept in."""

from dataclasses import replace

import pytest

from book.cast import BENNO, BY, FOLDER, ILSE, REFLEX
from pegwood.book import arriving, benchwork, looking, search
from pegwood.book.looking import FindingDetails

pytestmark = pytest.mark.django_db


@pytest.fixture
def two_jobs(arrived):
    other = arriving.take_in(BENNO, REFLEX, by=BY, story="fell into the harbour basin")
    looking.note_finding(
        other, FindingDetails(part="mirror foam", condition="gone to tar", note="sticky"), by=BY
    )
    return arrived, other


def found(query):
    return [hit.job.number if hit.job else hit.owner.name for hit in search.look_up(query)]


@pytest.mark.parametrize(
    "query",
    [
        "harbour",
        "HARBOUR",
        "harb",
        "Tjaard basin",
        "77310",
        "mirror tar",
        "sticky",
        "cloth reflex",
        "0555-0177 tar",
    ],
)
def test_everything_written_of_a_job_finds_it(two_jobs, query):
    assert 2 in found(query)
    assert 1 not in found(query)


def test_every_word_must_occur(two_jobs):
    assert found("harbour Marrick") == []


def test_an_owner_is_found_beside_the_jobs(two_jobs):
    assert set(found("Marrick")) == {1, "Ilse Marrick"}


@pytest.mark.parametrize(
    "query", ["", "  ", '"', "*", "a* OR b*", "NEAR(", "'; DROP TABLE book_job; --", "\x00", "%", "_"]
)
def test_nothing_typed_is_read_as_a_command(two_jobs, query):
    search.look_up(query)
    assert 2 in found("harbour")


def test_what_is_amended_is_found_by_its_new_words_only(two_jobs):
    arriving.amend_owner(two_jobs[1].owner, replace(BENNO, name="Benno Ostrandt"), by=BY)
    assert 2 in found("Ostrandt")
    assert found("Tjaard") == []


def test_a_finding_struck_out_is_not_found(two_jobs):
    looking.strike_out(two_jobs[1].findings.get(), "wrong camera", by=BY)
    assert found("tar") == []


def test_work_and_remarks_are_found(two_jobs):
    benchwork.log_work(two_jobs[0], "boiled the helicoid", by=BY)
    arriving.remark(two_jobs[0], "rang about a tripod", by=BY)
    assert found("helicoid") == [1]
    assert found("tripod") == [1]


def test_the_excerpt_shows_where_the_words_stand(two_jobs):
    (hit,) = search.look_up("harbour")
    assert f"{search.START}harbour{search.END}" in hit.excerpt


def test_no_more_than_asked_for_are_brought(db):
    for serial in range(12):
        arriving.take_in(ILSE, replace(FOLDER, serial=f"S{serial}"), by=BY)
    assert len(search.look_up("Vorrin", limit=5)) == 5
