"""What the workshop chooses for itself, typed as a person types it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from pegwood.book.refusal import Refused
from pegwood.book.workshop import READINGS, Workshop, change_settings, most, says
from pegwood.instruments.shutter import LimitRow, MarkedSpeed
from pegwood.instruments.shutter.limits import AGES, KINDS
from pegwood.pricing.money import Money, MoneyError
from pegwood.web.forms.bill_settings import BillSettingsForm
from pegwood.web.forms.fields import DayField, PlainForm, area, line
from pegwood.web.forms.price_settings import PriceSettingsForm
from pegwood.web.forms.widgets import Taps

LABELS = {
    "name": "Workshop's name",
    "repairer": "Your name",
    "address": "Address",
    "phone": "Telephone",
    "email": "E-mail",
    "registration": "Register and tax numbers",
    "pay_to": "Where to pay",
    "currency": "Money",
    "hourly_rate": "An hour's work",
    "locale": "Money and dates written as in",
    "time_zone": "The workshop's time",
    "guarantee_months": "Guarantee, months",
    "price_valid_days": "A told price stands, days",
    "reading": "Marked speeds are read",
    "tray_columns": "Pockets of a tray, across",
    "tray_rows": "Pockets of a tray, down",
    "knowledge_counts_as": "What came counts for, jobs",
    "last_buy_years": "Hard parts, years ahead",
    "terms": "Your terms",
}
#: What a person is told instead of what stands beside the setting in the book.
TOLD = {
    "address": "postal address, as many lines as it has",
    "registration": "what the law asks for on a bill, a line each",
    "pay_to": "an account, a line each; printed on a bill that is not paid yet",
    "hourly_rate": "what an hour is charged at; leave it empty if you always name the sum",
    "tray_columns": "for strip-downs that are begun from now on",
    "knowledge_counts_as": "of what is known of faults, against what your own closed jobs teach",
    "reading": "'exact': 1/125 stands for 1/128 s; 'as marked': for 1/125 s. Every result says which",
}
#: Set by forms of their own on the same page, or on those of bills and prices.
ELSEWHERE = ("mark", "limits", "gauge_limits", *BillSettingsForm.base_fields, *PriceSettingsForm.base_fields)


class SettingsForm(PlainForm):
    """All settings but the mark and the limits."""

    name = forms.CharField(max_length=most("name"), required=False)
    repairer = forms.CharField(max_length=most("repairer"), required=False)
    address = forms.CharField(max_length=most("address"), required=False, widget=area(3))
    phone = forms.CharField(max_length=most("phone"), required=False, widget=line(type="tel"))
    email = forms.EmailField(required=False)
    registration = forms.CharField(max_length=most("registration"), required=False, widget=area(2))
    pay_to = forms.CharField(max_length=most("pay_to"), required=False, widget=area(2))
    currency = forms.CharField(max_length=3, min_length=3, widget=line(size="5", autocapitalize="characters"))
    hourly_rate = forms.CharField(max_length=30, required=False, widget=line(inputmode="decimal", size="12"))
    locale = forms.CharField(max_length=20, widget=line(size="12"))
    # Some six hundred names: the page lists them once, and typing a few letters finds one.
    time_zone = forms.CharField(max_length=60, widget=line(list="zones"))
    guarantee_months = forms.IntegerField(
        min_value=0, max_value=most("guarantee_months"), widget=line(inputmode="numeric", size="6")
    )
    price_valid_days = forms.IntegerField(
        min_value=0, max_value=most("price_valid_days"), widget=line(inputmode="numeric", size="6")
    )
    reading = forms.ChoiceField(choices=[(reading, reading) for reading in READINGS], widget=Taps)
    tray_columns = forms.IntegerField(
        min_value=1, max_value=most("tray_columns"), widget=line(inputmode="numeric", size="6")
    )
    tray_rows = forms.IntegerField(
        min_value=1, max_value=most("tray_rows"), widget=line(inputmode="numeric", size="6")
    )
    knowledge_counts_as = forms.IntegerField(
        min_value=1, max_value=most("knowledge_counts_as"), widget=line(inputmode="numeric", size="6")
    )
    last_buy_years = forms.IntegerField(
        min_value=1, max_value=most("last_buy_years"), widget=line(inputmode="numeric", size="6")
    )
    terms = forms.CharField(max_length=most("terms"), required=False, widget=area(2))

    def __init__(self, *args: Any, now: Workshop, **kwargs: Any) -> None:
        initial = {name: getattr(now, name) for name in self.base_fields}
        initial["hourly_rate"] = now.rate.figure(now.locale) if now.hourly_rate else ""
        super().__init__(*args, initial=initial, **kwargs)
        for name, field in self.fields.items():
            field.label, field.help_text = LABELS[name], TOLD.get(name, says(name))

    def clean_currency(self) -> str:
        """An ISO 4217 code."""
        return self._said_by_money(
            lambda code: Money(0, code).currency, self.cleaned_data["currency"].upper()
        )

    def clean_locale(self) -> str:
        """A locale that money can be written in."""
        return self._said_by_money(
            lambda name: Money(0, "EUR").format(name) and name, self.cleaned_data["locale"]
        )

    def clean(self) -> dict[str, Any]:
        """Read the rate in the money and the locale typed along with it."""
        given = dict(self.cleaned_data)
        if {"hourly_rate", "currency", "locale"} <= given.keys():
            try:
                given["hourly_rate"] = self._rate(given)
            except MoneyError as error:
                self.add_error("hourly_rate", str(error))
        return given

    def save(self, by: str) -> bool:
        """Set what was typed. What the book refuses is said at its field, and then nothing is set."""
        try:
            change_settings(self.cleaned_data, by=by)
        except Refused as reason:
            text = str(reason)
            about = next((name for name in self.fields if text.startswith((f"{name} ", f"{name}:"))), None)
            self.add_error(about, text)
            return False
        return True

    @staticmethod
    def _said_by_money(read: Callable[[str], str], typed: str) -> str:
        try:
            return read(typed)
        except MoneyError as error:
            raise ValidationError(str(error)) from None

    @staticmethod
    def _rate(given: dict[str, Any]) -> int:
        typed = given["hourly_rate"].strip()
        return Money.parse(typed, given["currency"], given["locale"]).minor if typed else 0


class LimitForm(PlainForm):
    """One of the workshop's own limits for marked speeds, as a line of a table."""

    # Each choice has an initial value: a new line on which nothing else is typed is then no limit.
    kind = forms.ChoiceField(label="Shutter", choices=[(k, k) for k in (*KINDS, "any")], initial="leaf")
    age = forms.ChoiceField(label="Age", choices=[(a, a) for a in ("any", *AGES)], initial="any")
    slowest = forms.CharField(label="From", max_length=12, widget=line(size="6", placeholder="1"))
    fastest = forms.CharField(label="To", max_length=12, widget=line(size="6", placeholder="1/250"))
    low = forms.FloatField(label="At least", required=False, widget=line(size="6", placeholder="-0.33"))
    high = forms.FloatField(label="At most", required=False, widget=line(size="6", placeholder="0.33"))
    unit = forms.ChoiceField(label="In", choices=[("ev", "EV"), ("percent", "% of the time")], initial="ev")
    source = forms.CharField(label="Whose limit", max_length=200, widget=line(placeholder="this workshop"))
    mark = forms.ChoiceField(
        label="How it is known",
        choices=[("practice", "practice"), ("seen", "read there"), ("memory", "from memory")],
        initial="practice",
    )

    def clean(self) -> dict[str, Any]:
        """Hold the line against what a limit can be."""
        given = dict(self.cleaned_data)
        if not self.errors:
            try:
                LimitRow.from_mapping(self.row())
            except ValueError as error:
                raise ValidationError(f"{error}.") from None
        return given

    def clean_slowest(self) -> float:
        """The slowest marked time it holds for, [s]."""
        return _marked(self.cleaned_data["slowest"])

    def clean_fastest(self) -> float:
        """The fastest marked time it holds for, [s]."""
        return _marked(self.cleaned_data["fastest"])

    def row(self) -> dict[str, Any]:
        """The limit as the settings keep it."""
        given = self.cleaned_data
        return {
            "kind": given["kind"],
            "age": given["age"],
            "slowest_s": given["slowest"],
            "fastest_s": given["fastest"],
            "unit": given["unit"],
            "low": given["low"],
            "high": given["high"],
            "source": given["source"],
            "mark": given["mark"],
        }


