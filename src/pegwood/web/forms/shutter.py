"""A recording of the shutter: the speed on the dial, what it was recorded with, the file."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from pegwood.book.arrangement import Arrangement
from pegwood.book.instrument import marked_speed
from pegwood.book.measuring import LARGEST_RECORDING
from pegwood.book.models import Gear
from pegwood.book.refusal import Refused
from pegwood.book.taken import ENDINGS, Taken, region_of
from pegwood.instruments.video import ADD_IT, can_read_video
from pegwood.web.forms.arrangement import ArrangementFields
from pegwood.web.forms.fields import NumberField, PlainForm, line
from pegwood.web.forms.widgets import Taps

HOLDS = (("light", "light"), ("sound", "sound"), ("video", "a video"))
NOT_LISTED = {"invalid_choice": "That piece of gear is not in the workshop's list."}
MIRRORS = (
    ("not told", "not said"),
    ("none", "there is none"),
    ("locked", "locked up"),
    ("moving", "strokes as well"),
)


class FilmFields(PlainForm):
    """What a film is read by and does not tell itself."""

    captured_fps = NumberField(
        label="Filmed at, frames a second",
        such_as="240",
        help_text="What the phone was set to, such as 240.",
    )
    region = forms.CharField(
        label="Part of the picture, pixels",
        required=False,
        max_length=60,
        help_text="x, y, width, height; found by itself if you leave it empty.",
        widget=line(**{"class": "figure"}),
    )

    def _film(self, cleaned: dict[str, Any]) -> Taken:
        try:
            region = region_of(cleaned["region"]) if cleaned.get("region") else None
        except Refused as refusal:
            raise ValidationError({"region": str(refusal)}) from None
        return Taken(by="video", captured_fps=cleaned.get("captured_fps"), region=region)


class FilmForm(FilmFields):
    """The same of a film that is kept: it is read again, and not sent again."""

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        cleaned["taken"] = self._film(cleaned)
        return cleaned


class RecordingForm(FilmFields, ArrangementFields):
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
        error_messages=NOT_LISTED,
    )
    recorded_with = forms.ModelChoiceField(
        label="Recorded with",
        queryset=Gear.objects.all(),
        required=False,
        empty_label="not said",
        help_text="Microphone and recorder, or phone, if they are in the workshop's list.",
        error_messages=NOT_LISTED,
    )
    taken_by = forms.ChoiceField(
        label="The recording holds",
        choices=HOLDS,
        required=False,
        initial="light",
        widget=Taps,
        help_text="Light is better in every case. Sound and video tell slow speeds only, less certain.",
        error_messages={"invalid_choice": "Tap light, sound or a video."},
    )
    mirror = forms.ChoiceField(
        label="A mirror",
        choices=MIRRORS,
        required=False,
        initial="not told",
        help_text="Its strokes pass for the shutter's: lock it up and say so.",
        error_messages={"invalid_choice": "Choose one of the four."},
    )
    recording = forms.FileField(
        label="The recording",
        max_length=200,
        help_text=(
            "Light: WAV, FLAC, AIFF or CSV. Sound: WAV, FLAC or AIFF. Video: as the phone stored it. "
            f"Up to {LARGEST_RECORDING // 1024**3} GB."
        ),
        widget=forms.FileInput(
            attrs={
                "accept": ",".join([*dict.fromkeys(e for by in ENDINGS.values() for e in by), "audio/*"]),
                "data-most": str(LARGEST_RECORDING),
            }
        ),
        error_messages={
            "required": "Record the shutter or choose a file.",
            "empty": "The file is empty. Choose another, or record it again.",
            "missing": "Record the shutter or choose a file.",
            "invalid": "Record the shutter or choose a file.",
            "max_length": "The file's name is longer than 200 characters. Give it a shorter one.",
        },
    )

    @property
    def video_is_missing(self) -> str:
        """What has to be added before a video can be read; empty where it can."""
        return "" if can_read_video() else f"{ADD_IT}."

    def _arrangement(self, cleaned: dict[str, Any]) -> Arrangement:
        # What is said of light channels stays in the form, out of sight, while another kind is sent.
        return super()._arrangement(cleaned) if cleaned.get("taken_by") in ("", "light") else Arrangement()

    def _taken(self, cleaned: dict[str, Any]) -> Taken:
        by = cleaned.get("taken_by") or "light"
        if by == "sound":
            return Taken(by="sound", mirror=cleaned.get("mirror") or "not told")
        return Taken() if by == "light" else self._film(cleaned)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        cleaned["taken"] = taken = self._taken(cleaned)
        if taken.by != "light":  # the light gate stays chosen, out of sight: it heard nothing of this
            cleaned["gear"] = cleaned.get("recorded_with")
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


def initial_of_taken(taken: Taken) -> dict[str, Any]:
    """What the form shows of a recording's kind: the last one of a job, to be used again."""
    return {
        "taken_by": taken.by,
        "mirror": taken.mirror,
        "captured_fps": "" if taken.captured_fps is None else f"{taken.captured_fps:g}",
        "region": "" if taken.region is None else ",".join(map(str, taken.region)),
    }
