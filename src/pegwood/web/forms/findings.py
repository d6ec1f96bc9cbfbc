"""A finding: in one line and two taps, or field by field."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms

from pegwood.book.looking import FindingDetails
from pegwood.book.models.bench import GRADES, Finding
from pegwood.book.refusal import Refused
from pegwood.book.trade_tables import materials_named
from pegwood.web.forms.fields import PlainForm, area, line
from pegwood.web.one_line import part_and_condition

_GRADES = [("", "no grade"), *((str(grade), f"{grade} {word}") for grade, word in GRADES.items())]


class FindingLineForm(PlainForm):
    """Part and condition in one line; a tap for the grade; a tap for what is to be done, which sends it."""

    part = forms.CharField(required=False, max_length=120)
    line = forms.CharField(
        label="What you see",
        required=False,
        max_length=360,
        widget=line(enterkeyhint="done", placeholder="part, condition"),
    )
    grade = forms.ChoiceField(label="How bad", required=False, choices=_GRADES)
    outlook = forms.ChoiceField(required=False, choices=Finding.Outlook.choices)

    def __init__(self, *args: Any, parts: Iterable[str] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.parts = tuple(parts)

    @property
    def details(self) -> FindingDetails:
        """What was seen, for the use case; it says what is missing."""
        given = self.cleaned_data
        part, condition = part_and_condition(given["line"], given["part"], self.parts)
        return FindingDetails(
            part=part, condition=condition, grade=_grade(given["grade"]), outlook=given["outlook"]
        )


class FindingForm(PlainForm):
    """A finding, field by field, to be corrected."""

    part = forms.CharField(label="Part", required=False, max_length=120, widget=line())
    condition = forms.CharField(label="Condition", required=False, max_length=240, widget=line())
    place = forms.CharField(label="Where on it", required=False, max_length=120, widget=line())
    grade = forms.ChoiceField(label="Grade", required=False, choices=_GRADES)
    outlook = forms.ChoiceField(label="What is to be done", required=False, choices=Finding.Outlook.choices)
    made_of = forms.CharField(
        label="Made of",
        required=False,
        max_length=240,
        widget=line(autocapitalize="none"),
        help_text="If you know it: brass, nickel plate. Left empty, such parts' usual materials count.",
    )
    note = forms.CharField(label="Note", required=False, max_length=4000, widget=area(3))

    def clean_made_of(self) -> str:
        """What was typed, if the tables know it: a word they do not know is told at its field."""
        typed = str(self.cleaned_data["made_of"])
        try:
            materials_named(typed)
        except Refused as unknown:
            raise forms.ValidationError(str(unknown)) from None
        return typed

    @property
    def details(self) -> FindingDetails:
        """The finding as it should stand."""
        given = {**self.cleaned_data, "grade": _grade(self.cleaned_data["grade"])}
        return FindingDetails(**given)


class StrikeOutForm(PlainForm):
    """Why a finding is taken off the card."""

    reason = forms.CharField(
        label="Why it is struck out",
        max_length=400,
        widget=line(),
        error_messages={"required": "Say why, such as 'wrong camera'. It stays in the diary."},
    )


def _grade(typed: str) -> int | None:
    return int(typed) if typed else None
