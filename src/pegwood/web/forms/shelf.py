"""The shelf: a spare, what moves of it, what was measured, a donor, what fits what."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from pegwood.book.families import construction_of, families
from pegwood.book.models import Donor, Spare
from pegwood.book.models.bench import GRADES
from pegwood.book.models.spares import MARKS
from pegwood.book.spares.donors import DonorDetails
from pegwood.book.spares.fitting import Fitting
from pegwood.book.spares.putting import SpareDetails
from pegwood.book.workshop import Workshop
from pegwood.web.forms.fields import DayField, MoneyField, NumberField, PlainForm, line
from pegwood.web.forms.widgets import Taps

_GRADES = [("", "not graded"), *((str(grade), f"{grade} {word}") for grade, word in GRADES.items())]
MOST_BY_TAP = 5


def _whole(label: str, **more: Any) -> forms.IntegerField:
    told = "Write a whole number, such as 2."
    return forms.IntegerField(
        label=label,
        required=False,
        widget=line(inputmode="numeric", size="6"),
        error_messages={"invalid": told},
        **more,
    )


def _kinds() -> list[tuple[str, str]]:
    return [("", "of no kind, or of any"), *((slug, kind.name) for slug, kind in families().items())]


class InTheWorkshopsMoney(PlainForm):
    """A form with a sum in the workshop's own money."""

    def __init__(self, *args: Any, now: Workshop, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            if isinstance(field, MoneyField):
                field.currency, field.locale = now.currency, now.locale


class SpareForm(InTheWorkshopsMoney):
    """A spare: by a few taps, the rest where somebody wants to say it."""

    family = forms.ChoiceField(label="Of which kind of camera", required=False)
    pick = forms.CharField(required=False, max_length=120)
    name = forms.CharField(
        label="Or in your own words", required=False, max_length=120, widget=line(enterkeyhint="done")
    )
    grade = forms.ChoiceField(label="Condition", required=False, choices=_GRADES, widget=Taps)
    place = forms.CharField(
        label="Where it lies",
        required=False,
        max_length=120,
        widget=line(placeholder="drawer 3, tin 2", list="places"),
    )
    maker = forms.CharField(label="Maker", required=False, max_length=80, widget=line())
    model = forms.CharField(label="Model", required=False, max_length=80, widget=line())
    cost = MoneyField(label="What one cost")
    good_from = NumberField(
        label="Of use from",
        such_as="70",
        help_text="The least of what is measured of it, in that unit: below it, it is no use.",
    )
    note = forms.CharField(label="Note", required=False, max_length=500, widget=line())

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        kind = self.fields["family"]
        assert isinstance(kind, forms.ChoiceField)
        kind.choices = _kinds()

    @classmethod
    def of(cls, spare: Spare, now: Workshop) -> SpareForm:
        """As a spare stands."""
        initial = {
            name: getattr(spare, name) for name in ("family", "name", "place", "maker", "model", "note")
        }
        initial |= {
            "pick": spare.part,
            "grade": "" if spare.grade is None else str(spare.grade),
            "cost": spare.cost.figure(now.locale) if spare.cost else "",
            "good_from": "" if spare.good_from is None else f"{spare.good_from:g}",
        }
        return cls(initial=initial, now=now)

    @property
    def details(self) -> SpareDetails:
        """What was said, for the use case; it says what is missing."""
        said = self.cleaned_data
        construction = construction_of(said["family"]) if said["family"] else None
        part = construction.parts.get(said["pick"]) if construction else None
        return SpareDetails(
            name=said["name"] or (part.name if part else ""),
            part=part.id if part else "",
            family=said["family"],
            grade=int(said["grade"]) if said["grade"] else None,
            cost=said["cost"],
            **{name: said[name] for name in ("place", "maker", "model", "note", "good_from")},
        )


class PutForm(SpareForm):
    """A new spare on the shelf, and how many."""

    count = _whole("How many", initial=1)


class MoveForm(PlainForm):
    """How many, for which job, and why."""

    count = _whole("How many", initial=1)
    job = _whole("For job no.")
    reason = forms.CharField(label="Why", required=False, max_length=240, widget=line())


class MeasureForm(PlainForm):
    """What was measured of a spare."""

    what = forms.CharField(label="What", required=False, max_length=60, widget=line(placeholder="output"))
    value = NumberField(label="Reading", such_as="41.5")
    u = NumberField(
        label="May be off by ±",
        such_as="1",
        help_text="Standard uncertainty: nearer two times in three.",
    )
    unit = forms.CharField(label="Unit", required=False, max_length=20, widget=line(placeholder="µA"))
    on = DayField(label="Measured on", help_text="Today if you leave it empty.")
    note = forms.CharField(
        label="How", required=False, max_length=240, widget=line(placeholder="at 1000 lx, across 1 kΩ")
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        for name, says in (("value", "What was read?"), ("u", "How far may it be off?")):
            if name not in self.errors and cleaned.get(name) is None:
                raise ValidationError({name: says})
        return cleaned


class DonorForm(InTheWorkshopsMoney):
    """A camera that is kept for its parts."""

    family = forms.ChoiceField(
        label="What kind of camera",
        error_messages={"required": "Choose the kind of camera: it says what is in it."},
    )
    maker = forms.CharField(label="Maker", required=False, max_length=80, widget=line())
    model = forms.CharField(label="Model", required=False, max_length=80, widget=line())
    serial = forms.CharField(label="Serial number", required=False, max_length=60, widget=line())
    place = forms.CharField(
        label="Where it lies", required=False, max_length=120, widget=line(placeholder="shelf B")
    )
    cost = MoneyField(label="What it cost")
    note = forms.CharField(label="Note", required=False, max_length=500, widget=line())

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        kind = self.fields["family"]
        assert isinstance(kind, forms.ChoiceField)
        kind.choices = [("", "choose"), *_kinds()[1:]]

    @property
    def details(self) -> DonorDetails:
        return DonorDetails(**self.cleaned_data)


class TakeOutForm(PlainForm):
    """A part that comes out of a donor: its condition, and where it is laid."""

    grade = forms.ChoiceField(
        label="Condition of what comes out", required=False, choices=_GRADES, widget=Taps
    )
    place = forms.CharField(
        label="Where it is laid",
        required=False,
        max_length=120,
        widget=line(placeholder="drawer 3", list="places"),
    )

    def details(self, donor: Donor, part: str, name: str) -> SpareDetails:
        """What comes out, for the use case; the rest is the donor's."""
        grade = self.cleaned_data["grade"]
        return SpareDetails(
            name=name,
            part=part,
            family=donor.family,
            grade=int(grade) if grade else None,
            place=self.cleaned_data["place"],
        )


class WorthForm(InTheWorkshopsMoney):
    """What having a part is worth when a job needs it."""

    worth = MoneyField(label="What having one is worth")


class FitsForm(PlainForm):
    """That a part of one camera fits another."""

    family = forms.ChoiceField(label="A part of", required=False)
    part = forms.CharField(label="Which part", required=False, max_length=120, widget=line())
    maker = forms.CharField(label="Only of maker", required=False, max_length=80, widget=line())
    model = forms.CharField(label="Only of model", required=False, max_length=80, widget=line())
    to_family = forms.ChoiceField(label="Fits also", required=False)
    to_part = forms.CharField(label="As which part", required=False, max_length=120, widget=line())
    to_maker = forms.CharField(label="Only of maker", required=False, max_length=80, widget=line())
    to_model = forms.CharField(label="Only of model", required=False, max_length=80, widget=line())
    both_ways = forms.BooleanField(label="And the other way round", required=False, initial=True)
    source = forms.CharField(
        label="Who says so",
        required=False,
        max_length=240,
        widget=line(placeholder="tried it on job 41"),
        help_text="Title, edition and page; or when it was tried, and on what.",
    )
    mark = forms.ChoiceField(
        label="How it is known", choices=MARKS, initial="practice", widget=Taps, required=False
    )
    note = forms.CharField(label="Note", required=False, max_length=240, widget=line())

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("family", "to_family"):
            kind = self.fields[name]
            assert isinstance(kind, forms.ChoiceField)
            kind.choices = [("", "choose"), *_kinds()[1:]]

    def clean(self) -> dict[str, Any]:
        """Parts may be told by their names."""
        from pegwood.anatomy.part_names import NotOnePart, find_part

        cleaned = super().clean() or {}
        for kind, part in (("family", "part"), ("to_family", "to_part")):
            construction = construction_of(cleaned.get(kind) or "")
            if construction is None:
                raise ValidationError({kind: "Choose a kind of camera whose construction is known."})
            try:
                cleaned[part] = find_part(construction, cleaned.get(part) or "").id
            except NotOnePart as reason:
                near = ", ".join(one.name for one in reason.candidates) or "none"
                says = f"No single part of such a camera is called so. Nearest: {near}."
                raise ValidationError({part: says}) from None
        cleaned["mark"] = cleaned.get("mark") or "practice"
        return cleaned

    @property
    def row(self) -> Fitting:
        return Fitting(**self.cleaned_data)
