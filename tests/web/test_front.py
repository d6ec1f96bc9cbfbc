"""The front page: what needs me next."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from pegwood.book import agreeing, arriving, looking, moving
from pegwood.book.arriving import CameraDetails, OwnerDetails
from pegwood.book.models import Job
from pegwood.book.workshop import workshop
from pegwood.pricing.money import Money
from pegwood.web.pages.front import MOST_HUNG, front_page

TODAY = timezone.localdate


def take_in(name: str, *, promised_in: int | None = None, days_ago: int = 40, kind: str = "box") -> Job:
    at = timezone.now() - timedelta(days=days_ago)
    return arriving.take_in(
        OwnerDetails(name=name),
        CameraDetails(family=kind),
        by="x",
        promised_on=None if promised_in is None else TODAY() + timedelta(days=promised_in),
        at=at,
    )


def page():
    return front_page(workshop(), TODAY())


def numbers(group):
    return [one.job.number for one in group.hung]


def test_an_empty_bench_asks_for_a_camera(client, db):
    text = client.get("/").content.decode()
    assert "take in a camera" in text
    assert reverse("take_in") in text


def test_every_open_job_hangs_where_it_stands_and_says_what_comes_next(client, agreed, benno_s_reflex):
    text = client.get("/").content.decode()
    assert "next: put it on the bench" in text
    assert "next: look it over" in text
    assert text.index('id="at-arrived"') < text.index('id="at-agreed"'), (
        "the gauge runs from arrived to ready"
    )


def test_late_ones_come_first_the_latest_of_them_on_top(db):
    soon, late, later = (take_in(name, promised_in=n) for name, n in [("A", 3), ("B", -2), ("C", -9)])
    board = page()
    assert numbers(board.late) == [later.number, late.number]
    assert [numbers(group) for group in board.groups] == [[soon.number]]


def test_a_job_promised_for_today_is_not_late_yet(db):
    take_in("A", promised_in=0)
    assert page().late.count == 0


def test_what_is_promised_hangs_before_what_is_not(db):
    free, far, near = (take_in(name, promised_in=n) for name, n in [("A", None), ("B", 30), ("C", 2)])
    assert numbers(page().groups[0]) == [near.number, far.number, free.number]


def test_the_next_thing_is_one_the_repairer_can_do(priced, db):
    # The priced one waits for its owner, however soon it is promised.
    other = take_in("Oda Wessel", promised_in=20)
    assert page().first.job.number == other.number


def test_a_late_job_comes_before_all_that_is_not(agreed):
    late = take_in("Oda Wessel", promised_in=-1)
    assert page().first.job.number == late.number


def test_a_waiting_job_says_what_it_waits_for(client, agreed):
    moving.let_wait(agreed, "part", by="x")
    assert "wait for the part" in client.get("/").content.decode()


def test_more_than_fit_are_counted_and_lie_one_tap_further(client, db):
    for n in range(MOST_HUNG + 3):
        take_in(f"Owner {n}")
    board = page()
    assert (len(board.groups[0].hung), board.groups[0].more) == (MOST_HUNG, 3)
    assert "and 3 more" in client.get("/").content.decode()
    assert (
        client.get(reverse("standing", args=["arrived"])).content.decode().count("tag small") == MOST_HUNG + 3
    )


def test_what_is_over_is_off_the_board_and_can_be_leafed_through(client, gone_home):
    text = client.get("/").content.decode()
    assert "Vorrin Wayfarer" not in text
    assert reverse("standing", args=["gone-home"]) in text
    assert "Vorrin Wayfarer" in client.get(reverse("standing", args=["gone-home"])).content.decode()


def test_a_standing_there_is_not_is_a_plain_404(client, db):
    assert client.get(reverse("standing", args=["polished"])).status_code == 404


@pytest.mark.parametrize("sheet", ["0", "999", "x", "-1"])
def test_a_sheet_there_is_not_shows_the_nearest_one(client, arrived, sheet):
    assert client.get(reverse("standing", args=["arrived"]), {"page": sheet}).status_code == 200


def test_the_late_ones_have_a_page_of_their_own(client, db):
    take_in("A", promised_in=-1)
    assert "1 day late" in client.get(reverse("standing", args=["late"])).content.decode()


def test_thirty_jobs_ask_the_book_no_more_than_three(client, db, django_assert_num_queries):
    def fill(n):
        for i in range(n):
            job = take_in(f"Owner {n} {i}", promised_in=(-1) ** i * 5)
            looking.note_finding(job, looking.FindingDetails(part="a", condition="b"), by="x")
            if i % 3:
                moving.look_over(job, by="x")

    fill(3)
    with CaptureQueriesContext(connection) as few:
        client.get("/")
    fill(27)
    with django_assert_num_queries(len(few)):
        client.get("/")


def test_looking_writes_nothing(client, db):
    assert client.post("/").status_code == 405


def test_the_price_on_a_tag_is_the_one_told(client, looked_over):
    agreeing.tell_price(looked_over, [agreeing.Line(what="x", amount=Money(9950, "EUR"))], by="x")
    assert "€99.50" in client.get("/").content.decode()
