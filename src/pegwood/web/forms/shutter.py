"""A recording of the shutter: the speed on the dial, what it was recorded with, the file."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from pegwood.book.instrument import marked_speed
from pegwood.book.measuring import ENDINGS, LARGEST_RECORDING
from pegwood.book.models import Gear
from pegwood.book.refusal import Refused
from pegwood.web.forms.arrangement import ArrangementFields
from pegwood.web.forms.fields import PlainForm, line


class RecordingForm(ArrangementFields):
    """One recording of one speed. A marking that is typed goes before one that was tapped."""

    marked = forms.CharField(required=False, max_length=20)
    other_marking = forms.CharField(
        label="Or another marking",
        required=False,
        max_length=20,
        help_text="As the dial has it: 1/75, 2, B.",
        widget=line(**{"class": "figure", "autocapitalize": "off"}),
    )
    gear = forms.ModelChoiceField(
        label="Measured with",
        queryset=Gear.objects.all(),
        required=False,
        empty_label="not said",
        error_messages={"invalid_choice": "That piece of gear is not in the workshop's list."},
    )
    recording = forms.FileField(
        label="The recording",
        max_length=200,
        help_text=f"WAV, FLAC, AIFF or CSV, up to {LARGEST_RECORDING // 1024**3} GB.",
        widget=forms.FileInput(
            attrs={"accept": ",".join([*ENDINGS, "audio/*"]), "data-most": str(LARGEST_RECORDING)}
        ),
        error_messages={
            "required": "Record the shutter or choose a file.",
            "empty": "The file is empty. Choose another, or record it again.",
            "missing": "Record the shutter or choose a file.",
            "invalid": "Record the shutter or choose a file.",
            "max_length": "The file's name is longer than 200 characters. Give it a shorter one.",
        },
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        typed = cleaned.get("other_marking", "").strip()
        text = typed or cleaned.get("marked", "").strip()
        name = "other_marking" if typed else "marked"
        try:
            if not text:
                raise Refused("Tap the speed the dial stood at.")
            cleaned["speed"] = marked_speed(text)
        except Refused as refusal:
            raise ValidationError({name: str(refusal)}) from None
        return cleaned


class SetAsideForm(PlainForm):
    """Why a reading goes off the card."""

    reason = forms.CharField(
        label="Why?",
        max_length=500,
        help_text="Wrong dial, lamp bumped, camera moved …",
        widget=line(),
        error_messages={"required": "Say in a word why: it stands in the diary for good."},
    )
