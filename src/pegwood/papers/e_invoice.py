"""
An issued bill as an open e-invoice: EN 16931 in the syntax of UBL 2.1 (ISO/IEC 19845).

Written with the standard library; the tests hold it against the published schema and the published rules of
the European norm. Which bills have to be sent so, to whom and how, is the law's to say.
"""

from __future__ import annotations

import re
from typing import Any
from xml.etree import ElementTree as ET

from pegwood.book.models import Bill, BillLine, Payment
from pegwood.book.refusal import Refused
from pegwood.pricing.money import Money, exponent

__all__ = ["e_invoice", "file_name"]

CBC = "urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2"
CAC = "urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2"
ROOT = "urn:oasis:names:specification:ubl:schema:xsd:{}-2"
EN_16931 = "urn:cen.eu:en16931:2017"
#: Of UNTDID 1001: a commercial invoice, a credit note. Of UN/ECE Recommendation 20: one.
INVOICE, CREDIT_NOTE, ONE = "380", "381", "C62"
_NO_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def e_invoice(bill: Bill, *, buyer_country: str = "") -> bytes:
    """
    A bill or credit note as UBL 2.1.

    Parameters
    ----------
    bill : Bill
    buyer_country : str
        Two letters (ISO 3166) of the owner's country; the workshop's own if empty.

    Returns
    -------
    xml : bytes
        UTF-8, with its declaration.

    Raises
    ------
    Refused
        When something is not set that the norm asks for: the line says what.
    """
    _check(bill)
    credit = bill.kind == Bill.Kind.CREDIT
    sign, name = (-1, "CreditNote") if credit else (1, "Invoice")
    ET.register_namespace("cbc", CBC)
    ET.register_namespace("cac", CAC)
    root = ET.Element(f"{{{ROOT.format(name)}}}{name}")
    _text(root, "CustomizationID", EN_16931)
    _text(root, "ID", bill.number)
    _text(root, "IssueDate", bill.issued_on.isoformat())
    if not credit:
        _text(root, "DueDate", bill.due_on.isoformat())
    _text(root, f"{name}TypeCode", CREDIT_NOTE if credit else INVOICE)
    if note := bill.reason if credit else "; ".join(bill.done):
        _text(root, "Note", note)
    _text(root, "DocumentCurrencyCode", bill.currency)
    if bill.corrects is not None:
        reference = _part(_part(root, "BillingReference"), "InvoiceDocumentReference")
        _text(reference, "ID", bill.corrects.number)
        _text(reference, "IssueDate", bill.corrects.issued_on.isoformat())
    _seller(_part(_part(root, "AccountingSupplierParty"), "Party"), bill)
    _buyer(_part(_part(root, "AccountingCustomerParty"), "Party"), bill, buyer_country)
    if not credit and bill.seller["pay_to"]:
        _text(_part(root, "PaymentTerms"), "Note", _one_line(bill.seller["pay_to"]))
    _taxes(root, bill, sign)
    _totals(root, bill, sign)
    for line in bill.lines.all():
        _line(root, line, sign, name)
    ET.indent(root)
    return bytes(ET.tostring(root, encoding="utf-8", xml_declaration=True))


def file_name(bill: Bill) -> str:
    """What its file is called."""
    return f"{re.sub(r'[^A-Za-z0-9._-]', '-', bill.number)}.xml"


def _check(bill: Bill) -> None:
    if exponent(bill.currency) > 2:
        raise Refused(f"EN 16931 keeps two decimals; {bill.currency} has more. Send this bill as PDF.")
    seller = bill.seller
    lacks = [
        called
        for called, there in (
            ("the workshop's name", seller["name"]),
            ("the owner's name", bill.buyer["name"]),
            ("the country", seller["country"]),
            (
                "a tax number or a number in the trade register",
                seller["tax_number"] or seller["register_number"],
            ),
            ("the tax number", seller["tax_number"] or not any(tax["percent"] for tax in bill.taxes)),
            ("the reason why no tax is charged", bill.no_tax_reason or all(t["percent"] for t in bill.taxes)),
        )
        if not there
    ]
    if lacks:
        raise Refused(
            f"For an e-invoice this bill lacks {', '.join(lacks)}. Set it under Workshop; it stands on bills "
            "that are issued from then on."
        )


def _seller(party: ET.Element, bill: Bill) -> None:
    seller = bill.seller
    _address(party, seller["address"], seller["country"])
    if number := seller["tax_number"]:
        scheme = _part(party, "PartyTaxScheme")
        _text(scheme, "CompanyID", number.replace(" ", ""))
        # A VAT identifier begins with its country; a number of another kind is the tax office's own.
        _text(_part(scheme, "TaxScheme"), "ID", "VAT" if number[:2].isalpha() else "TAX")
    entity = _part(party, "PartyLegalEntity")
    _text(entity, "RegistrationName", seller["name"])
    if seller["register_number"]:
        _text(entity, "CompanyID", seller["register_number"])
    _contact(party, seller)


