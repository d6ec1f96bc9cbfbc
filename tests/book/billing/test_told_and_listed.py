"""The offer as a message, bills as a table, minutes beside their estimate."""

import csv
import io
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from book.billing.conftest import euros
from book.cast import BY
from pegwood.book import agreeing, benchwork, leaving
from pegwood.book.agreeing import Line
from pegwood.book.billing.issuing import Off, credit, issue_bill
from pegwood.book.billing.listing import bills_csv
from pegwood.book.billing.message import offer_text
from pegwood.book.billing.minutes import latest_minutes, minutes_of
from pegwood.book.billing.offers import OfferTerms
from pegwood.book.models import Bill, ClockEntry
from pegwood.book.workshop import change_settings, workshop

pytestmark = pytest.mark.django_db
AT = datetime(2031, 3, 3, 9, tzinfo=UTC)


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def test_the_message_says_all_the_owner_needs_to_answer(looked_over):
    change_settings({"name": "Halm", "tax_name": "VAT", "tax_labour": "21"}, by=BY)
    terms = OfferTerms(deposit=euros(5000), no_costs=euros(2500))
    agreeing.tell_price(looked_over, [Line(what="clean", amount=euros(14500))], by=BY, terms=terms, at=AT)
    assert offer_text(looked_over, workshop()).splitlines() == [
        "Halm: your camera Vorrin Pocket Six, no. 1.",
        "Mending it comes to €145.00, VAT included. It stands until 2 April 2031.",
        "We stop and ask you before it goes beyond €145.00.",
        "We begin when a deposit of €50.00 is here; it is set off against the bill.",
        "Please answer yes or no. If no, you get it back put together again, unmended, for €25.00.",
    ]


def test_there_is_no_message_without_a_price(looked_over):
    assert offer_text(looked_over, workshop()) == ""


def test_the_table_holds_every_rate_of_every_bill_and_adds_up(written):
    change_settings({"tax_labour": "21", "tax_part": "9"}, by=BY)
    lines = [Line(what="a", amount=euros(12100)), Line(what="b", kind="part", amount=euros(1090))]
    agreeing.write_bill(written, lines, by=BY)
    bill = issue_bill(written, by=BY, at=AT)
    credit(bill, "not changed", off=[Off(what="b", kind="part", amount=euros(1090))], by=BY, at=AT)
    found = rows(bills_csv())
    assert [(row["number"], row["tax_percent"], row["net"], row["tax"]) for row in found] == [
        ("2031-0001", "21", "100.00", "21.00"),
        ("2031-0001", "9", "10.00", "0.90"),
        ("C-2031-0001", "9", "-10.00", "-0.90"),
    ]
    gross = sum(Decimal(row["gross"]) for row in found)
    assert gross == Decimal(sum(one.total_minor for one in Bill.objects.all())) / 100
    assert found[2]["corrects"] == "2031-0001"


def test_only_the_days_asked_for(written):
    issue_bill(written, by=BY, at=AT)
    assert len(rows(bills_csv(date(2031, 3, 3), date(2031, 3, 3)))) == 1
    assert rows(bills_csv(first=date(2031, 3, 4))) == rows(bills_csv(last=date(2031, 3, 2))) == []


def test_no_cell_is_taken_for_a_formula(written):
    written.owner.name = '=HYPERLINK("x")'
    written.owner.save()
    issue_bill(written, by=BY, at=AT)
    assert rows(bills_csv())[0]["owner"].startswith("'=")


def test_minutes_stand_beside_their_estimate(written):
    offer = written.offers.get()
    offer.lines = [{"what": "clean", "minutes": 60}]
    offer.save()
    benchwork.log_work(written, "cleaned", minutes=70, by=BY)
    assert (minutes_of(written).estimated, minutes_of(written).real) == (60, 70)
    ClockEntry.objects.create(job=written, kind="run", minutes=90, at=AT, by=BY)
    leaving.hand_back(written, by=BY)
    (one,) = latest_minutes(5)
    assert (one.real, one.by_clock, one.ratio) == (90, True, 1.5)
