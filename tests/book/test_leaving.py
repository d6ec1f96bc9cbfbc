"""Handing back, and the guarantee that begins then."""

from datetime import UTC, date, datetime

import pytest

from book.cast import BY
from pegwood.book import agreeing, arriving, leaving, moving
from pegwood.book.billing import payments
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


def test_a_payment_below_nothing_is_refused(billed):
    with pytest.raises(Refused, match="below nothing"):
        leaving.hand_back(billed, by=BY, paid=Money(-5, "EUR"))


def test_what_is_paid_later_is_written_down_and_adds_up(billed):
    home = leaving.hand_back(billed, by=BY)
    payments.record_payment(home, Money(10000, "EUR"), "cash", by=BY)
    paid = payments.record_payment(home, Money(4500, "EUR"), "by transfer", by=BY)
    assert (paid.paid, paid.paid_how) == (Money(14500, "EUR"), "cash; by transfer")
    entry = paid.diary.filter(what="recorded a payment").last()
    assert (entry.old["paid_minor"], entry.new["paid_minor"]) == (10000, 14500)


@pytest.mark.parametrize(
    ("minor", "how", "says"), [(0, "cash", "Nothing"), (-1, "cash", "below"), (5, "", "How")]
)
def test_a_payment_that_cannot_be_is_refused(billed, minor, how, says):
    home = leaving.hand_back(billed, by=BY)
    with pytest.raises(Refused, match=says):
        payments.record_payment(home, Money(minor, "EUR"), how, by=BY)


def test_nothing_is_paid_before_the_camera_goes_home(billed):
    with pytest.raises(Refused, match="handed back"):
        payments.record_payment(billed, Money(1, "EUR"), "cash", by=BY)


def test_a_slip_at_the_counter_is_taken_back(billed):
    home = leaving.hand_back(billed, by=BY, paid=Money(14500, "EUR"), paid_how="cash")
    again = leaving.take_back(home, "wrong tag", by=BY)
    assert (again.standing, again.paid, again.guarantee_until) == ("ready", None, None)
    entry = again.diary.get(what="took a slip back")
    assert (entry.text, entry.new["undone"]["paid_minor"]) == ("wrong tag", 14500)


def test_a_job_sent_back_while_it_waited_goes_on_waiting_nowhere_in_between(on_the_bench):
    moving.let_wait(on_the_bench, "part", by=BY)
    leaving.send_back_unmended(on_the_bench, "too dear", by=BY)
    assert leaving.take_back(on_the_bench, "meant the other one", by=BY).standing == "on the bench"


def test_a_slip_is_not_taken_back_once_the_camera_is_here_again(billed):
    home = leaving.hand_back(billed, by=BY)
    arriving.come_back(home, by=BY)
    with pytest.raises(Refused, match="here again under job 2"):
        leaving.take_back(home, "wrong tag", by=BY)


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
