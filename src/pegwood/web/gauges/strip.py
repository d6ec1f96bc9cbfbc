"""The pages of a developed strip: how the film moved, and where light came in."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms

from pegwood.book.gauging import WAYS
from pegwood.instruments.filmstrip import film_format, format_keys
from pegwood.web.charts import BACK_HEIGHT, STRIP_HEIGHT, back_with_leaks, frames_along
from pegwood.web.forms.fields import NumberField
from pegwood.web.gauges.face import Chart, Face, SaidForm

_ONE_OF = {"invalid_choice": "Choose one of those there are."}
_ALL = tuple((key, film_format(key).name) for key in format_keys())
_PERFORATED = tuple((key, name) for key, name in _ALL if film_format(key).ruler == "perforations")
_FILM = (
    "Film:",
    "It is somebody's picture, often the only one: gloves, by its edges, and no hot lamp under it.",
)
_TAKEN = (
    "Lay the strip flat on a light table, or scan it: from above, phone level, the whole strip.",
    "Both rows of holes must show: they are the ruler. The bare table must not be burnt out white.",
)


class StripForm(SaidForm):
    """Which frames the camera makes, and the ruler where it was measured."""

    format = forms.ChoiceField(
        label="Format", required=False, choices=_ALL, initial="135", error_messages=_ONE_OF
    )
    hole_pitch_mm = NumberField(
        label="Hole to hole, mm",
        help_text="Only of old, shrunken film: measure over 40 holes, divide by 40.",
        min_value=4.4,
        max_value=4.85,
        such_as="4.74",
    )
    image_width_mm = NumberField(
        label="Roll film: picture's width, mm",
        help_text="Across the film, by a calliper. Left open, the format's own.",
        min_value=20,
        max_value=70,
        such_as="56.2",
    )


class LeaksForm(SaidForm):
    """How the film lay in the camera and in the picture."""

    format = forms.ChoiceField(
        label="Format", required=False, choices=_PERFORATED, initial="135", error_messages=_ONE_OF
    )
    travel = forms.ChoiceField(
        label="Film runs, seen from behind",
        error_messages=_ONE_OF,
        required=False,
        choices=(("left to right", "left to right, as most"), ("right to left", "right to left")),
    )
    turned = forms.BooleanField(
        label="Emulsion up: writing is in mirror-writing", required=False, help_text="The dull side is up."
    )
    upside_down = forms.BooleanField(label="The pictures stand on their heads", required=False)


def _strip_charts(result: Mapping[str, Any]) -> tuple[Chart, ...]:
    if not result.get("spacings_m"):
        return ()
    return (
        Chart("spacing", "From frame to frame along the strip, with the limit", frames_along, STRIP_HEIGHT),
    )


def _leak_charts(_result: Mapping[str, Any]) -> tuple[Chart, ...]:
    return (
        Chart("back", "The camera from behind, its back open: where to look", back_with_leaks, BACK_HEIGHT),
    )


FACES = {
    "transport-strip": Face(
        way=WAYS["transport-strip"],
        title="Frame spacing",
        lead="Photograph one developed strip, lit from behind, flat and whole.",
        steps=(
            *_TAKEN,
            "A strip of five or six frames tells most; three spacings are the least for how they scatter.",
            "No strip of this camera? Wind a scrap roll through, fire at a bright wall, develop it.",
            "Roll film has no holes: the picture's own width is the ruler, and it is a coarser one.",
        ),
        cautions=(_FILM,),
        form=StripForm,
        pictures=("Photograph of the strip",),
        charts=_strip_charts,
    ),
    "leaks": Face(
        way=WAYS["leaks"],
        title="Light leaks",
        lead="Photograph one fogged strip, lit from behind, with both its edges. 35 mm film.",
        steps=(
            *_TAKEN,
            "Take the strip with the plainest fog, of three frames or more: what repeats "
            "from frame to frame tells front from back.",
            "Lay it upright and right-reading, or say how it lies: it tells the camera's top from its base.",
            "It gives chances, no certainty. Look at the likeliest place first, with a lamp in the dark.",
        ),
        cautions=(_FILM, ("Lamp:", "Keep it cool when you look for the leak: bellows and foam burn.")),
        form=LeaksForm,
        pictures=("Photograph of the strip",),
        charts=_leak_charts,
    ),
}
