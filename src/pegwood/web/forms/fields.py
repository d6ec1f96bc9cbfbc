"""Fields that turn what is typed at the bench into real values."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from pegwood.pricing.money import Money, MoneyError, exponent

EARLIEST_CAMERA = 1839
LATEST_CAMERA = 2100
#: Whoever types more has leant on a key: in the currencies of the smallest units it is still a car.
LARGEST_TYPED = 1_000_000_000


#: In place of the framework's own words, wherever a field has none of its own for it.
PLAIN_WORDS = {
    "required": "This is still empty. Fill it in.",
    "max_length": "Too long: %(show_value)d letters. At most %(limit_value)d fit here.",
    "min_value": "At least %(limit_value).12g.",
    "max_value": "At most %(limit_value).12g.",
}


class PlainForm(forms.Form):
    """A form whose faults the server names, each at its field, in the page's own look and words."""

    use_required_attribute = False
    error_css_class = "amiss"

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("label_suffix", "")
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            in_plain_words(field)


def in_plain_words(field: forms.Field) -> forms.Field:
    """The same field, which refuses in `PLAIN_WORDS` wherever it has no words of its own."""
    own = {
        code: words
        for code, words in field.error_messages.items()
        if words != forms.Field.default_error_messages.get(code)
    }
    field.error_messages = {**field.error_messages, **PLAIN_WORDS, **own}
    return field


class MoneyField(forms.CharField):
    """An amount as the workshop's country types it; empty is None."""

    def __init__(self, *, currency: str = "EUR", locale: str = "en_GB", **kwargs: Any) -> None:
        self.currency, self.locale = currency, locale
        kwargs.setdefault("required", False)
        kwargs.setdefault(
            "widget",
            forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", "class": "figure"}),
        )
        super().__init__(**kwargs)

    def clean(self, value: Any) -> Money | None:
        text = str(value or "").strip()
        if not text:
            if self.required:
                raise ValidationError(self.error_messages["required"], code="required")
            return None
        try:
            amount = Money.parse(text, self.currency, self.locale)
        except MoneyError as error:
            raise ValidationError(str(error)) from None
        most = Money(LARGEST_TYPED * 10 ** exponent(self.currency), self.currency)
        if abs(amount.minor) > most.minor:
            raise ValidationError(f"A figure too many? Write at most {most.format(self.locale)}.")
        return amount


class MinutesField(forms.IntegerField):
    """Minutes of work; empty is None."""

    def __init__(self, *, most: int = 10_000, **kwargs: Any) -> None:
        kwargs.setdefault("required", False)
        kwargs.setdefault(
            "widget",
            forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off", "class": "figure"}),
        )
        kwargs["error_messages"] = {"invalid": "Minutes are a whole number, such as 45."}
        super().__init__(min_value=0, max_value=most, **kwargs)


class YearField(forms.IntegerField):
    """The year something was made."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("required", False)
        kwargs.setdefault(
            "widget",
            forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off", "class": "figure"}),
        )
        told = f"A camera's year lies between {EARLIEST_CAMERA} and {LATEST_CAMERA}, such as 1958."
        kwargs["error_messages"] = {"invalid": told, "min_value": told, "max_value": told}
        super().__init__(min_value=EARLIEST_CAMERA, max_value=LATEST_CAMERA, **kwargs)


class DayField(forms.DateField):
    """A day, from the browser's own calendar."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("required", False)
        kwargs.setdefault("widget", forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
        kwargs["error_messages"] = {"invalid": "A day is written year-month-day, such as 2031-05-14."}
        super().__init__(input_formats=["%Y-%m-%d"], **kwargs)


class NumberField(forms.FloatField):
    """A plain number, with a point or a comma; empty is None."""

    def __init__(self, *, such_as: str = "36 or 2.8", **kwargs: Any) -> None:
        kwargs.setdefault("required", False)
        kwargs.setdefault("widget", line(inputmode="decimal", **{"class": "figure"}))
        kwargs["error_messages"] = {"invalid": f"Write a plain number, such as {such_as}."}
        super().__init__(**kwargs)

    def to_python(self, value: Any) -> float | None:  # type: ignore[override]  # stubs take it for a whole number
        return super().to_python(str(value or "").strip().replace(",", "."))


def area(rows: int, **attrs: str) -> forms.Textarea:
    """A field for free words that grows with them."""
    return forms.Textarea(attrs={"rows": rows, "class": "words", **attrs})


def line(**attrs: str) -> forms.TextInput:
    """A field for one line."""
    return forms.TextInput(attrs={"autocomplete": "off", **attrs})
