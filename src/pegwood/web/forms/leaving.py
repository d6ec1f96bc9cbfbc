"""Handing a camera back, and correcting what is known of it."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms

from pegwood.book.arriving import CameraDetails
from pegwood.book.families import families
from pegwood.book.models import Job
from pegwood.pricing.money import Money
from pegwood.web.forms.fields import DayField, MoneyField, PlainForm, YearField, area, line
from pegwood.web.forms.take_in import LARGEST_STORY, camera_fields

HOW_PAID = ("cash", "card", "bank transfer")
NOT_YET = "not yet"
MONTHS = (0, 3, 6, 12, 24)


class HandBackForm(PlainForm):
    """What was paid, how, and how long the guarantee runs."""

    paid_how = forms.ChoiceField(
        label="How it was paid",
        choices=[(how, how) for how in (*HOW_PAID, NOT_YET)],
        error_messages={"required": "Tap how it was paid, or 'not yet'."},
    )
    paid = MoneyField(label="Paid")
    guarantee_months = forms.TypedChoiceField(label="Guarantee", coerce=int)

    def __init__(self, *args: Any, job: Job, billed: Money | None, locale: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        paid, months = self.fields["paid"], self.fields["guarantee_months"]
        assert isinstance(paid, MoneyField)
        assert isinstance(months, forms.ChoiceField)
        paid.currency, paid.locale = job.currency, locale
        paid.initial = billed.figure(locale) if billed is not None else ""
        offered = sorted({*MONTHS, job.guarantee_months})
        months.choices = [(n, "none" if n == 0 else f"{n} months") for n in offered]
        months.initial = job.guarantee_months

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        if given.get("paid_how") == NOT_YET:
            given["paid"] = None
            self.errors.pop("paid", None)
        elif "paid" not in self.errors and given.get("paid") is None:
            self.add_error("paid", "How much was paid? Write the sum, or tap 'not yet'.")
        return given


class AmendForm(PlainForm):
    """What is known of the camera and of the job, to be corrected."""

    family = forms.ChoiceField(label="Kind of camera")
    maker = forms.CharField(label="Maker", required=False, max_length=80, widget=line())
    model = forms.CharField(label="Model", required=False, max_length=80, widget=line())
    serial = forms.CharField(label="Serial number", required=False, max_length=60, widget=line())
    lens = forms.CharField(label="Lens", required=False, max_length=120, widget=line())
    lens_serial = forms.CharField(label="Lens number", required=False, max_length=60, widget=line())
    shutter = forms.CharField(label="Shutter", required=False, max_length=120, widget=line())
    year_made = YearField(label="Year made")
    note = forms.CharField(label="Note on the camera", required=False, max_length=4000, widget=area(2))
    story = forms.CharField(
        label="The owner's story", required=False, max_length=LARGEST_STORY, widget=area(5)
    )
    accessories = forms.CharField(label="Came with it", required=False, max_length=2000, widget=line())
    promised_on = DayField(label="Promised for", help_text="Empty if no day is promised.")

    def __init__(self, *args: Any, job: Job, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        family = self.fields["family"]
        assert isinstance(family, forms.ChoiceField)
        family.choices = [(kind.slug, kind.name) for kind in families().values()]
        self.job, self.today = job, today

    def clean_promised_on(self) -> date | None:
        day: date | None = self.cleaned_data["promised_on"]
        if day is not None and day != self.job.promised_on and day < self.today:
            raise forms.ValidationError(f"The promised day {day} is past. Choose today or a later day.")
        return day

    @property
    def camera(self) -> CameraDetails:
        """The camera as it should stand."""
        return CameraDetails(**camera_fields(self.cleaned_data), note=self.cleaned_data["note"])
