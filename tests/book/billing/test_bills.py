"""A bill gets its number and stands; what is wrong is put right by a credit note; what is paid adds up."""

from datetime import UTC, datetime
from uuid import uuid4

import pytest
from django.db import DatabaseError, connection, transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from book.billing.conftest import euros
from book.cast import BY
from pegwood.book import agreeing, leaving, moving
from pegwood.book.agreeing import Line
from pegwood.book.billing import owing, payments
from pegwood.book.billing.issuing import Off, credit, issue_bill
from pegwood.book.billing.numbers import gaps
from pegwood.book.billing.offers import OfferTerms
from pegwood.book.models import Bill, NumberSeries, Payment
from pegwood.book.refusal import Refused
from pegwood.book.workshop import change_settings, workshop
from pegwood.pricing.money import Money

pytestmark = pytest.mark.django_db
NEW_YEAR = datetime(2031, 12, 31, 23, 30, tzinfo=UTC)


def test_bills_are_numbered_one_after_the_other(written):
    first = issue_bill(written, by=BY, at=datetime(2031, 3, 3, tzinfo=UTC))
    note = credit(first, "wrong address", by=BY, at=datetime(2031, 3, 4, tzinfo=UTC))
    agreeing.write_bill(written, [Line(what="cleaned", amount=euros(100))], by=BY)
    second = issue_bill(written, by=BY, at=datetime(2031, 3, 5, tzinfo=UTC))
    assert [bill.number for bill in (first, note, second)] == ["2031-0001", "C-2031-0001", "2031-0002"]


def test_the_year_of_a_number_is_the_workshops_own(written):
    change_settings({"time_zone": "Europe/Amsterdam"}, by=BY)
    assert issue_bill(written, by=BY, at=NEW_YEAR).number == "2032-0001"


def test_who_changes_books_in_the_middle_of_a_year_goes_on_counting(written):
    change_settings({"first_number": 38, "numbers_run": "on", "bill_prefix": "H"}, by=BY)
    assert issue_bill(written, by=BY).number == "H00038"
    assert gaps() == []


def test_a_bill_that_is_refused_takes_no_number(written):
    with transaction.atomic():
        issue_bill(written, by=BY)
        transaction.set_rollback(True)
    assert not NumberSeries.objects.exists()
    assert issue_bill(written, by=BY).n == 1


def test_a_number_that_went_missing_is_noticed(issued):
    NumberSeries.objects.update(last=3)
    assert gaps() == [f"series '{issued.series_id}': number 2 does not add up"]


def test_bills_and_credit_notes_look_different(written):
    change_settings({"credit_prefix": ""}, by=BY)
    with pytest.raises(Refused, match="different letters"):
        issue_bill(written, by=BY)


def test_a_bill_is_issued_once(issued, written):
    with pytest.raises(Refused, match="credit note"):
        issue_bill(written, by=BY)
    with pytest.raises(Refused, match="stays as it is"):
        agreeing.write_bill(written, [Line(what="x", amount=euros(1))], by=BY)


@pytest.mark.parametrize("table", ["bill", "billline", "payment"])
@pytest.mark.parametrize("deed", ["UPDATE book_{} SET id = id", "DELETE FROM book_{}"])
def test_the_database_itself_refuses_to_change_what_is_issued(issued, written, table, deed):
    payments.record_payment(written, euros(1), "cash", by=BY)
    refused = pytest.raises(DatabaseError, match="counter-entry")
    with refused, transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(deed.format(table))


def test_what_stands_on_it_stays_when_owner_and_workshop_move(issued, written):
    change_settings({"name": "Elsewhere", "address": "Other Street 1"}, by=BY)
    written.owner.name = "Ilse Other"
    written.owner.save()
    bill = Bill.objects.get()
    assert (bill.buyer["name"], bill.seller["name"]) == ("Ilse Marrick", "")


def test_handing_back_issues_the_bill_that_is_written(written):
    home = leaving.hand_back(written, by=BY, paid=euros(14500), paid_how="cash")
    assert Bill.objects.get().total == euros(14500)
    assert owing.balance(home) == euros(0)


def test_a_credit_note_takes_the_whole_bill_back_to_the_cent(written):
    change_settings({"tax_labour": "21"}, by=BY)
    agreeing.write_bill(written, [Line(what="a", amount=euros(333)), Line(what="b", amount=euros(8))], by=BY)
    bill = issue_bill(written, by=BY)
    note = credit(bill, "wrong camera", by=BY)
    assert (note.net, note.tax, note.total) == (-bill.net, -bill.tax, -bill.total)
    assert owing.asked_for(written) == euros(0)
    with pytest.raises(Refused, match="taken back already"):
        credit(bill, "again", by=BY)


def test_a_credit_note_may_take_part_of_it_off(issued, written):
    credit(issued, "a friend's price", off=[Off(what="a friend's price", amount=euros(500))], by=BY)
    assert owing.asked_for(written) == euros(14000)
    with pytest.raises(Refused, match="more than stands"):
        credit(issued, "more", off=[Off(what="more", amount=euros(14001))], by=BY)
    with pytest.raises(Refused, match="line by line"):
        credit(issued, "the rest", by=BY)


@pytest.mark.parametrize(
    ("off", "says"),
    [
        (Off(what="", amount=Money(1, "EUR")), "what it is for"),
        (Off(what="x", amount=Money(0, "EUR")), "above zero"),
        (Off(what="x", amount=Money(1, "CHF")), "bill is in EUR"),
        (Off(what="x", amount=Money(1, "EUR"), kind="gold"), "Expected labour"),
    ],
)
def test_a_line_that_takes_nothing_off_is_refused(issued, off, says):
    with pytest.raises(Refused, match=says):
        credit(issued, "a slip", off=[off], by=BY)


