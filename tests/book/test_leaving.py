"""Handing back, and the guarantee that begins then."""

from datetime import UTC, date, datetime

import pytest

from book.cast import BY
from pegwood.book import agreeing, leaving
from pegwood.book.leaving import months_later
from pegwood.book.refusal import Refused
from pegwood.book.workshop import change_settings
from pegwood.pricing.money import Money

pytestmark = pytest.mark.django_db


@pytest.fixture
def billed(ready):
    agreeing.write_bill(ready, [agreeing.Line(what="cleaned", amount=Money(14500, "EUR"))], by=BY)
    return ready


def test_a_camera_does_not_leave_without_a_bill(ready):
    with pytest.raises(Refused, match="no bill yet"):
        leaving.hand_back(ready, by=BY)


def test_handing_back_begins_the_guarantee(billed):
    home = leaving.hand_back(
        billed, by=BY, paid=Money(14500, "EUR"), paid_how="cash", guarantee_months=6,
        at=datetime(2031, 8, 31, 12, tzinfo=UTC),
    )  # fmt: skip
    assert (home.standing, home.guarantee_until) == ("gone home", date(2032, 2, 29))
    assert home.paid == Money(14500, "EUR")


def test_the_guarantee_counts_from_the_workshops_own_day(billed):
    change_settings({"time_zone": "Pacific/Auckland"}, by=BY)
    home = leaving.hand_back(billed, by=BY, guarantee_months=1, at=datetime(2031, 5, 9, 20, tzinfo=UTC))
    # 20:00 UTC is the next morning there
    assert home.guarantee_until == date(2031, 6, 10)


def test_without_guarantee_there_is_no_day(billed):
    assert leaving.hand_back(billed, by=BY, guarantee_months=0).guarantee_until is None


def test_a_payment_in_another_money_is_refused(billed):
    with pytest.raises(Refused, match="payment in CHF"):
        leaving.hand_back(billed, by=BY, paid=Money(1, "CHF"))


@pytest.mark.parametrize(
    ("day", "months", "later"),
    [
        # the calendar's own lengths of months
        (date(2031, 1, 31), 1, date(2031, 2, 28)),
        (date(2032, 1, 31), 1, date(2032, 2, 29)),
        (date(2031, 12, 15), 1, date(2032, 1, 15)),
        (date(2031, 3, 3), 24, date(2033, 3, 3)),
        (date(2031, 3, 31), 18, date(2032, 9, 30)),
    ],
)
def test_months_end_on_the_last_day_there_is(day, months, later):
    assert months_later(day, months) == later
