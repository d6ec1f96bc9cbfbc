"""Dictation on the page: taken in, kept, mended, dropped, undone; and words taught. No script is needed."""

from __future__ import annotations

import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from pegwood.book import hearing
from pegwood.book.hearing import taking
from pegwood.book.models import Job, Narration, SignAnswer, TaughtWord
from pegwood.hearing import Heard, NamedPart, SaidFinding, SaidRemark, SaidWork, Unplaced

BLADES = NamedPart(id="shutter.shutter-blades", name="shutter blades")
TEXT = (
    "the shutter blades are oily\nthey might be bent\ncleaned the blades\nthey all rust\n"
    "the doodah is <b>worn</b>"
)


def said(kind, words: str, **what):
    begins = TEXT.index(words)
    return kind(words=words, where=(begins, begins + len(words)), **what)


HEARD = Heard(
    findings=(
        said(SaidFinding, "shutter blades are oily", part=BLADES, condition="oily", grade=3, at_s=65.0),
        said(SaidFinding, "they might be bent", part=BLADES, condition="bent", certainty="possible"),
    ),
    work=(said(SaidWork, "cleaned the blades", part=BLADES, work="clean", done=True),),
    remarks=(said(SaidRemark, "they all rust"),),
    unplaced=(said(Unplaced, "the doodah is <b>worn</b>", condition="worn", why="no part named"),),
)


