"""What a part costs to get, and what a camera is worth."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms

from pegwood.anatomy.parts import Minutes
from pegwood.book.quoting.parts import LONGEST_SOURCE, LONGEST_WAIT, Cost
from pegwood.pricing.money import Money
from pegwood.pricing.sensible import Worths
from pegwood.web.forms.fields import MoneyField, NumberField, PlainForm, line

_STAYS = "stays-"


class _InMoney(PlainForm):
    """A form whose sums are all in a job's money."""

    def __init__(self, *args: Any, currency: str, locale: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.locale = locale
        for field in self.fields.values():
            if isinstance(field, MoneyField):
                field.currency, field.locale = currency, locale


def _days(label: str) -> NumberField:
    return NumberField(label=label, such_as="3 or 10.5", min_value=0, max_value=LONGEST_WAIT)


class CostForm(_InMoney):
    """What a part costs: usually, and if it is not sure at the least and at the most; so its wait."""

    part = forms.ChoiceField(label="Part", error_messages={"required": "Which part? Choose it."})
    likely = MoneyField(
        label="It costs", required=True, error_messages={"required": "What does it cost? Write the sum."}
    )
    low = MoneyField(label="At the least", help_text="empty: the same")
    high = MoneyField(label="At the most", help_text="empty: the same")
    wait_likely = _days("Days till it is here")
    wait_low = _days("At the least, days")
    wait_high = _days("At the most, days")
    source = forms.CharField(
        label="Who says so?",
        max_length=LONGEST_SOURCE,
        widget=line(placeholder="paid for job 41; the maker's list"),
        error_messages={"required": "Who says what it costs? Write it: a guess counts, if it says so."},
    )

    def __init__(self, *args: Any, parts: Mapping[str, str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        chosen = self.fields["part"]
        assert isinstance(chosen, forms.ChoiceField)
        chosen.choices = list(parts.items())

    def clean(self) -> dict[str, Any]:
        """A wait without its usual length is none."""
        given: dict[str, Any] = super().clean() or self.cleaned_data
        ends = any(given.get(name) is not None for name in ("wait_low", "wait_high"))
        if ends and given.get("wait_likely") is None and "wait_likely" not in self.errors:
            self.add_error("wait_likely", "How many days does it usually take? Write them.")
        return given

    @property
    def cost(self) -> Cost:
        """What was typed; only of a form that is valid."""
        given = self.cleaned_data
        likely: Money = given["likely"]
        wait: float | None = given["wait_likely"]
        days = (given["wait_low"], wait, given["wait_high"])
        low, high = (likely if given[name] is None else given[name] for name in ("low", "high"))
        return Cost(
            low=low,
            likely=likely,
            high=high,
            source=given["source"],
            wait_days=None if wait is None else tuple(wait if one is None else one for one in days),  # type: ignore[arg-type]  # three of them
        )


def _clean(label: str) -> NumberField:
    return NumberField(label=label, such_as="20", min_value=0.1, max_value=1440)


#: What is weighed only together, and what is asked where one of them is missing.
_PAIRS = (
    ("cleaned", "clean_likely", "What it is worth cleaned and how long cleaning takes go together."),
    ("for_parts", "paid_for_parts", "What its parts are worth and what you would give for it go together."),
)


class WorthForm(_InMoney):
    """What the camera is worth. What is left empty is not weighed."""

    mended = MoneyField(
        label="Mended, to the owner",
        required=True,
        error_messages={"required": "What is it worth to the owner once it is mended? Write a sum."},
    )
    unmended = MoneyField(
        label="As it lies there",
        required=True,
        error_messages={"required": "What is it worth to the owner as it is? Write a sum; 0 is one."},
    )
    as_found = MoneyField(label="Sold as found it brings")
    cleaned = MoneyField(label="Cleaned only, to the owner")
    clean_low = _clean("Cleaning, at the least, minutes")
    clean_likely = _clean("Usually")
    clean_high = _clean("At the most")
    for_parts = MoneyField(label="Its parts, to your bench")
    paid_for_parts = MoneyField(label="You would give for it")

    def __init__(
        self, *args: Any, now: Worths | None = None, stays: Mapping[str, str] | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        mended = self.fields["mended"]
        assert isinstance(mended, MoneyField)
        for fault, name in (stays or {}).items():
            self.fields[_STAYS + fault] = MoneyField(
                label=name[:1].upper() + name[1:], currency=mended.currency, locale=mended.locale
            )
        if now is not None and not self.is_bound:
            self.initial.update(self._as_typed(now))

    def _as_typed(self, now: Worths) -> dict[str, Any]:
        sums = ("mended", "unmended", "as_found", "cleaned", "for_parts", "paid_for_parts")
        told = {name: one.figure(self.locale) for name in sums if (one := getattr(now, name)) is not None}
        told |= {_STAYS + fault: by.figure(self.locale) for fault, by in now.stays.items()}
        if now.clean is not None:
            for name in ("low", "likely", "high"):
                told[f"clean_{name}"] = f"{getattr(now.clean, name):g}"
        return told

    @property
    def stays(self) -> list[forms.BoundField]:
        """The fields for faults that can stay."""
        return [self[name] for name in self.fields if name.startswith(_STAYS)]

    def clean(self) -> dict[str, Any]:
        """Worths as a whole: some sums go together."""
        given: dict[str, Any] = super().clean() or self.cleaned_data
        for name, sum_ in list(given.items()):  # a refusal takes it out
            if isinstance(sum_, Money) and sum_.minor < 0:
                self.add_error(name, "A worth is nothing or more.")
        if given.get("clean_likely") is None and (given.get("clean_low") or given.get("clean_high")):
            self.add_error("clean_likely", "How long does cleaning usually take? Write the minutes.")
        for one, other, asks in _PAIRS:
            if (given.get(one) is None) != (given.get(other) is None) and not self.errors:
                self.add_error(other if given.get(other) is None else one, asks)
        if not self.errors:
            try:
                given["worths"] = self._worths(given)
            except ValueError as reason:
                self.add_error(None, str(reason)[:1].upper() + str(reason)[1:])
        return given

    @staticmethod
    def _worths(given: Mapping[str, Any]) -> Worths:
        low, likely, high = (given.get(f"clean_{name}") for name in ("low", "likely", "high"))
        return Worths(
            mended=given["mended"],
            unmended=given["unmended"],
            as_found=given["as_found"],
            cleaned=given["cleaned"],
            clean=None if likely is None else Minutes(low=low or likely, likely=likely, high=high or likely),
            for_parts=given["for_parts"],
            paid_for_parts=given["paid_for_parts"],
            stays={
                name.removeprefix(_STAYS): by
                for name, by in given.items()
                if name.startswith(_STAYS) and by is not None
            },
        )

    @property
    def worths(self) -> Worths:
        """What was typed; only of a form that is valid."""
        told: Worths = self.cleaned_data["worths"]
        return told
