"""Offers, the clock, issued bills and payments on their pages: each does it, or says why not."""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

import pytest
from django.test import Client
from django.utils import timezone
from test_charts import glyphs

from pegwood.book import agreeing
from pegwood.book.billing import clock, owing
from pegwood.book.billing.issuing import Off, credit, issue_bill
from pegwood.book.billing.minutes import Minutes
from pegwood.book.billing.offers import latest
from pegwood.book.models import Bill, ClockEntry, Job
from pegwood.book.spares import taking
from pegwood.book.spares.putting import SpareDetails, put_on_shelf
from pegwood.book.stripping.off import OffDetails, log_off
from pegwood.book.workshop import change_settings, workshop
from pegwood.pricing.money import Money
from web.conftest import BY

LINE = {
    "line-TOTAL_FORMS": "1", "line-INITIAL_FORMS": "0", "line-0-what": "clean it", "line-0-kind": "labour",
    "line-0-amount": "145.00", "do": "tell",
}  # fmt: skip


def page(client: Client, address: str) -> str:
    return client.get(address).content.decode()


def euros(minor: int) -> Money:
    return Money(minor, "EUR")


def test_a_bill_may_begin_with_what_was_done_and_used(client: Client, ready):
    clock.correct(ready, 90, "by the clock", by=BY)
    cell = put_on_shelf(SpareDetails(name="red window", cost=euros(850)), 1, by=BY)
    taking.use(cell, ready, by=BY)
    shown = page(client, f"/job/{ready.number}/bill/")
    assert "In it: red window." in shown
    assert "?from=done" in shown
    lines = client.get(f"/job/{ready.number}/bill/?from=done").context["page"].sheet.initial
    assert [(one["kind"], one["minutes"], one["amount"]) for one in lines] == [
        ("labour", 90, ""), ("part", None, "8.50")
    ]  # fmt: skip


# --- the offer ------------------------------------------------------------------------------------------


def test_the_terms_go_with_the_price(client: Client, looked_over):
    until = (timezone.localdate() + timedelta(days=9)).isoformat()
    sent = {**LINE, "valid_until": until, "deposit": "50", "no_costs": "25.00", "if_no": "as it is"}
    assert client.post(f"/job/{looked_over.number}/price/", sent).status_code == 302
    offer = latest(looked_over)
    assert (offer.valid_until.isoformat(), offer.deposit, offer.no_costs, offer.if_no) == (
        until, euros(5000), euros(2500), "as it is"
    )  # fmt: skip
    shown = page(client, f"/job/{looked_over.number}/price/")
    assert "As a message" in shown
    assert "We begin when a deposit of €50.00 is here" in shown


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"valid_until": "soon"}, "year-month-day"),
        ({"valid_until": "2020-01-01"}, "later day"),
        ({"deposit": "a lot"}, "Not an amount"),
        ({"deposit": "146"}, "above the price"),
        ({"if_no": "sold"}, "Select a valid choice"),
    ],
)
def test_terms_that_cannot_be_are_named_and_nothing_is_told(client: Client, looked_over, wrong, says):
    answer = client.post(f"/job/{looked_over.number}/price/", {**LINE, **wrong})
    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert not looked_over.offers.exists()


def test_a_no_to_one_that_is_apart_is_put_together_first(client: Client, priced):
    log_off(priced, OffDetails(name="top cover"), by=BY)
    client.post(f"/job/{priced.number}/price/no/", {"words": "too dear"})
    assert "put it together again" in page(client, f"/job/{priced.number}/")
    client.post(f"/job/{priced.number}/price/", {**LINE, "line-0-amount": "90.00"})
    client.post(f"/job/{priced.number}/price/no/", {"words": "in a bag, please", "as_it_is": "on"})
    assert Job.objects.get().standing == "sent back unmended"


def test_what_grew_is_told_in_one_press_and_the_older_price_stays_in_sight(client: Client, on_the_bench):
    sent = {"expected": "199.00", "why": "the spring is broken"}
    assert client.post(f"/job/{on_the_bench.number}/price/again/", sent).status_code == 302
    shown = page(client, f"/job/{on_the_bench.number}/price/")
    assert "Told before" in shown
    assert "yes: by telephone" in shown
    assert Job.objects.get().price == euros(19900)


@pytest.mark.parametrize(
    ("sent", "says"),
    [
        ({}, "Write it"),
        ({"expected": "1", "why": "x"}, "not above"),
        ({"expected": "200", "why": ""}, "still empty"),
    ],
)
def test_a_new_price_that_cannot_be_says_why(client: Client, on_the_bench, sent, says):
    answer = client.post(f"/job/{on_the_bench.number}/price/again/", sent)
    assert answer.status_code == 422
    assert says in answer.content.decode()


