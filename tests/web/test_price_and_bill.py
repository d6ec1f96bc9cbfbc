"""The price told, the owner's answer, the bill. Sums are plain arithmetic, written beside the lines."""

from __future__ import annotations

import pytest
from django.test import Client

from pegwood.book.models import Job
from pegwood.book.states import Standing
from pegwood.book.workshop import change_settings

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("halm")]


def lines(*rows: tuple[str, str, str], **more: str) -> dict[str, str]:
    """Rows of what, minutes and sum, as the form sends them."""
    sent = {"line-TOTAL_FORMS": str(len(rows) + 3), "line-INITIAL_FORMS": "0", **more}
    for place, (what, minutes, amount) in enumerate(rows):
        sent |= {
            f"line-{place}-what": what,
            f"line-{place}-kind": "labour",
            f"line-{place}-minutes": minutes,
            f"line-{place}-amount": amount,
        }
    return sent


def sums(job: Job, sheet: str) -> list[tuple[str, int]]:
    return [(line.what, line.amount_minor) for line in job.lines.filter(sheet=sheet)]


def test_findings_to_mend_become_the_first_lines(client: Client, looked_over):
    page = client.get(f"/job/{looked_over.number}/price/").content.decode()
    assert 'value="shutter blades: oil film"' in page


def test_a_price_is_told_from_minutes_and_sums(client: Client, looked_over):
    address = f"/job/{looked_over.number}/price/"
    # 45 min at 60.00 an hour is 45.00
    response = client.post(address, lines(("clean the blades", "45", ""), ("gaskets", "", "12.50")))
    looked_over.refresh_from_db()
    assert response["Location"] == address
    assert (looked_over.standing, looked_over.price_minor) == (Standing.PRICED, 5750)
    assert sums(looked_over, "price") == [("clean the blades", 4500), ("gaskets", 1250)]
    assert looked_over.diary.filter(what="told the price").count() == 1


def test_the_sum_is_shown_while_it_is_typed_and_nothing_is_stored(client: Client, looked_over):
    typed = lines(("clean the blades", "45", ""), ("gaskets", "", "12.50"), ("postage", "", "a lot"))
    page = client.post(f"/job/{looked_over.number}/price/so-far/", typed).content.decode()
    assert "€57.50" in page
    assert "line 3 cannot be read yet" in page
    assert not looked_over.lines.exists()


def test_more_lines_keep_what_was_typed_even_what_cannot_be_read(client: Client, looked_over):
    typed = lines(("postage", "", "a lot"), do="more")
    page = client.post(f"/job/{looked_over.number}/price/", typed).content.decode()
    assert 'value="a lot"' in page
    assert page.count('name="line-3-what"') == 1
    assert not looked_over.lines.exists()


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        ([], "There is no line"),
        ([("", "45", "")], "does not say what it is for"),
        ([("gaskets", "", "")], "has neither time nor sum"),
        ([("gaskets", "", "12,50")], "Expected an amount in EUR such as"),
        ([("gaskets", "", "12.505")], "Too many decimals"),
        ([("gaskets", "", "1e3")], "Not an amount"),
        ([("gaskets", "", "NaN")], "Not an amount"),
        ([("gaskets", "soon", "")], "Minutes are a whole number"),
        ([("g" * 161, "", "1")], "At most 160 fit here"),
    ],
)
def test_a_price_that_cannot_be_is_refused_and_stays_typed(client: Client, looked_over, rows, says):
    response = client.post(f"/job/{looked_over.number}/price/", lines(*rows, note="rang twice"))
    page = response.content.decode()
    looked_over.refresh_from_db()
    assert response.status_code == 422
    assert says in page
    assert 'value="rang twice"' in page
    assert all(f'value="{value}"' in page for row in rows for value in row if value)
    assert looked_over.standing == Standing.LOOKED_OVER


def test_a_form_without_its_counts_is_refused_and_no_fault_of_the_bench(client: Client, looked_over):
    address = f"/job/{looked_over.number}/price/"
    for broken in ({}, {"line-TOTAL_FORMS": "x"}, {"line-TOTAL_FORMS": "99999", "line-INITIAL_FORMS": "0"}):
        assert client.post(address, broken).status_code == 422
        assert client.post(address + "so-far/", broken).status_code == 200


def test_minutes_without_an_hourly_rate_are_refused(client: Client, looked_over):
    change_settings({"hourly_rate": 0}, by="test")
    response = client.post(f"/job/{looked_over.number}/price/", lines(("clean", "45", "")))
    assert response.status_code == 422
    assert "no hourly rate set" in response.content.decode()


def test_amounts_are_read_as_the_workshops_country_types_them(client: Client, looked_over):
    change_settings({"locale": "nl_NL"}, by="test")
    client.post(f"/job/{looked_over.number}/price/", lines(("gaskets", "", "1.012,50")))
    assert sums(looked_over, "price") == [("gaskets", 101250)]


def test_a_told_price_is_shown_again_as_it_was_typed(client: Client, looked_over):
    address = f"/job/{looked_over.number}/price/"
    client.post(address, lines(("clean the blades", "45", ""), ("gaskets", "", "12.50")))
    page = client.get(address).content.decode()
    assert 'name="line-0-minutes" value="45"' in page
    assert 'name="line-1-amount" value="12.50"' in page
    assert 'name="line-0-amount" value="45.00"' not in page