def _marked(text: str) -> float:
    try:
        speed = MarkedSpeed.parse(text)
    except ValueError as error:
        raise ValidationError(f"{error}.") from None
    if speed.nominal_s is None:
        raise ValidationError(f"{speed.text} has no limit: it is held by hand.")
    return float(speed.nominal_s)


def as_marked(seconds: float) -> str:
    """
    A marked time as the dial writes it, from the seconds the settings keep.

    Examples
    --------
    >>> as_marked(0.008), as_marked(1.0), as_marked(0.5)
    ('1/125', '1', '1/2')
    """
    if seconds >= 1:
        return f"{seconds:g}s" if seconds >= 10 else f"{seconds:g}"
    divisor = round(1 / seconds)
    return f"1/{divisor}" if abs(1 / divisor - seconds) < 1e-6 * seconds else f"{seconds:g}s"


class GearForm(PlainForm):
    """Something the workshop measures with."""

    name = forms.CharField(max_length=120, label="What it is", widget=line(placeholder="light gate"))
    serial = forms.CharField(max_length=60, required=False, label="Serial no.", widget=line())
    checked_on = DayField(label="Last checked")
    note = forms.CharField(max_length=240, required=False, label="Note", widget=line())

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        # The settings stand on the same page and have a name, too: a label must lead to its own field.
        super().__init__(*args, auto_id="id_gear_%s", **kwargs)


class MarkForm(PlainForm):
    """The workshop's mark, for the head of every paper."""

    picture = forms.FileField(
        label="The workshop's mark",
        help_text="A PNG or JPEG picture, at most 60 MB; it stands on top of every paper.",
        widget=forms.FileInput(attrs={"accept": "image/png,image/jpeg"}),
        error_messages={
            "required": "Choose a picture first.",
            "empty": "The file is empty. Choose another.",
            "max_length": "The file's name is too long. Give it a shorter one.",
        },
    )