def test_lines_of_a_bill_that_grew_become_the_new_price(client: Client, on_the_bench):
    sent = {**LINE, "line-0-amount": "250.00", "do": "offer"}
    assert client.post(f"/job/{on_the_bench.number}/bill/", sent).status_code == 302
    assert (Job.objects.get().standing, Job.objects.get().price) == ("priced", euros(25000))


# --- the clock ------------------------------------------------------------------------------------------


def test_one_press_starts_the_clock_and_one_stops_it(client: Client, on_the_bench):
    address = f"/job/{on_the_bench.number}/clock/"
    client.post(address, {"do": "start"})
    assert "Stop the clock" in page(client, f"/job/{on_the_bench.number}/")
    client.post(address, {"do": "stop"})
    assert ClockEntry.objects.get().minutes == 0
    assert client.post(address, {"do": "stop"}).status_code == 422


def test_a_forgotten_clock_asks_on_the_card(client: Client, on_the_bench):
    clock.start(on_the_bench, by=BY, at=timezone.now() - timedelta(hours=30))
    assert "How long was the work really?" in page(client, f"/job/{on_the_bench.number}/")
    address = f"/job/{on_the_bench.number}/clock/settle/"
    assert "0 to 18" in client.post(address, {"minutes": "5000"}).content.decode()
    assert client.post(address, {"minutes": ""}).status_code == 422
    assert client.post(address, {"minutes": "45"}).status_code == 302
    assert ClockEntry.objects.get().minutes == 45


def test_minutes_are_put_right_with_a_reason(client: Client, on_the_bench):
    ClockEntry.objects.create(job=on_the_bench, kind="run", minutes=60, at=timezone.now(), by=BY)
    address = f"/job/{on_the_bench.number}/clock/correct/"
    assert client.post(address, {"minutes": "-61", "why": "slip"}).status_code == 422
    assert client.post(address, {"minutes": "-15", "why": ""}).status_code == 422
    assert client.post(address, {"minutes": "-15", "why": "the telephone"}).status_code == 302
    assert "45" in page(client, f"/job/{on_the_bench.number}/")


# --- the bill -------------------------------------------------------------------------------------------


def test_a_bill_is_issued_and_taken_back_on_its_page(client: Client, billed):
    address = f"/job/{billed.number}/bill/"
    assert client.post(f"{address}issue/").status_code == 302
    bill = Bill.objects.get()
    assert f"{bill.number}</span> is issued" in page(client, address)
    assert client.post(f"{address}issue/").status_code == 422
    assert "what is wrong" in client.post(f"{address}credit/", {"reason": ""}).content.decode()
    assert client.post(f"{address}credit/", {"reason": "x", "amount": "999"}).status_code == 422
    assert client.post(f"{address}credit/", {"reason": "wrong camera"}).status_code == 302
    assert owing.asked_for(billed) == euros(0)
    assert "wrong camera" in page(client, address)
    assert client.post(f"{address}credit/", {"reason": "again"}).status_code == 422


def test_part_of_a_bill_is_taken_off(client: Client, billed):
    issue_bill(billed, by=BY)
    client.post(f"/job/{billed.number}/bill/credit/", {"reason": "a friend", "amount": "5", "kind": "labour"})
    assert owing.asked_for(billed) == euros(14000)


def test_its_paper_and_its_e_invoice_can_be_had(client: Client, billed, halm):
    bill = issue_bill(billed, by=BY)
    made = client.post(f"/job/{billed.number}/papers/", {"kind": "bill", "of": bill.number})
    assert made.status_code == 302
    address = f"/job/{billed.number}/bill/e-invoice/?of={bill.number}"
    assert "lacks" in client.get(address).content.decode()
    credit(bill, "lacks what an e-invoice needs", by=BY)
    change_settings({"country": "NL", "tax_number": "NL1B01", "no_tax_reason": "Small business"}, by=BY)
    agreeing.write_bill(billed, [agreeing.Line(what="clean", amount=euros(14500))], by=BY)
    bill = issue_bill(billed, by=BY)
    answer = client.get(f"/job/{billed.number}/bill/e-invoice/?of={bill.number}")
    assert answer["Content-Type"] == "application/xml"
    assert bill.number in answer["Content-Disposition"]


# --- payments -------------------------------------------------------------------------------------------


def test_a_deposit_is_written_down_before_the_work(client: Client, agreed):
    sent = {"paid_how": "cash", "paid": "50.00", "ticket": str(uuid4())}
    for _ in range(2):  # sent twice over a bad line
        assert client.post(f"/job/{agreed.number}/payment/", sent).status_code == 302
    assert Job.objects.get().paid == euros(5000)