def test_before_the_camera_is_looked_over_no_price_is_asked_for(client: Client, arrived):
    page = client.get(f"/job/{arrived.number}/price/").content.decode()
    assert "a price is told once the camera has been looked over" in page
    assert "line-0-what" not in page


# --- the answer ----------------------------------------------------------------------------------------


def test_the_yes_is_recorded_with_how_and_up_to_what(client: Client, priced):
    address = f"/job/{priced.number}/price/yes/"
    response = client.post(address, {"how": "by telephone", "up_to": "180"})
    priced.refresh_from_db()
    assert response["Location"] == f"/job/{priced.number}/"
    assert (priced.standing, priced.agreed_up_to_minor, priced.agreed_how) == (
        Standing.AGREED,
        18000,
        "by telephone",
    )


def test_an_empty_sum_agrees_to_the_price_itself(client: Client, priced):
    client.post(f"/job/{priced.number}/price/yes/", {"how_else": "shouted from the ferry", "up_to": ""})
    priced.refresh_from_db()
    assert (priced.agreed_up_to_minor, priced.agreed_how) == (14500, "shouted from the ferry")


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"up_to": "180"}, "How did the owner say yes?"),
        ({"how": "by telephone", "up_to": "100"}, "below the price"),
        ({"how": "by telephone", "up_to": "plenty"}, "Not an amount"),
        ({"how": "by pigeon", "up_to": "180"}, "Select a valid choice"),
    ],
)
def test_half_a_yes_is_refused(client: Client, priced, typed, says):
    response = client.post(f"/job/{priced.number}/price/yes/", typed)
    page = response.content.decode()
    priced.refresh_from_db()
    assert response.status_code == 422
    assert says in page
    assert f'value="{typed["up_to"]}"' in page
    assert priced.standing == Standing.PRICED


def test_a_yes_to_no_price_and_a_second_yes_are_refused(client: Client, arrived, agreed, benno_s_reflex):
    for job in (benno_s_reflex, agreed):
        response = client.post(f"/job/{job.number}/price/yes/", {"how": "by telephone"})
        assert response.status_code == 422
    agreed.refresh_from_db()
    assert agreed.agreed_up_to_minor == 18000


def test_a_no_sends_it_back_unmended_with_the_owners_words(client: Client, priced):
    client.post(f"/job/{priced.number}/price/no/", {"words": "by telephone: not worth it"})
    priced.refresh_from_db()
    assert priced.standing == Standing.SENT_BACK
    assert "not worth it" in priced.diary.get(what="sent it back unmended").text


def test_a_no_without_a_word_is_refused(client: Client, priced):
    response = client.post(f"/job/{priced.number}/price/no/", {"words": ""})
    priced.refresh_from_db()
    assert response.status_code == 422
    assert priced.standing == Standing.PRICED


def test_a_new_price_takes_the_yes_back_and_the_page_says_so_first(client: Client, agreed):
    address = f"/job/{agreed.number}/price/"
    assert "A new price needs a new yes." in client.get(address).content.decode()
    client.post(address, lines(("more than expected", "", "210")))
    agreed.refresh_from_db()
    assert (agreed.standing, agreed.agreed_up_to_minor) == (Standing.PRICED, None)


# --- the bill ------------------------------------------------------------------------------------------


def test_the_bill_begins_with_the_lines_of_the_price(client: Client, ready):
    page = client.get(f"/job/{ready.number}/bill/").content.decode()
    assert 'value="clean the shutter"' in page
    assert 'value="145.00"' in page


def test_a_bill_within_what_was_agreed_is_written_and_may_be_written_anew(client: Client, ready):
    address = f"/job/{ready.number}/bill/"
    client.post(address, lines(("clean the shutter", "", "150"), ("gaskets", "", "30")))
    client.post(address, lines(("clean the shutter", "", "150")))
    assert sums(ready, "bill") == [("clean the shutter", 15000)]
    assert ready.diary.filter(what="wrote the bill").count() == 2


def test_a_bill_beyond_what_was_agreed_is_refused_and_stays_typed(client: Client, ready):
    address = f"/job/{ready.number}/bill/"
    typed = lines(("clean the shutter", "", "180.01"))
    shown = client.post(address + "so-far/", typed).content.decode()
    response = client.post(address, typed)
    assert "€0.01 beyond what was agreed" in shown
    assert response.status_code == 422
    assert "the owner agreed up to €180.00" in response.content.decode()
    assert 'value="180.01"' in response.content.decode()
    assert not sums(ready, "bill")


def test_no_bill_is_asked_for_before_there_is_work(client: Client, agreed):
    page = client.get(f"/job/{agreed.number}/bill/").content.decode()
    assert "A bill is written when the work is done" in page
    assert client.post(f"/job/{agreed.number}/bill/", lines(("a", "", "1"))).status_code == 422


def test_what_writes_refuses_get_and_strangers_find_nothing(client: Client, priced):
    for page in ("price/so-far", "price/yes", "price/no", "bill/so-far"):
        assert client.get(f"/job/{priced.number}/{page}/").status_code == 405
        assert client.post(f"/job/4711/{page}/").status_code == 404
    for page in ("price", "bill", "hand-back", "amend"):
        assert client.get(f"/job/4711/{page}/").status_code == 404


def test_every_form_needs_its_token(careful: Client, priced):
    for page in ("price", "price/yes", "price/no", "bill", "hand-back", "amend", "work", "findings"):
        assert careful.post(f"/job/{priced.number}/{page}/").status_code == 403
