"""A photograph of a screw on a scale."""

from __future__ import annotations

from typing import Any

from django import forms

from pegwood.web.forms.fields import NumberField, PlainForm
from pegwood.web.forms.widgets import Taps

ORIGINS = (
    ("", "not known"),
    ("japan", "Japan"),
    ("continent", "the Continent"),
    ("britain", "Britain"),
    ("america", "America"),
    ("watch", "a watch"),
)
CRESTS = (("", "not seen"), ("flat", "flat"), ("rounded", "rounded"))


class ScrewForm(PlainForm):
    """The picture, and how much of a ruler fills its width at that distance."""

    picture = forms.FileField(
        label="The screw alone, from the side, on a light ground",
        error_messages={"required": "Which photograph? Take one or choose one."},
        widget=forms.FileInput(attrs={"accept": "image/*"}),
    )
    width_mm = NumberField(
        label="Millimetres that fill the picture's width",
        help_text="Photograph a ruler from the same distance first, and count.",
        such_as="18.5",
        required=True,
    )
    u_width_mm = NumberField(
        label="Read to about, mm", such_as="0.2", initial="0.2", help_text="One standard uncertainty."
    )
    origin = forms.ChoiceField(
        label="Where the camera was made", required=False, choices=ORIGINS, widget=Taps
    )
    crest = forms.ChoiceField(label="The crests, under a loupe", required=False, choices=CRESTS, widget=Taps)

    def clean_width_mm(self) -> float:
        width: float | None = self.cleaned_data["width_mm"]
        if width is None or not 1 <= width <= 500:
            raise forms.ValidationError("A picture of a screw shows between 1 and 500 mm, such as 18.5.")
        return width

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        width, unsure = cleaned.get("width_mm"), cleaned.get("u_width_mm")
        if width and unsure is not None and not 0 <= unsure < 0.2 * width:
            self.add_error("u_width_mm", "That is no reading of a ruler. Give it in mm, such as 0.2.")
        return cleaned
