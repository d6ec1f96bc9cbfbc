"""Findings noted in one line and two taps, amended, struck out, photographed."""

from __future__ import annotations

import pytest
from django.test import Client
from pictures_sent import photograph

from pegwood.book.models import Finding, Job
from pegwood.book.states import Standing

pytestmark = pytest.mark.django_db
LIVE = {"HX-Request": "true"}


def note(client: Client, job: Job, **typed: str):
    headers = typed.pop("headers", None)
    return client.post(f"/job/{job.number}/findings/", typed, headers=headers)


def test_a_line_and_two_taps_note_a_finding(client: Client, arrived):
    response = note(client, arrived, line="bellows, two pinholes", grade="4", outlook="mend")
    found = arrived.findings.get()
    assert (found.part, found.condition, found.grade, found.outlook) == ("bellows", "two pinholes", 4, "mend")
    assert response["Location"] == f"/job/{arrived.number}/#findings"
    assert arrived.diary.filter(what="found").count() == 1


def test_a_tapped_part_needs_only_its_condition(client: Client, arrived):
    note(client, arrived, part="red window", line="cracked", outlook="can stay")
    assert str(arrived.findings.get()) == "red window: cracked"


def test_neither_grade_nor_outlook_is_needed(client: Client, arrived):
    note(client, arrived, line="covering, all is well")
    found = arrived.findings.get()
    assert (found.grade, found.outlook) == (None, "")


def test_htmx_gets_the_findings_and_an_empty_line(client: Client, arrived):
    response = note(client, arrived, line="slow train gummed", grade="2", headers=LIVE)
    page = response.content.decode()
    assert response.status_code == 200
    assert "<html" not in page
    assert 'class="fresh"' in page
    assert 'id="id_line" value=""' in page


@pytest.mark.parametrize("headers", [None, LIVE])
@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"line": ""}, "Which part?"),
        ({"line": "bellows"}, "How is the bellows?"),
        ({"line": "b" * 130 + ", worn"}, "longer than 120"),
        ({"line": "bellows, worn", "grade": "9"}, "Select a valid choice"),
        ({"line": "bellows, worn", "outlook": "burn it"}, "Select a valid choice"),
    ],
)
def test_what_cannot_be_noted_is_refused_at_the_line_and_stays_typed(client, arrived, typed, says, headers):
    response = note(client, arrived, headers=headers, **typed)
    page = response.content.decode()
    assert response.status_code == 422
    assert says in page
    assert f'value="{typed["line"]}"' in page
    assert not Finding.objects.exists()


def test_what_was_typed_is_shown_as_text_and_not_as_page(client: Client, arrived):
    page = note(client, arrived, line="<script>alert(1)</script>").content.decode()
    assert "<script>alert" not in page


def test_a_job_that_is_over_takes_no_more_findings(client: Client, gone_home):
    response = note(client, gone_home, line="bellows, worn")
    assert response.status_code == 422
    assert gone_home.findings.count() == 1


def test_a_finding_is_amended_and_the_diary_keeps_how_it_stood(client: Client, looked_over):
    found = looked_over.findings.get()
    page = client.get(f"/finding/{found.pk}/").content.decode()
    assert 'value="oil film"' in page
    assert 'name="grade" value="3" checked' in page
    typed = {"part": "shutter blades", "condition": "oil from behind", "grade": "4", "outlook": "mend"}
    client.post(f"/finding/{found.pk}/", typed)
    found.refresh_from_db()
    assert (found.condition, found.grade) == ("oil from behind", 4)
    entry = looked_over.diary.get(what="amended a finding")
    assert (entry.old["grade"], entry.new["grade"]) == (3, 4)


def test_an_amended_finding_without_a_condition_is_refused_and_keeps_the_note(client: Client, looked_over):
    found = looked_over.findings.get()
    response = client.post(f"/finding/{found.pk}/", {"part": "blades", "condition": "", "note": "half typed"})
    assert response.status_code == 422
    assert "half typed</textarea>" in response.content.decode()
    found.refresh_from_db()
    assert found.condition == "oil film"


def test_a_mistake_is_struck_out_with_its_reason_and_only_once(client: Client, looked_over):
    found = looked_over.findings.get()
    for _ in range(2):
        client.post(f"/finding/{found.pk}/strike/", {"reason": "wrong camera"})
    entry = looked_over.diary.get(what="struck out a finding")
    assert entry.text == "wrong camera"
    assert client.get(f"/finding/{found.pk}/").status_code == 404


def test_a_finding_is_not_struck_out_without_a_reason(client: Client, looked_over):
    found = looked_over.findings.get()
    response = client.post(f"/finding/{found.pk}/strike/", {"reason": ""})
    assert response.status_code == 422
    assert "Say why" in response.content.decode()
    found.refresh_from_db()
    assert not found.struck_out


def test_a_photograph_is_added_to_a_finding(client: Client, looked_over):
    found = looked_over.findings.get()
    client.post(f"/job/{looked_over.number}/photos/", {"photos": photograph(), "finding": str(found.pk)})
    assert found.photos.count() == 1


def test_a_photograph_for_another_jobs_finding_finds_nothing(client: Client, looked_over, benno_s_reflex):
    found = looked_over.findings.get()
    address = f"/job/{benno_s_reflex.number}/photos/"
    for told in (str(found.pk), "x", "9" * 30):
        assert client.post(address, {"photos": photograph(), "finding": told}).status_code == 404
    assert not benno_s_reflex.photos.exists()


def test_the_pages_are_there_for_no_other_number(client: Client):
    assert client.post("/job/4711/findings/", {"line": "a, b"}).status_code == 404
    assert client.get("/finding/4711/").status_code == 404


def test_noting_and_striking_refuse_get(client: Client, looked_over):
    assert client.get(f"/job/{looked_over.number}/findings/").status_code == 405
    assert client.get(f"/finding/{looked_over.findings.get().pk}/strike/").status_code == 405


def test_the_card_shows_findings_without_asking_for_each(client, arrived, django_assert_max_num_queries):
    for n in range(12):
        note(client, arrived, line=f"part {n}, worn")
    with django_assert_max_num_queries(45):
        page = client.get(f"/job/{arrived.number}/").content.decode()
    assert "part 11" in page
    assert arrived.stands is Standing.ARRIVED


def test_the_first_finding_puts_the_next_thing_right_as_well(client: Client, arrived):
    """The page around the findings stays; its one button would still say 'Note a finding'."""
    live = note(client, arrived, line="bellows, two pinholes", headers=LIVE).content.decode()
    told = live[live.index('id="next-thing" hx-swap-oob="true"') :]
    assert "It is looked over" in told
    assert 'name="csrfmiddlewaretoken"' in told
    card = client.get(f"/job/{arrived.number}/").content.decode()
    assert card.count('id="next-thing"') == 1
    assert "hx-swap-oob" not in card
