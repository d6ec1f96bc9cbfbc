"""The job card, and the moves made on it."""

import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from pegwood.book import arriving, benchwork, leaving, looking, moving
from pegwood.book.models import DiaryEntry
from pegwood.book.states import Move, Standing


def card(client, job, **query):
    return client.get(reverse("job", args=[job.number]), query).content.decode()


def move(client, job, what, **more):
    return client.post(reverse("move", args=[job.number]), {"move": what, **more})


def filled_buttons(text):
    """What in the part for the next thing is filled: a button without 'quiet'."""
    part = re.search(r'<section class="next".*?</section>', text, re.DOTALL)[0]
    return [
        label
        for kind, label in re.findall(r"<(?:a|button)([^>]*)>([^<]+)</(?:a|button)>", part)
        if "quiet" not in kind
    ]


# --- what it shows ----------------------------------------------------------------------------------


def test_it_shows_the_tag_the_gauge_and_the_story(client, agreed):
    text = card(client, agreed)
    for said in ("Vorrin Wayfarer", "A-20417", "Ilse Marrick", "€145.00", "agreed up to €180.00"):
        assert said in text
    assert "found in a cellar" in text
    assert re.search(r'aria-current="step"[^>]*>.*?agreed', text, re.DOTALL)


@pytest.mark.parametrize(
    "stage",
    ["arrived", "looked_over", "priced", "agreed", "on_the_bench", "proving", "ready", "billed", "gone_home"],
)
def test_wherever_a_job_stands_there_is_one_sentence_and_one_filled_button(client, request, stage):
    text = card(client, request.getfixturevalue(stage))
    assert text.count("Next: ") == 1
    assert len(filled_buttons(text)) == 1


def test_the_diary_says_what_was_and_what_is(client, arrived):
    finding = looking.note_finding(
        arrived, looking.FindingDetails(part="bellows", condition="thin", grade=2), by="x"
    )
    looking.amend_finding(
        finding, looking.FindingDetails(part="bellows", condition="thin", grade=4), by="Tove Halm"
    )
    text = card(client, arrived)
    assert "amended a finding" in text
    assert re.search(r"<del>2</del>.*?<ins>4</ins>", text, re.DOTALL)


def test_a_long_diary_shows_the_latest_and_keeps_the_rest_a_tap_away(client, arrived):
    for n in range(70):
        arriving.remark(arrived, f"remark {n} of many", by="x")
    text = card(client, arrived)
    assert "remark 69 of many" in text
    assert "remark 5 of many" not in text
    assert "older still" in text
    assert "remark 5 of many" in card(client, arrived, diary="all")


def test_a_comeback_and_the_job_it_points_at_know_each_other(client, gone_home):
    again = arriving.come_back(gone_home, by="x")
    link = f'href="{reverse("job", args=[again.number])}"'
    assert link in card(client, gone_home)
    assert f'href="{reverse("job", args=[gone_home.number])}"' in card(client, again)


def test_a_job_there_is_not_is_a_plain_404(client, db):
    assert client.get(reverse("job", args=[4170])).status_code == 404


def test_what_an_owner_tells_is_never_run(client, ilse):
    job = arriving.take_in(
        ilse, arriving.CameraDetails(family="box"), by="x", story="<script>alert(1)</script>"
    )
    assert "<script>alert" not in card(client, job)


def test_more_on_the_card_asks_the_book_no_more_often(client, on_the_bench, django_assert_max_num_queries):
    def fill(n):
        for i in range(n):
            looking.note_finding(on_the_bench, looking.FindingDetails(part=f"p{i}", condition="c"), by="x")
            benchwork.log_work(on_the_bench, f"did {i}", by="x", minutes=5)

    fill(1)
    with CaptureQueriesContext(connection) as few:
        card(client, on_the_bench)
    fill(20)
    with django_assert_max_num_queries(len(few)):
        card(client, on_the_bench)


