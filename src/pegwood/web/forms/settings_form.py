"""Some of the workshop's settings on a page of their own."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar

from django import forms

from pegwood.book.refusal import Refused
from pegwood.book.workshop import Workshop, change_settings, most, says
from pegwood.pricing.money import Money
from pegwood.web.forms.fields import MoneyField, PlainForm, line
from pegwood.web.forms.widgets import Taps


def number(name: str, least: int = 0) -> forms.IntegerField:
    """A whole number, such as a count of days."""
    return forms.IntegerField(
        min_value=least, max_value=most(name), widget=line(inputmode="numeric", size="6")
    )


def text(name: str, **attrs: str) -> forms.CharField:
    """A line of text."""
    return forms.CharField(max_length=most(name), required=False, widget=line(**attrs))


def one_of(*choices: str) -> forms.ChoiceField:
    """One of few, to tap."""
    return forms.ChoiceField(choices=[(choice, choice) for choice in choices], widget=Taps)


class SomeSettingsForm(PlainForm):
    """
    Settings by their names. Sums are kept in minor units, and nothing written is nothing.

    `labels` says what each is called; `told`, what is said below it where the book's own words are too long.
    """

    labels: ClassVar[Mapping[str, str]]
    told: ClassVar[Mapping[str, str]]

    def __init__(self, *args: Any, now: Workshop, **kwargs: Any) -> None:
        initial = {name: getattr(now, name) for name in self.base_fields}
        for name in self._sums():
            initial[name] = Money(initial[name], now.currency).figure(now.locale) if initial[name] else ""
        super().__init__(*args, initial=initial, **kwargs)
        for name, field in self.fields.items():
            field.label, field.help_text = self.labels[name], self.told.get(name, says(name))
            if isinstance(field, MoneyField):
                field.currency, field.locale = now.currency, now.locale

    def _sums(self) -> list[str]:
        return [name for name, field in self.base_fields.items() if isinstance(field, MoneyField)]

    def write(self, by: str) -> bool:
        """Set what was typed; False if the book refuses, with the reason in the form."""
        given = dict(self.cleaned_data)
        for name in self._sums():
            given[name] = given[name].minor if given[name] is not None else 0
        try:
            change_settings(given, by=by)
        except Refused as refused:
            self.add_error(None, str(refused))
            return False
        return True
