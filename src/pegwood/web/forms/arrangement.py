"""How a recording was made, as a part of the form it is sent by."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from pegwood.book.arrangement import Arrangement
from pegwood.book.refusal import Refused
from pegwood.instruments.shutter import RefusedCurtains, places_from_mm
from pegwood.instruments.shutter.contacts import CAUTION
from pegwood.web.forms.fields import NumberField, PlainForm, line

CHANNELS = (("", "none"), ("0", "channel 0 (left)"), ("1", "channel 1 (right)"))
MORE_CHANNELS = tuple((str(n), f"channel {n}") for n in range(2, 8))
LEAF = ("contact", "widest")
FOCAL_PLANE = ("contact", "places", "gate_mm", "sensor_mm", "gap_mm", "f_number")
#: Given in mm and kept in m.
LENGTHS = ("gate_mm", "sensor_mm", "gap_mm")


class ArrangementFields(PlainForm):
    """What the channels hold; `shutter` says which of it the page offers, and what is refused."""

    contact_caution = CAUTION

    contact = forms.ChoiceField(
        label="Flash contact in",
        required=False,
        choices=CHANNELS + MORE_CHANNELS,
        help_text="Beside the light, in a channel of its own.",
        error_messages={"invalid_choice": "Choose one of the channels, or none."},
    )
    widest = NumberField(
        label="Lens wide open at f/",
        help_text="Recorded at full aperture, it tells the smaller stops. Such as 2.8.",
    )
    places = forms.CharField(
        label="Sensors across the gate, mm",
        required=False,
        max_length=60,
        help_text="One channel each, from the side the curtains start: 0, 18, 36.",
        widget=line(**{"class": "figure"}),
    )
    gate_mm = NumberField(label="Length of the gate, mm", help_text="Along the travel, from place 0.")
    sensor_mm = NumberField(label="Window of a sensor, mm", help_text="Along the travel.")
    gap_mm = NumberField(label="Curtain to film, mm", help_text="With the stop: for the shadow.")
    f_number = NumberField(label="Stop of the lens, f/", help_text="With the distance.")

    def __init__(self, *args: Any, shutter: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.shutter = shutter

    @property
    def offered(self) -> list[forms.BoundField]:
        """Fields that fit the kind of shutter, and any other that holds something."""
        fitting = {"leaf": LEAF, "focal-plane": FOCAL_PLANE}.get(self.shutter, (*LEAF, *FOCAL_PLANE))
        names = [*dict.fromkeys((*LEAF, *FOCAL_PLANE))]
        return [self[name] for name in names if name in fitting or self._says(name)]

    @property
    def says_something(self) -> bool:
        """Whether the part has to be seen: something stands in it, or is wrong with it."""
        return any(self._says(field.name) for field in self.offered)

    def _says(self, name: str) -> bool:
        return self[name].value() not in (None, "") or name in self.errors

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if not self.errors:
            cleaned["arrangement"] = self._arrangement(cleaned)
        return cleaned

    def _arrangement(self, cleaned: dict[str, Any]) -> Arrangement:
        try:
            places = places_from_mm(cleaned["places"]) if cleaned["places"] else ()
        except RefusedCurtains as refusal:
            raise ValidationError({"places": f"{refusal}."}) from None
        lengths = {
            name.replace("_mm", "_m"): None if cleaned[name] is None else cleaned[name] / 1e3
            for name in LENGTHS
        }
        said = Arrangement(
            contact=int(cleaned["contact"]) if cleaned["contact"] else None,
            widest=cleaned["widest"],
            places_m=places,
            f_number=cleaned["f_number"],
            **lengths,
        )
        try:
            said.check(self.shutter)
        except Refused as refusal:
            raise ValidationError({self._field_of(cleaned): str(refusal)}) from None
        return said

    def _field_of(self, cleaned: dict[str, Any]) -> str:
        """Where a refusal of several fields together is told."""
        if any(cleaned[name] not in (None, "") for name in FOCAL_PLANE[1:]):
            return "places"
        return "widest" if cleaned["widest"] is not None else "contact"


def initial_of(arrangement: Arrangement) -> dict[str, Any]:
    """What the form shows of an arrangement: the last one of a job, to be used again."""

    def shown(number: float | None, scale: float = 1.0) -> str:
        return "" if number is None else f"{scale * number:.6g}"

    return {
        "contact": "" if arrangement.contact is None else str(arrangement.contact),
        "widest": shown(arrangement.widest),
        "places": ", ".join(shown(place, 1e3) for place in arrangement.places_m),
        "f_number": shown(arrangement.f_number),
        **{name: shown(getattr(arrangement, name.replace("_mm", "_m")), 1e3) for name in LENGTHS},
    }
