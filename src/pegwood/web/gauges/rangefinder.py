"""The rangefinder's page."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms

from pegwood.book.gauging import WAYS
from pegwood.instruments.rangefinder import circles
from pegwood.web.charts import FinderPoint, finder_on_film
from pegwood.web.forms.fields import NumberField, line
from pegwood.web.forms.numbers import NumbersField
from pegwood.web.gauges.face import Chart, Column, Face, SaidForm

_NEEDED = "Without this nothing can be reckoned. Fill it in."


class RangefinderForm(SaidForm):
    """Finder and lens, and how the readings were taken."""

    each_time = ("vertical_arcmin",)

    kind = forms.ChoiceField(
        label="Finder",
        choices=(
            ("coupled", "coupled to the lens"),
            ("uncoupled", "uncoupled, with a scale of its own"),
            ("screen", "split-image screen"),
        ),
        initial="coupled",
    )
    magnification = NumberField(
        label="Finder magnifies",
        help_text="Both eyes open on a ruler: the finder's image against the other eye's.",
        required=True,
        min_value=0.05,
        max_value=60,
        such_as="0.7",
    )
    base_mm = NumberField(
        label="Base, window to window, mm", help_text="Not for a screen.", max_value=1000, such_as="40"
    )
    prism_deg = NumberField(
        label="Screen's wedge angle, °",
        help_text="For a split-image screen alone.",
        max_value=45,
        such_as="8",
    )
    focal_mm = NumberField(label="Lens, mm", required=True, min_value=5, max_value=2000, such_as="50")
    stop = NumberField(
        label="Its widest stop, f/", required=True, min_value=0.5, max_value=128, such_as="2.8"
    )
    film_format = forms.ChoiceField(
        label="Film format",
        help_text="For the blur that passes as sharp.",
        choices=lambda: [(one, one) for one in circles()],
        initial="135",
    )
    measured_from = forms.ChoiceField(
        label="Distances count from",
        choices=(("film", "the film's plane"), ("lens", "the lens")),
        initial="film",
    )
    true_mm = NumberField(
        label="Tape good to, mm",
        help_text="Standard uncertainty of a true distance. Left open: exact.",
        min_value=0,
        max_value=1000,
        such_as="5",
    )
    nearest = forms.CharField(
        label="Nearest mark of the scale",
        help_text="Such as 1 or 3 ft. A reading beyond it is then refused as a slip.",
        required=False,
        max_length=20,
        widget=line(**{"class": "figure"}),
    )
    vertical_arcmin = NumbersField(
        label="Moving image higher by, arc minutes",
        help_text="Against a scale, as seen without the finder: 1 mm at 1 m is 3.4. Several with spaces; "
        "lower with a minus.",
        such_as="4 5 4.5",
    )
    screw_dpt_per_turn = NumberField(
        label="One turn of the infinity screw does, dpt",
        help_text="If you have tried: turns are then told.",
        min_value=-100,
        max_value=100,
        such_as="0.1",
    )
    gain_per_turn = NumberField(
        label="One turn of the near adjuster does to the gain",
        min_value=-100,
        max_value=100,
        such_as="0.02",
    )

    lever_ratio = NumberField(
        label="Mirror turns for a turn of the lever",
        help_text="Left open, an ordinary lever's: 0.2. For how screw and adjuster disturb each other.",
        min_value=0.001,
        max_value=100,
        such_as="0.2",
    )
    lever_tilt_deg = NumberField(
        label="Follower's arm off square at infinity, °",
        help_text="Left open: 5.",
        min_value=-59,
        max_value=59,
        such_as="5",
    )

    @property
    def opens(self) -> bool:
        """Until the finder was told once, its fields stand open."""
        return not self.initial.get("magnification")

    def clean(self) -> dict[str, Any]:
        """A screen has wedges, another finder a base."""
        told = super().clean() or self.cleaned_data
        needed = "prism_deg" if told.get("kind") == "screen" else "base_mm"
        if needed not in self.errors and not told.get(needed):
            self.add_error(needed, _NEEDED)
        return told


def _charts(result: Mapping[str, Any]) -> tuple[Chart, ...]:
    if not result.get("points"):
        return ()
    return (Chart("film", "Error on the film over the distance, and what the stop forgives", _film, 340),)


def _film(result: Mapping[str, Any], scheme: Any) -> Any:
    return finder_on_film(
        points=[(one["true_dpt"], one["film_error_m"]) for one in result["points"]],
        curve=[
            FinderPoint(
                one["true_dpt"],
                one["film_error_m"],
                one["film_low_m"],
                one["film_high_m"],
                one["base_film_m"],
            )
            for one in result["curve"]
        ],
        limit_m=result["limit_m"],
        scheme=scheme,
    )


FACES = {
    "rangefinder": Face(
        way=WAYS["rangefinder"],
        title="Rangefinder",
        lead="Images together at a known distance, read the scale. Infinity, the nearest, two between.",
        steps=(
            "The lens's own infinity first: set to a lens that stands wrong, it is wrong on every other.",
            "Camera on a stand, an upright edge in good light, the distance by tape from the film's plane.",
            "Equal steps in dioptres: infinity, 3 m, 1.5 m, 1 m. Each twice, come to from both sides: play "
            "shows as scatter.",
            "inf is infinity, 10 ft a distance in feet. A lens at its stop before the images meet is "
            "written as beyond.",
            "After turning, read again and mark the old readings as before: how fast it closes in is then "
            "measured, and no longer guessed.",
        ),
        cautions=(
            ("Sun:", "Never aim at it, through finder, lens or collimator."),
            (
                "Mirrors:",
                "A half-silvered coat comes off with a swab. Blow dust off; touch nothing that is coated.",
            ),
            (
                "Screws:",
                "Soften their seal, count the turns from where each stood, and write that down first.",
            ),
        ),
        form=RangefinderForm,
        columns=(
            Column("true_m", "True, m"),
            Column("shown_m", "Shown, m"),
            Column("round", "Round", (("", "now"), ("before", "before"))),
        ),
        charts=_charts,
    ),
}