@pytest.fixture
def heard_by_hand(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(taking, "hear_for", lambda *_, **__: HEARD)


@pytest.fixture
def narration(arrived: Job, heard_by_hand: None) -> Narration:
    return hearing.take_narration(arrived, text=TEXT, by="Tove Halm")


def pk(narration: Narration, order: int) -> int:
    return narration.proposals.get(order=order).pk


def send(client: Client, narration: Narration, do: str, order: int = 0, **more: str):
    proposal = {"proposal": str(pk(narration, order))} if order else {}
    return client.post(f"/narration/{narration.pk}/", {"do": do, **proposal, **more})


def test_what_is_typed_is_heard_and_waits_on_a_page_of_its_own(client, arrived, heard_by_hand):
    answer = client.post(f"/job/{arrived.number}/hear/", {"text": TEXT})
    told = Narration.objects.get()
    assert answer["Location"] == f"/narration/{told.pk}/"
    page = client.get(answer["Location"]).content.decode()
    assert "shutter blades: <span" in page
    assert "possibly bent" in page
    assert "a conjecture" in page
    assert "Knowledge, not findings" in page
    assert "Which part?" in page
    assert "no part named" in page
    assert "0:01:05" in page
    assert "<b>worn" not in page
    assert not arrived.findings.exists()


def test_a_file_is_taken_and_both_at_once_are_not(client, arrived, heard_by_hand):
    address = f"/job/{arrived.number}/hear/"
    file = SimpleUploadedFile("bench.srt", TEXT.encode())
    both = client.post(address, {"text": "the blades are oily", "file": file})
    assert both.status_code == 422
    assert b"one of both." in both.content
    file.seek(0)
    assert client.post(address, {"file": file}).status_code == 302
    assert Narration.objects.get().how == "file"


@pytest.mark.parametrize("sent", [{}, {"text": "   "}, {"text": "\n\n"}])
def test_nothing_said_is_told_at_the_field(client, arrived, sent):
    answer = client.post(f"/job/{arrived.number}/hear/", sent)
    assert answer.status_code == 422
    assert b"Write it here, or send a file." in answer.content


def test_a_file_that_is_no_text_is_refused_in_one_line(client, arrived):
    file = SimpleUploadedFile("a.txt", b"\x00\x01\x02\x00")
    answer = client.post(f"/job/{arrived.number}/hear/", {"file": file})
    assert answer.status_code == 422
    assert b"That is no text" in answer.content


def test_one_press_keeps_it_and_leads_on_to_the_next(client, narration, arrived):
    answer = send(client, narration, "keep", 1)
    assert answer["Location"] == f"/narration/{narration.pk}/?at=2#p-2"
    assert arrived.findings.get().condition == "oily"
    page = client.get(f"/narration/{narration.pk}/").content.decode()
    assert "On the card:" in page
    assert '<span class="num">1</span> of <span class="num">5</span> settled' in page


def test_knowledge_comes_last(client, narration, arrived):
    for order in (1, 2):
        send(client, narration, "keep", order)
    assert send(client, narration, "keep", 3)["Location"].endswith("#p-5"), "4 is a remark"
    assert send(client, narration, "drop", 5)["Location"].endswith("#p-4")


def test_a_sign_is_offered_beside_it_and_answered_by_a_tap(client, narration, arrived):
    page = client.get(f"/narration/{narration.pk}/").content.decode()
    assert 'name="sign shutter.blades-look" value="film"' in page
    assert 'name="sign shutter.blades-look" value="" checked' in page
    send(client, narration, "keep", 1, **{"sign shutter.blades-look": "drops"})
    assert SignAnswer.objects.get().answer == "drops"


def test_beside_the_press_that_keeps_many_stands_how_often_it_is_wrong(client, narration):
    assert "two or three are wrong" in client.get(f"/narration/{narration.pk}/").content.decode()


def test_the_plain_ones_are_kept_at_one_press_and_undone_at_one(client, narration, arrived):
    send(client, narration, "plain")
    assert arrived.findings.count() == 1, "the conjecture waits for a person"
    assert arrived.work.count() == 1
    page = client.get(f"/narration/{narration.pk}/").content.decode()
    assert "Last settled: 2 kept at once" in page
    send(client, narration, "undo")
    assert not arrived.findings.exists()
    assert not arrived.work.exists()


def test_mending_opens_a_form_with_what_was_heard_and_teaches(client, narration, arrived):
    page = client.get(f"/narration/{narration.pk}/?mend=5").content.decode()
    assert 'name="condition" value="worn"' in page
    mended = {"kind": "finding", "part": "slow train", "called": "the doodah", "condition": "worn"}
    send(client, narration, "mend", 5, **mended)
    assert arrived.findings.get().part == "slow train"
    assert TaughtWord.objects.get().said == "doodah"
    page = client.get("/workshop/words/").content.decode()
    assert "doodah" in page
    assert "slow train" in page
    client.post("/workshop/words/", {"unteach": str(TaughtWord.objects.get().pk)})
    assert not TaughtWord.objects.exists()


def test_what_is_missing_in_a_mend_is_told_and_what_was_typed_stays(client, narration, arrived):
    answer = send(client, narration, "mend", 5, kind="finding", part="", condition="rusty as sin")
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "Which part?" in page
    assert "rusty as sin" in page
    assert not arrived.findings.exists()


def test_a_dropped_one_may_say_why_and_teach(client, narration):
    page = client.get(f"/narration/{narration.pk}/?drop=1").content.decode()
    assert 'name="heard"' in page
    answer = send(client, narration, "drop", 1, heard="oily")
    assert answer.status_code == 422
    assert "write both" in answer.content.decode()
    send(client, narration, "drop", 1, reason="not this camera", heard="oily", meant="wholly")
    assert narration.proposals.get(order=1).reason == "not this camera"
    assert TaughtWord.objects.get().meant == "wholly"


def test_what_is_not_of_this_narration_is_refused(client, narration, benno_s_reflex):
    other = hearing.take_narration(benno_s_reflex, text=TEXT, by="Tove Halm")
    for sent in (str(pk(other, 1)), "x", "", "9" * 30):
        answer = client.post(f"/narration/{narration.pk}/", {"do": "keep", "proposal": sent})
        assert answer.status_code == 422, sent
    assert not benno_s_reflex.findings.exists()


def test_a_settled_one_pressed_again_says_so(client, narration, arrived):
    send(client, narration, "keep", 1)
    answer = send(client, narration, "keep", 1)
    assert answer.status_code == 422
    assert "kept already" in answer.content.decode()
    assert arrived.findings.count() == 1


def test_a_narration_of_another_camera_is_struck_out_with_the_reason(client, narration, arrived):
    assert client.post(f"/narration/{narration.pk}/aside/", {}).status_code == 422
    client.post(f"/narration/{narration.pk}/aside/", {"reason": "wrong camera"})
    assert client.get(f"/narration/{narration.pk}/").status_code == 404
    assert arrived.diary.filter(what="struck out a narration").get().text == "wrong camera"


def test_of_a_job_that_is_over_it_is_only_read(client, gone_home, heard_by_hand):
    assert b"This job is over" in client.get(f"/job/{gone_home.number}/hear/").content
    answer = client.post(f"/job/{gone_home.number}/hear/", {"text": TEXT})
    assert answer.status_code == 422
    assert not Narration.objects.exists()


def test_a_word_is_taught_by_hand(client, db):
    taught = {"kind": "part", "said": "the snail", "meant": "slow train", "family": "folding-roll-front-cell"}
    assert client.post("/workshop/words/", taught).status_code == 302
    assert TaughtWord.objects.get().meant == "shutter.slow-train"
    for wrong in ({"meant": "flux capacitor"}, {"family": ""}, {"kind": "x"}, {"said": ""}):
        assert client.post("/workshop/words/", {**taught, **wrong}).status_code == 422, wrong
    assert TaughtWord.objects.count() == 1


def test_what_was_missed_is_written_in(client, narration, arrived):
    sent = {"kind": "finding", "part": "slow train", "condition": "worn", "called": "doodah"}
    assert send(client, narration, "missed", missed="no such words", **sent).status_code == 422
    assert send(client, narration, "missed", missed="", **sent).status_code == 422
    assert send(client, narration, "missed", missed="the doodah", **sent).status_code == 302
    assert arrived.findings.get().part == "slow train"
    assert TaughtWord.objects.get().said == "doodah"
    assert "written in by hand" in client.get(f"/narration/{narration.pk}/").content.decode()


def test_of_a_long_one_a_part_is_shown_and_the_next_open_one_is_found(client, arrived, monkeypatch):
    lines = [f"line {n} blades oily" for n in range(70)]
    text = "\n".join(lines)
    places = [(text.index(line), text.index(line) + len(line)) for line in lines]
    findings = tuple(
        SaidFinding(
            part=NamedPart(id=f"p.{n}", name=f"part {n}"), condition="oily", words=lines[n], where=place
        )
        for n, place in enumerate(places)
    )
    monkeypatch.setattr(taking, "hear_for", lambda *_, **__: Heard(findings=findings))
    narration = hearing.take_narration(arrived, text=text, by="Tove Halm")
    assert narration.proposals.count() == 70
    address = f"/narration/{narration.pk}/"

    def cards(query: str) -> list[int]:
        page = client.get(address + query).content.decode()
        return [int(n) for n in re.findall(r'<article class="[^"]*" id="p-(\d+)"', page)]

    assert cards("") == list(range(1, 31))
    assert cards("?part=3") == list(range(61, 71))
    assert cards("?at=45") == cards("?part=2") == list(range(31, 61))
    assert cards("?part=0") == cards("?part=x") == cards("?at=999") == cards("")
    assert cards("?part=99") == cards("?part=3")
    for order in range(1, 31):
        send(client, narration, "drop", order)
    assert cards("") == list(range(31, 61)), "where the first is that is open"
    live = client.post(address, {"do": "drop", "proposal": pk(narration, 60)}, headers={"HX-Request": "true"})
    assert live["Location"] == f"{address}?at=60", "the part the settled one stands in"
