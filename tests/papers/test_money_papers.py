"""Price, bill and credit note on paper: what was agreed, done, taxed, paid and taken off."""

from __future__ import annotations

import json
from datetime import UTC, datetime

import pytest

from pegwood.book import agreeing, arriving, benchwork, leaving, looking, moving
from pegwood.book.agreeing import Line
from pegwood.book.arriving import CameraDetails, OwnerDetails
from pegwood.book.billing import payments
from pegwood.book.billing.issuing import Off, credit, issue_bill
from pegwood.book.billing.offers import OfferTerms
from pegwood.book.looking import FindingDetails
from pegwood.book.models import Job, Paper
from pegwood.book.workshop import change_settings
from pegwood.papers import RefusedPaper, make_paper, remake
from pegwood.papers.content import Bill, Price, from_json
from pegwood.papers.view import view
from pegwood.pricing.money import Money

pytestmark = pytest.mark.django_db
BY = "Tove Halm"
AT = datetime(2031, 3, 3, 9, 30, tzinfo=UTC)
LINES = [
    Line(what="clean the shutter", minutes=60, amount=Money(12100, "EUR")),
    Line(what="light seals", kind="part", amount=Money(1090, "EUR")),
]


def content(paper: Paper):
    return from_json(json.dumps(paper.content))


@pytest.fixture
def priced(db: None) -> Job:
    change_settings(
        {"name": "Halm", "tax_name": "VAT", "tax_labour": "21", "tax_part": "9", "address": "Rope 1"}, by=BY
    )
    job = arriving.take_in(OwnerDetails(name="Ilse Marrick"), CameraDetails(family="box"), by=BY)
    looking.note_finding(job, FindingDetails(part="shutter", condition="sticks"), by=BY)
    terms = OfferTerms(deposit=Money(4000, "EUR"), no_costs=Money(1500, "EUR"))
    return agreeing.tell_price(moving.look_over(job, by=BY), LINES, terms=terms, by=BY, at=AT)


@pytest.fixture
def ready(priced: Job) -> Job:
    payments.take_deposit(priced, Money(4000, "EUR"), "by transfer", by=BY)
    agreeing.record_yes(priced, how="by letter", by=BY, at=AT)
    job = moving.put_on_bench(priced, by=BY)
    benchwork.log_work(job, "cleaned in naphtha", part="blades", minutes=50, by=BY)
    job = moving.call_ready(moving.prove(job, by=BY), by=BY)
    agreeing.write_bill(job, LINES, by=BY)
    return job


def test_the_offer_says_until_when_it_stands_its_deposit_and_what_a_no_leads_to(priced):
    sheet = content(make_paper(priced, "price", by=BY, at=AT))
    assert isinstance(sheet, Price)
    assert (sheet.deposit, sheet.no_costs, sheet.valid_until) == (
        Money(4000, "EUR"), Money(1500, "EUR"), "2031-04-02"
    )  # fmt: skip
    drawn = view(sheet)
    assert drawn["deposit"] == "€40.00"
    assert drawn["if_no"][0].startswith("The camera is put together again")
    assert "€15.00" in drawn["if_no"][1]
    # 121.00 with 21 % in it hold 21.00; 10.90 with 9 % in it hold 0.90: by hand
    assert [(tax.rate_percent, tax.amount.minor, tax.included) for tax in sheet.taxes] == [
        ("21", 2100, True), ("9", 90, True)
    ]  # fmt: skip


def test_before_it_is_issued_a_bill_is_a_draft_and_says_so(ready):
    sheet = content(make_paper(ready, "bill", by=BY, at=AT))
    assert sheet.draft
    assert "do not pay" in view(sheet)["draft"]


def test_an_issued_bill_bears_its_number_what_was_done_and_the_deposit(ready):
    bill = issue_bill(ready, by=BY, at=AT)
    paper = make_paper(ready, "bill", by=BY, at=AT)
    sheet = content(paper)
    assert isinstance(sheet, Bill)
    assert (sheet.head.number, paper.number) == (bill.number, f"{ready.number}-bill-1")
    assert sheet.done == ("blades: cleaned in naphtha",)
    assert (sheet.paid, sheet.owed, sheet.due_on) == (Money(4000, "EUR"), Money(9190, "EUR"), "2031-03-17")
    assert remake(paper)


def test_it_stays_what_it_was_when_the_workshop_moves(ready):
    issue_bill(ready, by=BY, at=AT)
    change_settings({"name": "Elsewhere", "address": "Other 2", "tax_labour": "0"}, by=BY)
    sheet = content(make_paper(ready, "bill", by=BY))
    assert (sheet.head.workshop.name, sheet.head.workshop.address) == ("Halm", ("Rope 1",))
    assert sheet.taxes[0].rate_percent == "21"


def test_a_credit_note_says_which_bill_it_is_on_and_why(ready):
    bill = issue_bill(ready, by=BY, at=AT)
    off = [Off(what="seals were not changed", amount=Money(1090, "EUR"), kind="part")]
    note = credit(bill, "seals were not changed", off=off, by=BY, at=AT)
    paper = make_paper(ready, "bill", by=BY, at=AT, of=note.number)
    sheet, drawn = content(paper), view(content(paper))
    assert (sheet.corrects, sheet.total, sheet.taxes[0].amount) == (
        bill.number, Money(1090, "EUR"), Money(90, "EUR")
    )  # fmt: skip
    assert (drawn["title"], drawn["sub"]) == ("Credit note", f"on bill {bill.number}")
    again = content(make_paper(ready, "bill", by=BY, at=AT, of=bill.number))
    assert again.credited == Money(1090, "EUR")
    assert again.owed == Money(13190 - 1090 - 4000, "EUR")


def test_net_prices_show_the_tax_on_top(ready):
    change_settings({"prices_are": "net"}, by=BY)
    ready.agreed_up_to_minor = 20000
    ready.save()
    agreeing.write_bill(ready, LINES, by=BY)
    issue_bill(ready, by=BY, at=AT)
    drawn = view(content(make_paper(ready, "bill", by=BY, at=AT)))
    assert drawn["subtotal"] == "€131.90"
    # 121.00 + 21 % = 146.41; 10.90 + 9 % = 11.88
    assert drawn["total"] == "€158.29"


def test_a_workshop_that_charges_no_tax_says_why(ready):
    change_settings({"tax_labour": "", "tax_part": "", "no_tax_reason": "Small business, no VAT."}, by=BY)
    agreeing.write_bill(ready, LINES, by=BY)
    issue_bill(ready, by=BY, at=AT)
    assert content(make_paper(ready, "bill", by=BY, at=AT)).no_tax == "Small business, no VAT."


def test_a_bill_that_is_not_the_jobs_is_refused(ready):
    with pytest.raises(RefusedPaper, match="has no bill"):
        make_paper(ready, "bill", by=BY, of="2031-9999")


def test_a_bill_filed_before_bills_were_issued_can_still_be_read(ready):
    record = make_paper(ready, "bill", by=BY, at=AT).content
    for name in ("draft", "corrects", "reason", "credited", "done", "no_tax"):
        del record["content"][name]
    assert from_json(json.dumps(record)).draft is False


def test_what_was_paid_at_the_counter_stands_on_the_paper(ready):
    leaving.hand_back(ready, paid=Money(9190, "EUR"), paid_how="cash", by=BY, at=AT)
    sheet = content(make_paper(Job.objects.get(), "bill", by=BY, at=AT))
    assert view(sheet)["paid_full"]
