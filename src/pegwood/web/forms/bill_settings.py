"""What the workshop chooses of tax, bills, deposits, a no, cameras nobody fetches, and the bench's clock."""

from __future__ import annotations

from django import forms

from pegwood.book.models import Offer
from pegwood.book.workshop import NUMBERS_RUN, most
from pegwood.web.forms.fields import MoneyField, area
from pegwood.web.forms.settings_form import SomeSettingsForm, number, one_of, text

LABELS = {
    "tax_name": "The tax is called",
    "tax_labour": "On labour, %",
    "tax_part": "On parts, %",
    "tax_other": "On anything else, %",
    "prices_are": "The sums you write",
    "tax_rounding": "Tax is rounded",
    "no_tax_reason": "Why no tax is charged",
    "tax_number": "Tax number",
    "register_number": "Trade register no.",
    "country": "Country",
    "bill_prefix": "Before a bill's number",
    "credit_prefix": "Before a credit note's",
    "numbers_run": "Numbers run",
    "first_number": "A series begins at",
    "payment_days": "Days to pay in",
    "deposit_percent": "Deposit, %",
    "if_no": "After a no",
    "no_costs": "What a no costs",
    "unfetched_days": "Kept for nothing, days",
    "unfetched_per_week": "A week after that",
    "unfetched_terms": "Your terms for cameras nobody fetches",
    "clock_longest": "A clock was forgotten after, minutes",
}
TOLD = {
    "tax_labour": "such as 21; empty charges none",
    "tax_part": "",
    "tax_other": "",
    "prices_are": "'gross': the tax is in them; 'net': it comes on top",
    "tax_rounding": "once on the whole bill, or on each line",
    "no_tax_reason": "as the law wants it said on the bill",
    "tax_number": "a VAT number begins with its country",
    "register_number": "for e-invoices",
    "country": "two letters, for e-invoices",
    "first_number": "if you go on from other books",
    "deposit_percent": "0 asks none",
    "if_no": "'together': put together again; 'as it is': as it lies",
    "no_costs": "looking and putting together; empty asks nothing",
    "unfetched_days": "after it is ready; 0: you have no such terms",
    "unfetched_per_week": "empty asks nothing",
    "unfetched_terms": "shown beside the list; local law comes first",
    "clock_longest": "then it is asked about and not counted",
}


class BillSettingsForm(SomeSettingsForm):
    """The settings of a bill."""

    labels, told = LABELS, TOLD

    tax_name = text("tax_name")
    tax_labour = text("tax_labour", inputmode="decimal", size="8")
    tax_part = text("tax_part", inputmode="decimal", size="8")
    tax_other = text("tax_other", inputmode="decimal", size="8")
    prices_are = one_of("gross", "net")
    tax_rounding = one_of("bill", "line")
    no_tax_reason = text("no_tax_reason")
    tax_number = text("tax_number")
    register_number = text("register_number")
    country = text("country", size="4", autocapitalize="characters")
    bill_prefix = text("bill_prefix", size="8")
    credit_prefix = text("credit_prefix", size="8")
    numbers_run = one_of(*NUMBERS_RUN)
    first_number = number("first_number", 1)
    payment_days = number("payment_days")
    deposit_percent = number("deposit_percent")
    if_no = one_of(*Offer.IfNo.values)
    no_costs = MoneyField()
    unfetched_days = number("unfetched_days")
    unfetched_per_week = MoneyField()
    unfetched_terms = forms.CharField(max_length=most("unfetched_terms"), required=False, widget=area(2))
    clock_longest = number("clock_longest", 5)
