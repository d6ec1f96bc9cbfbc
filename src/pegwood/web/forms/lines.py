"""Lines of a price or a bill, and the owner's answer to them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from django import forms
from django.forms.formsets import BaseFormSet, formset_factory
from django.http import QueryDict

from pegwood.book.agreeing import Line, labour
from pegwood.book.models import Job, PriceLine
from pegwood.book.workshop import Workshop
from pegwood.pricing.money import Money
from pegwood.web.forms.fields import MinutesField, MoneyField, PlainForm, line

MOST_LINES = 60
SPARE_LINES = 3
_PARTS = ("what", "kind", "minutes", "amount")


class LineForm(PlainForm):
    """One line: what for, of what kind, and either the minutes or the sum."""

    what = forms.CharField(label="What for", required=False, max_length=160, widget=line())
    kind = forms.ChoiceField(label="Kind", required=False, choices=PriceLine.Kind.choices)
    minutes = MinutesField(label="Minutes", most=100_000)
    amount = MoneyField(label="Sum")

    def __init__(self, *args: Any, currency: str, locale: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        amount = self.fields["amount"]
        assert isinstance(amount, MoneyField)
        amount.currency, amount.locale = currency, locale

    def has_changed(self) -> bool:
        """A line on which nothing is written is no line; its kind alone says nothing."""
        return any(str(self[name].data or "").strip() for name in ("what", "minutes", "amount"))

    @property
    def line(self) -> Line:
        """The line, for the use case; it says what is missing."""
        given = self.cleaned_data
        return Line(
            what=given["what"],
            kind=given["kind"] or PriceLine.Kind.LABOUR,
            minutes=given["minutes"],
            amount=given["amount"],
        )


_LineSheet = formset_factory(
    LineForm, extra=SPARE_LINES, max_num=MOST_LINES, absolute_max=MOST_LINES, validate_max=True
)


def sheet_as_typed(typed: Mapping[str, Any], chosen: Workshop, currency: str) -> BaseFormSet[LineForm]:
    """The lines that were sent."""
    return _LineSheet(typed, prefix="line", form_kwargs={"currency": currency, "locale": chosen.locale})


def sheet_with(rows: list[dict[str, Any]], chosen: Workshop, currency: str) -> BaseFormSet[LineForm]:
    """Lines to begin with, and a few empty ones below them."""
    shown = {"currency": currency, "locale": chosen.locale}
    return _LineSheet(initial=rows, prefix="line", form_kwargs=shown)


def written(sheet: BaseFormSet[LineForm]) -> list[Line]:
    """The lines on which something stands. Only of a sheet that is valid."""
    return [form.line for form in sheet if form.has_changed()]


def rows_typed(typed: QueryDict) -> list[dict[str, Any]]:
    """What was typed, line by line and unchecked, to be shown again with more room below it."""
    rows = []
    for place in range(MOST_LINES):
        row = {name: typed.get(f"line-{place}-{name}", "") for name in _PARTS}
        if row["what"] or row["minutes"] or row["amount"]:
            rows.append(row)
    return rows


def rows_of(lines: Iterable[PriceLine], chosen: Workshop) -> list[dict[str, Any]]:
    """Lines of the book as they are typed. A sum that follows from the minutes is left to follow."""
    return [
        {
            "what": old.what,
            "kind": old.kind,
            "minutes": old.minutes,
            "amount": "" if _follows(old, chosen) else old.amount.figure(chosen.locale),
        }
        for old in lines
    ]


def rows_of_lines(lines: Iterable[Line], chosen: Workshop) -> list[dict[str, Any]]:
    """Lines that are not in the book yet, as they are typed."""
    return [
        {
            "what": one.what,
            "kind": one.kind,
            "minutes": one.minutes,
            "amount": "" if one.amount is None else one.amount.figure(chosen.locale),
        }
        for one in lines
    ]


def rows_to_mend(job: Job) -> list[dict[str, Any]]:
    """A line for each finding that is to be mended, where nothing was priced yet."""
    found = job.findings.filter(outlook="mend")
    return [{"what": str(finding)[:160], "kind": PriceLine.Kind.LABOUR} for finding in found[:MOST_LINES]]


def _follows(old: PriceLine, chosen: Workshop) -> bool:
    if old.minutes is None or not chosen.hourly_rate or chosen.currency != old.job.currency:
        return False
    return labour(old.minutes, chosen.rate) == old.amount


HOW_YES = ("by telephone", "at the counter", "by e-mail", "by letter")


class YesForm(PlainForm):
    """The owner's yes: how it was given, and up to what sum."""

    how = forms.ChoiceField(
        label="How the owner said yes", required=False, choices=[(how, how) for how in HOW_YES]
    )
    how_else = forms.CharField(label="Some other way", required=False, max_length=120, widget=line())
    up_to = MoneyField(label="Agreed up to", help_text="Beyond this sum the owner is asked again.")

    def __init__(self, *args: Any, price: Money, locale: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        up_to = self.fields["up_to"]
        assert isinstance(up_to, MoneyField)
        up_to.currency, up_to.locale = price.currency, locale
        up_to.initial = price.figure(locale)

    @property
    def said(self) -> str:
        """How the yes was given, in words."""
        return str(self.cleaned_data["how_else"] or self.cleaned_data["how"])


class NoForm(PlainForm):
    """The owner's no, in the owner's words."""

    words = forms.CharField(
        label="What did the owner say?",
        max_length=400,
        widget=line(placeholder="by telephone: not worth it to her"),
        error_messages={"required": "Write how and what the owner answered. It stands in the diary."},
    )
    as_it_is = forms.BooleanField(label="The owner wants it back as it lies", required=False)
