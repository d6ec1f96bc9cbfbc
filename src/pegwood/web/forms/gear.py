"""A calibration of the gear: what was recorded, what it is held against, the file."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from pegwood.book.calibrating import GOOD_FOR_MONTHS, LARGEST_CALIBRATION, SAVED, Source
from pegwood.book.refusal import Refused
from pegwood.book.taken import ENDINGS
from pegwood.web.forms.fields import DayField, NumberField, PlainForm
from pegwood.web.forms.widgets import Taps

WHATS = (
    ("tone", "a steady tone"),
    ("pulses", "a time signal"),
    ("torch", "a torch on and off"),
    ("saved", "saved before"),
)
CHANNELS = [("0", "0 (left)"), ("1", "1 (right)"), *((str(n), str(n)) for n in range(2, 8))]


class CalibrationForm(PlainForm):
    """One calibration, from a recording or from what was saved of one."""

    what = forms.ChoiceField(
        label="What it is made from",
        choices=WHATS,
        widget=Taps,
        help_text="Tone and time signal tell the clock, the torch tells the input.",
        error_messages={"required": "Tap what was recorded.", "invalid_choice": "Tap one of the four."},
    )
    reference = NumberField(
        label="Its true figure",
        such_as="1000",
        help_text="Tone: in Hz. Time signal: s from pulse to pulse.",
    )
    within_ppm = NumberField(
        label="Known within, millionths",
        such_as="1",
        help_text="A time signal off the air: 1 (practice).",
    )
    channel = forms.ChoiceField(label="In channel", choices=CHANNELS, initial="0", required=False)
    made_on = DayField(label="Recorded on", help_text="Today if you leave it empty.")
    due_on = DayField(
        label="Good until", help_text=f"{GOOD_FOR_MONTHS} months if you leave it empty (practice)."
    )
    file = forms.FileField(
        label="The file",
        max_length=200,
        help_text="The recording (WAV, FLAC, AIFF, CSV), or what the command saved (JSON).",
        widget=forms.FileInput(
            attrs={"accept": ",".join([*ENDINGS["light"], *SAVED]), "data-most": str(LARGEST_CALIBRATION)}
        ),
        error_messages={
            "required": "Choose the recording, or what was saved of a calibration.",
            "empty": "The file is empty. Choose another, or record it again.",
            "max_length": "The file's name is longer than 200 characters. Give it a shorter one.",
        },
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if not self.errors:
            source = Source(
                what=cleaned["what"],
                reference=cleaned["reference"],
                within_ppm=cleaned["within_ppm"],
                channel=int(cleaned["channel"] or 0),
            )
            try:
                source.check()
            except Refused as refusal:
                field = "within_ppm" if cleaned["reference"] else "reference"
                raise ValidationError({field: str(refusal)}) from None
            cleaned["source"] = source
        return cleaned
