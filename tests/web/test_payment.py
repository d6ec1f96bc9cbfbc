"""What is paid after the camera has gone home."""

from __future__ import annotations

import pytest
from django.test import Client

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("halm")]


@pytest.fixture
def unpaid(client: Client, billed):
    """Gone home with a bill of 145.00 that nobody has paid yet."""
    client.post(f"/job/{billed.number}/hand-back/", {"paid_how": "not yet", "guarantee_months": "6"})
    return billed


def test_the_card_says_what_is_open_and_leads_to_the_page(client: Client, unpaid):
    card = client.get(f"/job/{unpaid.number}/").content.decode()
    assert "still to be paid" in card
    assert f"/job/{unpaid.number}/payment/" in card
    assert 'value="145.00"' in client.get(f"/job/{unpaid.number}/payment/").content.decode()


def test_what_is_paid_is_written_down_and_the_rest_stays_open(client: Client, unpaid):
    response = client.post(f"/job/{unpaid.number}/payment/", {"paid_how": "cash", "paid": "100.00"})
    assert response.status_code == 302
    unpaid.refresh_from_db()
    assert (unpaid.paid_minor, unpaid.paid_how) == (10000, "cash")
    assert unpaid.diary.filter(what="recorded a payment").count() == 1
    assert 'value="45.00"' in client.get(f"/job/{unpaid.number}/payment/").content.decode()


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({}, "Tap how it was paid"),
        ({"paid_how": "cash"}, "How much was paid?"),
        ({"paid_how": "cash", "paid": "much"}, "Not an amount"),
        ({"paid_how": "cash", "paid": "0"}, "Nothing was paid"),
        ({"paid_how": "cash", "paid": "9999999999999"}, "at most"),  # leant on a key
    ],
)
def test_half_a_payment_is_refused_and_nothing_is_written(client: Client, unpaid, typed, says):
    response = client.post(f"/job/{unpaid.number}/payment/", typed)
    unpaid.refresh_from_db()
    assert response.status_code == 422
    assert says in response.content.decode()
    assert unpaid.paid_minor is None


def test_nothing_is_asked_for_where_nothing_is_open(client: Client, billed):
    assert "Nothing is left to pay" in client.get(f"/job/{billed.number}/payment/").content.decode()
    response = client.post(f"/job/{billed.number}/payment/", {"paid_how": "cash", "paid": "145"})
    assert response.status_code == 422
    assert "when the camera is handed back" in response.content.decode()
