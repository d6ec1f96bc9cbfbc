"""Terms of an offer, the clock, an issued bill, what is paid."""

from __future__ import annotations

from typing import Any
from uuid import UUID, uuid4

from django import forms

from pegwood.book.billing.offers import OfferTerms, latest
from pegwood.book.models import Job, Offer
from pegwood.book.workshop import Workshop
from pegwood.pricing.money import Money
from pegwood.web.forms.fields import DayField, MinutesField, MoneyField, PlainForm, line
from pegwood.web.forms.leaving import HOW_PAID


class TermsForm(PlainForm):
    """What goes with a price. What is left empty is as the workshop usually has it."""

    valid_until = DayField(label="It stands until")
    deposit = MoneyField(label="Deposit")
    no_costs = MoneyField(label="What a no costs")
    if_no = forms.ChoiceField(
        label="After a no it goes back", required=False, choices=[("", "as usual"), *Offer.IfNo.choices]
    )

    def __init__(self, *args: Any, job: Job, shop: Workshop, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("deposit", "no_costs"):
            field = self.fields[name]
            assert isinstance(field, MoneyField)
            field.currency, field.locale = job.currency, shop.locale
        days = shop.price_valid_days
        self.fields["valid_until"].help_text = f"{days} days from today if you leave it empty."
        self.fields["deposit"].help_text = (
            f"{shop.deposit_percent} % of the price if you leave it empty." if shop.deposit_percent else ""
        )
        offer = latest(job)
        if offer is not None and not self.is_bound and offer.if_no != shop.if_no:
            self.initial["if_no"] = offer.if_no

    @property
    def terms(self) -> OfferTerms:
        """The terms; only of a form that is valid."""
        given = self.cleaned_data
        return OfferTerms(
            valid_until=given["valid_until"],
            deposit=given["deposit"],
            if_no=given["if_no"] or None,
            no_costs=given["no_costs"],
        )


class AgainForm(PlainForm):
    """A new offer where the work grows: the new sum, and why."""

    expected = MoneyField(
        label="It will come to", required=True, error_messages={"required": "To what will it come? Write it."}
    )
    why = forms.CharField(label="What makes it dearer?", max_length=160, widget=line())

    def __init__(self, *args: Any, job: Job, shop: Workshop, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        expected = self.fields["expected"]
        assert isinstance(expected, MoneyField)
        expected.currency, expected.locale = job.currency, shop.locale


class SettleForm(PlainForm):
    """How long the work really was of a clock that was forgotten."""

    minutes = MinutesField(label="How long was the work, minutes?", required=True)


class CorrectForm(PlainForm):
    """Minutes put right."""

    minutes = forms.IntegerField(
        label="Minutes more, or less with a minus",
        min_value=-100_000,
        max_value=100_000,
        widget=line(inputmode="text", **{"class": "figure"}),
        error_messages={"invalid": "Write whole minutes, such as -15."},
    )
    why = forms.CharField(label="Why?", max_length=240, widget=line())


class MoneyForm(PlainForm):
    """Money that came or goes back: how much, and how. Sent twice over a bad line it counts once."""

    paid_how = forms.ChoiceField(
        label="How it was paid",
        choices=[(how, how) for how in HOW_PAID],
        error_messages={"required": "Tap how it was paid."},
    )
    paid = MoneyField(
        label="Paid", required=True, error_messages={"required": "How much was paid? Write the sum."}
    )
    why = forms.CharField(label="Why?", max_length=240, required=False, widget=line())
    ticket = forms.UUIDField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, job: Job, left: Money | None, locale: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        paid = self.fields["paid"]
        assert isinstance(paid, MoneyField)
        paid.currency, paid.locale = job.currency, locale
        paid.initial = left.figure(locale) if left is not None else ""
        self.initial["ticket"] = uuid4()

    @property
    def sent_as(self) -> UUID | None:
        """The form's own ticket."""
        ticket: UUID | None = self.cleaned_data["ticket"]
        return ticket


class CreditForm(PlainForm):
    """What is wrong with a bill, and what comes off it; all of it where no sum is written."""

    reason = forms.CharField(
        label="What is wrong with it?",
        max_length=400,
        widget=line(),
        error_messages={"required": "Write what is wrong: it stands on the credit note."},
    )
    amount = MoneyField(label="Only this comes off", help_text="Empty takes the whole bill back.")
    kind = forms.ChoiceField(
        label="Of", required=False, choices=[("labour", "labour"), ("part", "parts"), ("other", "other")]
    )

    def __init__(self, *args: Any, currency: str, locale: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        amount = self.fields["amount"]
        assert isinstance(amount, MoneyField)
        amount.currency, amount.locale = currency, locale
