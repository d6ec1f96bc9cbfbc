"""The diaphragm's pages: one photograph at a mark, a calliper over the marks, one stop set twice."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms

from pegwood.book.gauging import WAYS
from pegwood.web.charts import errors_by_mark, opening
from pegwood.web.forms.fields import NumberField, line
from pegwood.web.forms.numbers import NumbersField
from pegwood.web.gauges.face import Chart, Column, Face, SaidForm

BLADES = ("Blades:", "Keep off them while the ring moves: a breath of force bends them. Never oil them.")
GLASS = ("Glass:", "Some old glass is radioactive: handle it briefly, not at the eye; wash your hands.")
_TAKING = (
    "Lens at infinity, a diffuser and a lamp behind it, the camera in front on its axis from a metre or "
    "more: what counts is the opening as seen from the front.",
    "Room dark; exposure locked so that the opening is light grey, not white. Picture styles off.",
    "Sharp on the blades' edges, the opening 200 pixels or more across.",
)


class _FocalForm(SaidForm):
    """The lens's focal length."""

    opens = True  # without it there is no error, so that it must be seen

    focal_mm = NumberField(
        label="Focal length, mm",
        help_text="As engraved, or measured.",
        min_value=1,
        max_value=3000,
        such_as="50",
    )
    focal_u_percent = NumberField(
        label="It may be off by, % (k = 1)",
        help_text="Only where it was measured. Left open: as engraved, up to 6 % either way.",
        min_value=0,
        max_value=49,
        such_as="0.5",
    )


class PhotoForm(_FocalForm):
    """Focal length, how large a pixel is, and how much darker the further pictures are."""

    each_time = ("darker_ev",)

    length_mm = NumberField(
        label="A known length in the picture, mm",
        help_text="In the plane of the opening: a scale 20 mm nearer at 1 m makes it 2 % too small.",
        min_value=0.01,
        max_value=9999,
        such_as="20",
    )
    length_px = NumberField(
        label="The same length, pixels",
        help_text="As a picture viewer counts them.",
        min_value=20,
        max_value=100_000,
        such_as="1600",
    )
    mm_per_px = NumberField(
        label="Or mm in a pixel",
        help_text="Where it is known already.",
        min_value=0.0001,
        max_value=9,
        such_as="0.025",
    )
    scale_u_percent = NumberField(
        label="The scale may be off by, % (k = 1)",
        help_text="Left open: a habit of the bench.",
        min_value=0,
        max_value=49,
        such_as="0.2",
    )
    darker_ev = NumbersField(
        label="The darker pictures are darker by, EV",
        help_text="One figure for each, in their order. Left open where there are none.",
        required=False,
        such_as="1 2 3",
        widget=line(),
    )

    def hold_against(self, photographs: int) -> None:
        """Mark the steps if there are not as many as pictures beside the first."""
        told = len(self.cleaned_data.get("darker_ev") or ())
        if "darker_ev" not in self.errors and told != photographs - 1:
            self.add_error(
                "darker_ev",
                f"Darker pictures: {photographs - 1}; figures: {told}. Write one figure for each.",
            )

    def clean(self) -> dict[str, Any]:
        """A scale told once, and wholly."""
        told = super().clean() or self.cleaned_data
        mm, px, per_px = (told.get(name) for name in ("length_mm", "length_px", "mm_per_px"))
        if per_px is not None and (mm is not None or px is not None):
            self.add_error("mm_per_px", "Tell the known length, or this: not both.")
        elif (mm is None) != (px is None) and not self.errors:
            missing = "length_px" if px is None else "length_mm"
            self.add_error(missing, "A known length wants both: millimetres and pixels.")
        return told


class CalliperForm(_FocalForm):
    """Focal length, and what the calliper touched."""

    blades = NumberField(
        label="How many blades",
        help_text="Left open, the opening is taken as round.",
        min_value=3,
        max_value=30,
        such_as="6",
    )
    across = forms.ChoiceField(
        label="The calliper touched",
        required=False,
        choices=(("corners", "corners"), ("flats", "flats")),
        help_text="With an odd number of blades: twice the distance from the middle.",
    )
    calliper_u_mm = NumberField(
        label="A reading may be off by, mm (k = 1)",
        help_text="Left open: a habit of the bench.",
        min_value=0.0001,
        max_value=4.9,
        such_as="0.03",
    )

    def clean_blades(self) -> float | None:
        """A whole number."""
        blades: float | None = self.cleaned_data["blades"]
        if blades is not None and blades != int(blades):
            raise forms.ValidationError("Write a whole number, such as 6.")
        return blades


