"""Work and remarks: a line each, and a tap for the minutes."""

from __future__ import annotations

import pytest
from django.test import Client

pytestmark = pytest.mark.django_db
LIVE = {"HX-Request": "true"}


def test_a_line_and_a_tap_write_work_down(client: Client, on_the_bench):
    address = f"/job/{on_the_bench.number}/work/"
    response = client.post(address, {"done": "cleaned the blades", "tapped": "30"})
    piece = on_the_bench.work.get()
    assert (piece.done, piece.minutes) == ("cleaned the blades", 30)
    assert response["Location"].endswith("#work")
    assert on_the_bench.diary.get(what="did").new["minutes"] == 30


def test_minutes_can_be_typed_or_left_out(client: Client, on_the_bench):
    address = f"/job/{on_the_bench.number}/work/"
    client.post(address, {"done": "dried", "minutes": "7", "part": "shutter"})
    client.post(address, {"done": "left it to dry"})
    assert [(w.part, w.minutes) for w in on_the_bench.work.all()] == [("shutter", 7), ("", None)]


def test_htmx_gets_the_work_with_its_time_together(client: Client, on_the_bench):
    address = f"/job/{on_the_bench.number}/work/"
    client.post(address, {"done": "one", "tapped": "45"})
    page = client.post(address, {"done": "two", "tapped": "30"}, headers=LIVE).content.decode()
    assert "1 h 15 min" in page
    assert "<html" not in page


@pytest.mark.parametrize("headers", [None, LIVE])
@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"done": "", "tapped": "15"}, "What was done?"),
        ({"done": "polished", "minutes": "an hour"}, "whole number"),
        ({"done": "polished", "minutes": "-5"}, "At least 0"),
        ({"done": "polished", "minutes": "20000"}, "At most 10000"),
    ],
)
def test_work_that_cannot_be_is_refused_and_stays_typed(client, on_the_bench, typed, says, headers):
    response = client.post(f"/job/{on_the_bench.number}/work/", typed, headers=headers)
    assert response.status_code == 422
    assert says in response.content.decode()
    assert typed["done"] in response.content.decode()
    assert not on_the_bench.work.exists()


def test_a_job_that_is_over_takes_no_more_work(client: Client, gone_home):
    response = client.post(f"/job/{gone_home.number}/work/", {"done": "polished"})
    assert response.status_code == 422
    assert "is over" in response.content.decode()


def test_a_remark_goes_into_the_diary_even_when_the_job_is_over(client: Client, gone_home):
    response = client.post(f"/job/{gone_home.number}/remark/", {"text": "rang: all is well"})
    assert response["Location"].endswith("#diary")
    assert gone_home.diary.get(what="remarked").text == "rang: all is well"


def test_a_remark_from_the_card_shows_the_card_anew(client: Client, arrived):
    """A browser told to go to a place on the page it shows would only scroll there."""
    here = f"http://testserver/job/{arrived.number}/"
    for shown in (here, here + "#photos"):
        headers = {**LIVE, "HX-Current-URL": shown}
        response = client.post(f"/job/{arrived.number}/remark/", {"text": "rang"}, headers=headers)
        assert response["HX-Refresh"] == "true"


def test_an_empty_remark_is_refused(client: Client, arrived):
    for headers in (None, LIVE):
        response = client.post(f"/job/{arrived.number}/remark/", {"text": "  "}, headers=headers)
        assert response.status_code == 422
        assert "The remark is empty" in response.content.decode()


def test_both_refuse_get_and_numbers_that_are_no_job(client: Client, arrived):
    for page in ("work", "remark"):
        assert client.get(f"/job/{arrived.number}/{page}/").status_code == 405
        assert client.post(f"/job/4711/{page}/", {"done": "a", "text": "a"}).status_code == 404
