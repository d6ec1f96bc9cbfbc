"""Bills at the command line."""

import csv
import io
import json

import pytest

from pegwood.book import agreeing, arriving, looking, moving
from pegwood.book.agreeing import Line
from pegwood.book.arriving import CameraDetails, OwnerDetails
from pegwood.book.looking import FindingDetails
from pegwood.book.workshop import change_settings
from pegwood.pricing.money import Money

BY = "Tove Halm"


@pytest.fixture
def written(db):
    job = arriving.take_in(OwnerDetails(name="Ilse Marrick"), CameraDetails(family="box"), by=BY)
    looking.note_finding(job, FindingDetails(part="shutter", condition="sticks"), by=BY)
    lines = [Line(what="cleaned", minutes=45, amount=Money(12100, "EUR"))]
    change_settings({"name": "Halm", "tax_labour": "21", "tax_number": "NL1B", "country": "NL"}, by=BY)
    agreeing.tell_price(moving.look_over(job, by=BY), lines, by=BY)
    agreeing.record_yes(job, how="by letter", by=BY)
    job = moving.call_ready(moving.prove(moving.put_on_bench(job, by=BY), by=BY), by=BY)
    agreeing.write_bill(job, lines, by=BY)
    return job


def test_a_bill_is_issued_shown_listed_and_taken_back(run, written):
    assert run("bill", 1).output == "No bill is issued for job 1 yet.\n"
    issued = json.loads(run("bill", "issue", 1, "--json").output)
    assert (issued["net_minor"], issued["tax_minor"], issued["total_minor"]) == (10000, 2100, 12100)
    shown = json.loads(run("bill", 1, "--json").output)
    assert (shown["asked_minor"], shown["paid_minor"], shown["open_minor"]) == (12100, 0, 12100)
    assert shown["bills"][0]["lines"][0] == {
        "what": "cleaned", "kind": "labour", "minutes": 45, "amount_minor": 12100, "percent": "21"
    }  # fmt: skip
    assert json.loads(run("bill", "open", "--json").output)["bill"] == issued["number"]
    (row,) = csv.DictReader(io.StringIO(run("bill", "table").output))
    assert (row["number"], row["gross"]) == (issued["number"], "121.00")
    assert run("bill", "credit", issued["number"], "wrong camera").output.startswith("C-")
    assert run("bill", "open").output == ""
    assert "wrong camera" in run("bill", "show", 1).output


def test_an_e_invoice_is_written_once(run, written, tmp_path):
    number = run("bill", "issue", 1).output.strip()
    to = tmp_path / "bill.xml"
    assert run("bill", "e-invoice", number, to, "--country", "be").exit_code == 0
    assert b"<cbc:IdentificationCode>BE<" in to.read_bytes()
    assert "exists already" in run("bill", "e-invoice", number, to).stderr


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("bill", 9), "There is no job 9"),
        (("bill", "credit", "2027-0001", "x"), "There is no bill 2027-0001"),
        (("bill", "e-invoice", "2027-0001", "x.xml"), "There is no bill"),
    ],
)
def test_what_is_not_there_is_said_in_one_line(run, words, says):
    ended = run(*words)
    assert ended.exit_code == 1
    assert says in ended.stderr
    assert ended.stderr.count("\n") == 1


def test_a_bill_that_is_not_written_is_refused(run, db):
    arriving.take_in(OwnerDetails(name="Ilse Marrick"), CameraDetails(family="box"), by=BY)
    assert "There is no bill yet" in run("bill", "issue", 1).stderr