class ReturnsForm(SaidForm):
    """How the second picture's stop was reached."""

    opens = True

    how = forms.ChoiceField(
        label="The second time it was",
        help_text="Reached by closing: the first picture is then the one reached by opening.",
        choices=(
            ("again", "set again from the same side"),
            ("closing", "reached by closing"),
        ),
    )
    stop = forms.CharField(
        label="The stop it stands at",
        required=False,
        max_length=20,
        widget=line(inputmode="decimal", **{"class": "figure"}),
        help_text="As engraved, for the record.",
    )


def _of_pictures(result: Mapping[str, Any]) -> tuple[Chart, ...]:
    if not result.get("outline_px"):
        return ()
    return (
        Chart(
            "opening", "The opening as it lies in the picture; dashed, the circle of its area", _opening, 380
        ),
    )


def _opening(result: Mapping[str, Any], scheme: Any) -> Any:
    return opening(
        outline=result["outline_px"],
        blades=[
            (one["direction_deg"], one["reach_px"], one["hour"], one["out_of_place"])
            for one in result["edges"]
        ],
        diameter_px=result["diameter_px"],
        scheme=scheme,
    )


def _of_marks(result: Mapping[str, Any]) -> tuple[Chart, ...]:
    if not any(one.get("error_ev") is not None for one in result.get("marks") or ()):
        return ()
    return (Chart("error", "Light against the mark, with the limit: ● opening, ○ closing", _errors),)


def _errors(result: Mapping[str, Any], scheme: Any) -> Any:
    return errors_by_mark(
        marks=[
            (one["exact"], one["marked"], one["error_ev"], one["error_95_ev"], one["direction"] or "")
            for one in result["marks"]
            if one["error_ev"] is not None
        ],
        limits=[
            (one["exact"], (one["limit"] or {}).get("low_ev"), (one["limit"] or {}).get("high_ev"))
            for one in result["marks"]
        ],
        scheme=scheme,
    )


FACES = {
    "iris-photo": Face(
        way=WAYS["iris-photo"],
        title="Diaphragm",
        lead="Light it from behind, photograph the opening from the front, one picture for each mark.",
        steps=(
            *_TAKING,
            "A scale in the plane of the opening, not of the front rim; the camera square to the lens.",
            "The smallest stop shows a late or bent blade best: take that one too.",
            "A telephone bends light's own scale. Where the answer says so, take the same opening again "
            "exposed 1, 2 and 3 EV less, nothing else touched: that tells its curve.",
        ),
        cautions=(BLADES, GLASS),
        form=PhotoForm,
        pictures=(
            "Photograph of the opening",
            "The same, exposed less, if taken",
            "Less again, if taken",
            "Less still, if taken",
        ),
        charts=_of_pictures,
    ),
    "iris-calliper": Face(
        way=WAYS["iris-calliper"],
        title="Diaphragm by calliper",
        lead="Through a loupe, from the front: read the opening's width at each mark, opening and closing.",
        steps=(
            "Read what is seen through the front glass; never reach in with the calliper.",
            "Every mark three times: that tells how well a reading comes back.",
            "Once turning the ring open, once turning it shut: the difference is the ring's play.",
            "With blades that leave corners say how many, and whether corners or flats were touched.",
        ),
        cautions=(BLADES, GLASS),
        form=CalliperForm,
        columns=(
            Column("marked", "Stop"),
            Column("diameter_mm", "Width, mm"),
            Column("direction", "Ring", (("", "–"), ("opening", "opening"), ("closing", "closing"))),
        ),
        charts=_of_marks,
    ),
    "iris-returns": Face(
        way=WAYS["iris-returns"],
        title="Diaphragm set twice",
        lead="Photograph one stop, set it once more, photograph it again; touch nothing else.",
        steps=(
            *_TAKING,
            "Camera and lens on stands; turn the ring away and back, nothing else.",
            "No scale is needed: the two pictures are held against each other.",
        ),
        cautions=(BLADES, GLASS),
        form=ReturnsForm,
        pictures=("The stop, the first time", "The same stop once more"),
        charts=_of_pictures,
    ),
}