def test_too_much_goes_back_and_a_slip_is_taken_back(client: Client, billed):
    bill = issue_bill(billed, by=BY)
    address = f"/job/{billed.number}/payment/"
    client.post(address, {"paid_how": "cash", "paid": "145"})
    entry = billed.payments.get()
    assert client.post(f"{address}undo/", {"entry": entry.pk, "why": ""}).status_code == 422
    assert client.post(f"{address}undo/", {"entry": "x", "why": "y"}).status_code == 422
    client.post(f"{address}undo/", {"entry": entry.pk, "why": "wrong job"})
    assert Job.objects.get().paid is None
    client.post(address, {"paid_how": "card", "paid": "145"})
    credit(bill, "seal", off=[Off(what="seal", amount=euros(1200))], by=BY)
    assert "give back" in page(client, address)
    back = {"back-paid_how": "cash", "back-paid": "12", "back-why": "the credit note"}
    assert client.post(f"{address}back/", {**back, "back-paid": "13"}).status_code == 422
    assert client.post(f"{address}back/", back).status_code == 302
    assert owing.balance(Job.objects.get()) == euros(0)


# --- what is open ---------------------------------------------------------------------------------------


def test_the_list_shows_what_is_open_and_what_nobody_fetches(client: Client, billed):
    long_ago = timezone.now() - timedelta(days=60)
    bill = issue_bill(billed, by=BY, at=long_ago)
    Job.objects.update(stands_since=long_ago)
    change_settings({"unfetched_days": 30, "unfetched_per_week": 500, "unfetched_terms": "Our terms."}, by=BY)
    shown = page(client, "/bills/")
    assert bill.number in shown
    assert "was due" in shown
    assert "Local law comes first." in shown
    assert "ready for 60 days" in shown
    assert "€25.00" in shown  # thirty days over: five weeks begun


def test_the_table_is_a_file_for_the_bookkeeper(client: Client, billed):
    bill = issue_bill(billed, by=BY)
    answer = client.get("/bills/table.csv", {"first": "2020-01-01", "last": "soon"})
    assert answer["Content-Type"].startswith("text/csv")
    assert bill.number in answer.content.decode()


def test_minutes_stand_side_by_side(client: Client, gone_home):
    offer = gone_home.offers.get()
    offer.lines = [{**offer.lines[0], "minutes": 60}]
    offer.save()
    ClockEntry.objects.create(job=gone_home, kind="run", minutes=90, at=timezone.now(), by=BY)
    shown = page(client, "/bills/minutes/")
    assert "1.50" in shown
    assert "data-chart" not in shown


def test_two_jobs_minutes_are_charted_over_the_table(client: Client, gone_home, monkeypatch):
    other = Job(number=77, camera=gone_home.camera)
    jobs = [Minutes(gone_home, 60, 90, by_clock=True), Minutes(other, 120, 75, by_clock=False)]
    monkeypatch.setattr("pegwood.web.pages.bills.latest_minutes", lambda at_most: jobs[:at_most])
    shown = page(client, "/bills/minutes/")
    assert shown.index('data-chart="/bills/minutes/chart.json"') < shown.index("<table")
    drawn = client.get("/bills/minutes/chart.json").json()
    (marks,) = glyphs(drawn, "Scatter")
    assert (marks["data"]["x"], marks["data"]["y"]) == ([60, 120], [90, 75])
    assert marks["data"]["shape"] == ["circle", "square"]
    assert client.get("/bills/minutes/chart.json", {"scheme": "dark"}).json() != drawn


# --- what is chosen -------------------------------------------------------------------------------------


def chosen(**more: str) -> dict[str, str]:
    return {
        "prices_are": "net", "tax_rounding": "line", "tax_name": "VAT", "tax_labour": "9", "tax_part": "21",
        "credit_prefix": "C-", "numbers_run": "on", "first_number": "38", "payment_days": "30",
        "deposit_percent": "30", "if_no": "as it is", "no_costs": "25.00", "unfetched_days": "60",
        "unfetched_per_week": "5", "clock_longest": "180", "country": "nl", **more,
    }  # fmt: skip


def test_what_stands_behind_a_bill_is_set_on_its_page(client: Client, halm):
    assert client.post("/workshop/bills/", chosen()).status_code == 302
    now = workshop()
    assert (now.prices_are, now.tax_labour, now.first_number, now.no_costs, now.country) == (
        "net", "9", 38, 2500, "NL"
    )  # fmt: skip


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"tax_labour": "a fifth"}, "rate of tax"),
        ({"country": "ZX"}, "two letters"),
        ({"bill_prefix": "B ü"}, "letters, digits"),
        ({"first_number": "0"}, "At least 1."),
        ({"no_costs": "x"}, "Not an amount"),
        ({"deposit_percent": "101"}, "At most 100."),
    ],
)
def test_what_cannot_be_is_named_and_nothing_is_set(client: Client, halm, wrong, says):
    answer = client.post("/workshop/bills/", chosen(**wrong))
    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert workshop().prices_are == "gross"