def _buyer(party: ET.Element, bill: Bill, country: str) -> None:
    buyer = bill.buyer
    _address(party, buyer["address"], country or bill.seller["country"])
    _text(_part(party, "PartyLegalEntity"), "RegistrationName", buyer["name"])
    _contact(party, buyer)


def _address(party: ET.Element, lines: str, country: str) -> None:
    address = _part(party, "PostalAddress")
    told = [line.strip() for line in lines.splitlines() if line.strip()]
    for tag, line in zip(("StreetName", "AdditionalStreetName"), told, strict=False):
        _text(address, tag, line)
    if len(told) > 2:
        _text(_part(address, "AddressLine"), "Line", ", ".join(told[2:]))
    _text(_part(address, "Country"), "IdentificationCode", country)


def _contact(party: ET.Element, who: dict[str, Any]) -> None:
    if not (who["phone"] or who["email"]):
        return
    contact = _part(party, "Contact")
    if who["phone"]:
        _text(contact, "Telephone", who["phone"])
    if who["email"]:
        _text(contact, "ElectronicMail", who["email"])


def _taxes(root: ET.Element, bill: Bill, sign: int) -> None:
    total = _part(root, "TaxTotal")
    _amount(total, "TaxAmount", bill.tax * sign)
    for tax in bill.taxes:
        subtotal = _part(total, "TaxSubtotal")
        _amount(subtotal, "TaxableAmount", Money(sign * tax["net_minor"], bill.currency))
        _amount(subtotal, "TaxAmount", Money(sign * tax["tax_minor"], bill.currency))
        _category(_part(subtotal, "TaxCategory"), tax["percent"], bill.no_tax_reason)


def _category(category: ET.Element, percent: str, reason: str | None) -> None:
    _text(category, "ID", ("S" if float(percent) else "Z") if percent else "E")
    _text(category, "Percent", percent or "0")
    if not percent and reason is not None:
        _text(category, "TaxExemptionReason", reason)
    _text(_part(category, "TaxScheme"), "ID", "VAT")


def _totals(root: ET.Element, bill: Bill, sign: int) -> None:
    totals = _part(root, "LegalMonetaryTotal")
    paid = _paid_before(bill)
    _amount(totals, "LineExtensionAmount", bill.net * sign)
    _amount(totals, "TaxExclusiveAmount", bill.net * sign)
    _amount(totals, "TaxInclusiveAmount", bill.total * sign)
    if paid:
        _amount(totals, "PrepaidAmount", paid)
    _amount(totals, "PayableAmount", bill.total * sign - paid)


def _paid_before(bill: Bill) -> Money:
    """The deposit that is set off; what is paid on the bill itself does not change it."""
    if bill.kind == Bill.Kind.CREDIT:
        return Money.zero(bill.currency)
    paid = bill.job.payments.filter(kind=Payment.Kind.DEPOSIT, at__lte=bill.issued_at, undone_by=None)
    return Money.total([entry.amount for entry in paid], bill.currency)


def _line(root: ET.Element, line: BillLine, sign: int, name: str) -> None:
    part = _part(root, f"{name}Line")
    net = line.net * sign
    _text(part, "ID", str(line.position))
    # A price is never below nothing there: what is taken off is a piece less.
    quantity = _text(part, "CreditedQuantity" if name == "CreditNote" else "InvoicedQuantity", "1")
    quantity.text = "-1" if net.minor < 0 else "1"
    quantity.set("unitCode", ONE)
    _amount(part, "LineExtensionAmount", net)
    item = _part(part, "Item")
    if line.minutes:
        _text(item, "Description", f"{line.minutes} min")
    _text(item, "Name", line.what)
    percent = line.tax_percent
    category = _part(item, "ClassifiedTaxCategory")
    _category(category, "" if percent is None else f"{percent.normalize():f}", None)
    _amount(_part(part, "Price"), "PriceAmount", -net if net.minor < 0 else net)


def _part(parent: ET.Element, name: str) -> ET.Element:
    return ET.SubElement(parent, f"{{{CAC}}}{name}")


def _text(parent: ET.Element, name: str, text: str) -> ET.Element:
    element = ET.SubElement(parent, f"{{{CBC}}}{name}")
    element.text = _NO_XML.sub("", text).strip()
    return element


def _amount(parent: ET.Element, name: str, amount: Money) -> None:
    _text(parent, name, f"{amount.decimal:f}").set("currencyID", amount.currency)


def _one_line(text: str) -> str:
    return ", ".join(line.strip() for line in text.splitlines() if line.strip())