# --- moves ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("stage", "what", "lands"),
    [
        ("agreed", Move.TAKE_ON, Standing.ON_THE_BENCH),
        ("on_the_bench", Move.PROVE, Standing.PROVING),
        ("proving", Move.PASS, Standing.READY),
        ("ready", Move.BACK_TO_BENCH, Standing.ON_THE_BENCH),
    ],
)
def test_a_press_takes_the_job_on_and_the_diary_has_a_row(client, halm, request, stage, what, lands):
    job = request.getfixturevalue(stage)
    answer = move(client, job, what)
    assert (answer.status_code, answer["Location"]) == (302, reverse("job", args=[job.number]))
    job.refresh_from_db()
    last = job.diary.last()
    assert (job.stands, last.new["standing"], last.who) == (lands, lands, "Tove Halm")


def test_looking_over_needs_a_finding_first(client, arrived):
    answer = move(client, arrived, Move.LOOK_OVER)
    assert answer.status_code == 422
    assert "Note what you see first" in answer.content.decode()


def test_waiting_needs_to_know_what_for_and_keeps_the_word_typed(client, agreed):
    answer = move(client, agreed, Move.WAIT, text="spring from the donor box")
    text = answer.content.decode()
    assert answer.status_code == 422
    assert "What does it wait for?" in text
    assert "spring from the donor box" in text


def test_a_job_waits_and_goes_on_where_it_was(client, proving):
    move(client, proving, Move.WAIT, waiting_for="curing", text="new cement")
    proving.refresh_from_db()
    assert (proving.stands, proving.waiting_for) == (Standing.WAITING, "curing")
    assert "new cement" in card(client, proving)
    move(client, proving, Move.GO_ON)
    proving.refresh_from_db()
    assert proving.stands is Standing.PROVING


def test_nothing_is_sent_back_without_a_reason_and_the_form_stays_open(client, arrived):
    answer = move(client, arrived, Move.SEND_BACK, text=" ")
    assert answer.status_code == 422
    assert re.search(
        r'<details name="quiet-move" open>.*?Write the reason', answer.content.decode(), re.DOTALL
    )


def test_sent_back_with_a_reason_the_gauge_ends_there(client, looked_over):
    move(client, looked_over, Move.SEND_BACK, text="spring past mending")
    looked_over.refresh_from_db()
    assert looked_over.stands is Standing.SENT_BACK
    text = card(client, looked_over)
    assert "spring past mending" in text
    gauge = re.search(r'<ol class="gauge".*?</ol>', text, re.DOTALL)[0]
    assert "sent back unmended" in gauge
    assert "priced" not in gauge


def test_kept_for_parts_with_the_owners_word(client, arrived):
    move(client, arrived, Move.KEEP, text="by letter")
    arrived.refresh_from_db()
    assert arrived.stands is Standing.KEPT


@pytest.mark.parametrize(
    "what", [Move.TAKE_ON, Move.PASS, Move.HAND_BACK, "polish", "", "put on the bench\x00"]
)
def test_a_move_that_makes_no_sense_changes_nothing_and_says_why(client, arrived, what):
    before = DiaryEntry.objects.count()
    answer = move(client, arrived, what)
    assert answer.status_code == 422
    assert "Not yet." in answer.content.decode()
    arrived.refresh_from_db()
    assert (arrived.stands, DiaryEntry.objects.count()) == (Standing.ARRIVED, before)


def test_the_same_press_twice_moves_once_and_says_so(client, agreed):
    assert move(client, agreed, Move.TAKE_ON).status_code == 302
    before = DiaryEntry.objects.count()
    again = move(client, agreed, Move.TAKE_ON)
    assert again.status_code == 422
    assert DiaryEntry.objects.count() == before


def test_a_link_never_moves_a_job(client, agreed):
    assert client.get(reverse("move", args=[agreed.number]), {"move": Move.TAKE_ON}).status_code == 405


def test_a_job_that_is_over_offers_nothing_but_to_take_a_slip_back(client, gone_home):
    text = card(client, gone_home)
    assert text.count('<details name="quiet-move"') == 1
    assert "That was a slip" in text


def test_only_moves_that_can_be_made_are_offered(client, arrived, ready):
    # `ready` is the same job further on: only two ways are left.
    text = card(client, ready)
    assert "Take it back to the bench" in text
    assert "Keep it for parts" not in text


def test_sending_back_from_waiting_is_shown_where_it_was_told(client, agreed):
    moving.let_wait(agreed, "part", by="x")
    leaving.send_back_unmended(agreed, "no part is to be had", by="x")
    assert "no part is to be had" in card(client, agreed)
