"""What the workshop chooses of tax, bills, deposits, a no, cameras nobody fetches, and the bench's clock."""

from __future__ import annotations

from typing import Any

from django import forms

from pegwood.book.models import Offer
from pegwood.book.refusal import Refused
from pegwood.book.workshop import NUMBERS_RUN, Workshop, change_settings, most, says
from pegwood.pricing.money import Money
from pegwood.web.forms.fields import MoneyField, PlainForm, area, line
from pegwood.web.forms.widgets import Taps

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
_MONEY = ("no_costs", "unfetched_per_week")


def _number(name: str, least: int = 0) -> forms.IntegerField:
    return forms.IntegerField(
        min_value=least, max_value=most(name), widget=line(inputmode="numeric", size="6")
    )


def _text(name: str, **attrs: str) -> forms.CharField:
    return forms.CharField(max_length=most(name), required=False, widget=line(**attrs))


def _one(*choices: str) -> forms.ChoiceField:
    return forms.ChoiceField(choices=[(choice, choice) for choice in choices], widget=Taps)


class BillSettingsForm(PlainForm):
    """The settings of a bill."""

    tax_name = _text("tax_name")
    tax_labour = _text("tax_labour", inputmode="decimal", size="8")
    tax_part = _text("tax_part", inputmode="decimal", size="8")
    tax_other = _text("tax_other", inputmode="decimal", size="8")
    prices_are = _one("gross", "net")
    tax_rounding = _one("bill", "line")
    no_tax_reason = _text("no_tax_reason")
    tax_number = _text("tax_number")
    register_number = _text("register_number")
    country = _text("country", size="4", autocapitalize="characters")
    bill_prefix = _text("bill_prefix", size="8")
    credit_prefix = _text("credit_prefix", size="8")
    numbers_run = _one(*NUMBERS_RUN)
    first_number = _number("first_number", 1)
    payment_days = _number("payment_days")
    deposit_percent = _number("deposit_percent")
    if_no = _one(*Offer.IfNo.values)
    no_costs = MoneyField()
    unfetched_days = _number("unfetched_days")
    unfetched_per_week = MoneyField()
    unfetched_terms = forms.CharField(max_length=most("unfetched_terms"), required=False, widget=area(2))
    clock_longest = _number("clock_longest", 5)

    def __init__(self, *args: Any, now: Workshop, **kwargs: Any) -> None:
        initial = {name: getattr(now, name) for name in self.base_fields}
        for name in _MONEY:
            initial[name] = Money(initial[name], now.currency).figure(now.locale) if initial[name] else ""
        super().__init__(*args, initial=initial, **kwargs)
        for name, field in self.fields.items():
            field.label, field.help_text = LABELS[name], TOLD.get(name, says(name))
            if isinstance(field, MoneyField):
                field.currency, field.locale = now.currency, now.locale

    def write(self, by: str) -> bool:
        """Set what was typed; False if the book refuses, with the reason in the form."""
        given = dict(self.cleaned_data)
        for name in _MONEY:
            given[name] = given[name].minor if given[name] is not None else 0
        try:
            change_settings(given, by=by)
        except Refused as refused:
            self.add_error(None, str(refused))
            return False
        return True