@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    amounts=st.lists(st.integers(1, 5000), min_size=1, max_size=4),
    cuts=st.integers(1, 4),
    prices=st.sampled_from(["gross", "net"]),
    rounding=st.sampled_from(["bill", "line"]),
)
def test_a_bill_taken_back_in_parts_is_taken_back_to_the_cent(ready, amounts, cuts, prices, rounding):
    with transaction.atomic():
        change_settings({"tax_labour": "21", "prices_are": prices, "tax_rounding": rounding}, by=BY)
        ready.agreed_up_to_minor = 10**6
        ready.save()
        lines = [Line(what="work", amount=euros(amount)) for amount in amounts]
        agreeing.write_bill(ready, lines, by=BY)
        bill = issue_bill(ready, by=BY)
        left = sum(amounts)
        for cut in range(cuts, 0, -1):
            part = left if cut == 1 else max(1, left // cut) if left > 1 else 0
            if part:
                credit(bill, "in parts", off=[Off(what="part", amount=euros(part))], by=BY)
            left -= part
        papers = [bill, *bill.credits.all()]
        assert owing.taken_back(bill)
        for column in ("net_minor", "tax_minor", "total_minor"):
            assert sum(getattr(paper, column) for paper in papers) == 0, column
        for paper in papers:
            assert sum(line.net_minor for line in paper.lines.all()) == paper.net_minor
        transaction.set_rollback(True)


def test_after_a_credit_note_another_bill_may_be_written_even_of_a_camera_at_home(written):
    leaving.hand_back(written, by=BY)
    credit(Bill.objects.get(), "wrong lines", by=BY)
    agreeing.write_bill(written, [Line(what="cleaned", amount=euros(12000))], by=BY)
    issue_bill(written, by=BY)
    assert owing.balance(written) == euros(12000)


def test_the_deposit_is_set_off(looked_over):
    line = [Line(what="clean", amount=euros(14500))]
    job = agreeing.tell_price(looked_over, line, by=BY, terms=OfferTerms(deposit=euros(5000)))
    assert payments.deposit_open(job) == euros(5000)
    job = payments.take_deposit(job, euros(5000), "by transfer", by=BY)
    assert payments.deposit_open(job) is None
    job = agreeing.record_yes(job, how="by letter", by=BY)
    job = moving.call_ready(moving.prove(moving.put_on_bench(job, by=BY), by=BY), by=BY)
    agreeing.write_bill(job, line, by=BY)
    issue_bill(job, by=BY)
    assert owing.balance(job) == euros(9500)
    home = leaving.hand_back(job, by=BY, paid=euros(9500), paid_how="cash")
    assert (owing.balance(home), home.paid, home.paid_how) == (euros(0), euros(14500), "by transfer; cash")


@pytest.mark.parametrize(
    ("amount", "how", "says"),
    [
        (euros(18001), "cash", "more than the price"),
        (euros(10), "", "How"),
        (Money(1, "CHF"), "cash", "in EUR"),
    ],
)
def test_a_deposit_that_cannot_be_is_refused(agreed, amount, how, says):
    with pytest.raises(Refused, match=says):
        payments.take_deposit(agreed, amount, how, by=BY)


def test_a_form_sent_twice_is_one_payment(issued, written):
    ticket = uuid4()
    for _ in range(2):
        job = payments.record_payment(written, euros(100), "cash", by=BY, ticket=ticket)
    assert owing.balance(job) == euros(14400)


def test_a_payment_that_was_a_slip_is_undone_by_its_counter_entry(issued, written):
    payments.record_payment(written, euros(100), "cash", by=BY)
    payments.undo_payment(Payment.objects.get(), "wrong job", by=BY)
    assert [entry.amount_minor for entry in written.payments.all()] == [100, -100]
    assert owing.balance(written) == euros(14500)
    for entry in Payment.objects.all():
        with pytest.raises(Refused, match="already"):
            payments.undo_payment(entry, "again", by=BY)


def test_money_goes_back_only_as_far_as_it_is_owed(issued, written):
    payments.record_payment(written, euros(14500), "cash", by=BY)
    with pytest.raises(Refused, match="more than the owner is owed"):
        payments.pay_back(written, euros(1), "cash", "kindness", by=BY)
    note = credit(issued, "wrong", off=[Off(what="seal not changed", amount=euros(1200))], by=BY)
    assert list(owing.to_give_back()) == [written]
    job = payments.pay_back(written, euros(1200), "cash", note.number, by=BY)
    assert owing.balance(job) == euros(0)
    assert not owing.to_give_back().exists()


def test_a_slip_at_the_counter_keeps_the_deposit_that_was_paid_before(agreed):
    payments.take_deposit(agreed, euros(5000), "cash", by=BY)
    job = moving.call_ready(moving.prove(moving.put_on_bench(agreed, by=BY), by=BY), by=BY)
    agreeing.write_bill(job, [Line(what="clean", amount=euros(14500))], by=BY)
    home = leaving.hand_back(job, by=BY, paid=euros(9500), paid_how="cash")
    assert leaving.take_back(home, "wrong tag", by=BY).paid == euros(5000)


def test_what_nobody_fetches_is_listed_by_the_workshops_own_terms(ready):
    late = datetime(2099, 1, 1, tzinfo=UTC)
    assert owing.unfetched(workshop(), late) == []
    change_settings({"unfetched_days": 30, "unfetched_per_week": 500}, by=BY)
    (one,) = owing.unfetched(workshop(), late)
    assert one.job == ready
    assert one.due == euros(500 * -(-(one.days - 30) // 7))
