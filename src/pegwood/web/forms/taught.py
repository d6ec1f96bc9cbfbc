"""A word of the bench's own, taught by hand."""

from __future__ import annotations

from typing import Any

from django import forms

from pegwood.book.families import families
from pegwood.book.hearing.parts import part_called
from pegwood.book.models import TaughtWord
from pegwood.web.forms.fields import PlainForm, line
from pegwood.web.forms.widgets import Taps


class TaughtForm(PlainForm):
    """What is said here, and what is meant by it."""

    kind = forms.ChoiceField(
        label="It is",
        choices=TaughtWord.Kind.choices,
        widget=Taps,
        initial=TaughtWord.Kind.PART,
        error_messages={"required": "Tap what it is.", "invalid_choice": "Tap one of the three."},
    )
    said = forms.CharField(label="Said, or heard, here", max_length=120, widget=line(autocapitalize="none"))
    meant = forms.CharField(
        label="What is meant",
        max_length=120,
        widget=line(autocapitalize="none"),
        help_text="The part's name, the condition, or the word that was really said.",
    )
    family = forms.ChoiceField(label="Of a part: in which kind of camera", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choices = [(slug, one.name) for slug, one in families().items()]
        self.fields["family"].choices = [("", "–"), *choices]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """A part's name has to be one of the family."""
        given = super().clean() or {}
        if self.errors or given.get("kind") != TaughtWord.Kind.PART:
            return given
        if not given["family"]:
            self.add_error("family", "Choose the kind of camera whose part it is.")
        elif (part := part_called(given["family"], given["meant"])) is None:
            self.add_error("meant", "No part of that kind of camera is called so, or several are.")
        else:
            given["meant"] = part.id
        return given
