"""The pages of a lens's glass: one photograph in side light, before and after cleaning, veiling glare."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms

from pegwood.book.gauging import WAYS
from pegwood.web.charts import shares
from pegwood.web.forms.fields import line
from pegwood.web.gauges.face import Chart, Face, SaidForm

CAUTIONS = (
    ("Glass:", "Some old glass is radioactive: no grinding, no polishing; wash your hands."),
    ("Fungus:", "It gets about: gloves, no breathing in, not beside other lenses."),
    ("Sun:", "Never look through a lens at the sun or a lamp."),
)
CLEANING = ("Cleaning:", "Coatings and cement come off: try a solvent at the rim first.")
_TAKING = (
    "Lens on black, one lamp from the side, not mirrored in the glass.",
    "Exposure and focus locked; clean glass dark grey, not black.",
    "For haze a matt white card beside the lens, in the same light.",
)


def _place(label: str, help_text: str) -> forms.CharField:
    return forms.CharField(
        label=label, help_text=help_text, required=False, max_length=60, widget=line(**{"class": "figure"})
    )


class SideForm(SaidForm):
    """What it is, and where the glass lies."""

    opens = True

    kind = forms.ChoiceField(
        label="What it is",
        required=False,
        choices=(
            ("marks", "marks: dust, scratches, drops"),
            ("fungus", "fungus"),
            ("separation", "cement let go"),
            ("cement", "cement yellowed or crazed"),
            ("haze", "haze"),
        ),
        help_text="As you see it: no picture can tell. It says by which figures the glass is graded.",
    )
    white = _place("Where the white card is, pixels", "Only for haze: left, top, width, height.")
    glass = _place("Where the glass is, pixels", "Only where its rim is not found: x, y, radius.")


class GlareForm(SaidForm):
    """Where the patch is."""

    patch = _place(
        "Where the black patch is, pixels", "Only where it is not found: left, top, width, height."
    )


def _charts(result: Mapping[str, Any]) -> tuple[Chart, ...]:
    if not result.get("before"):
        return ()
    caption = "Marked before and after, of the glass" if result.get("after") else "Marked, of the glass"
    return (Chart("shares", caption, _shares, 240),)


def _shares(result: Mapping[str, Any], scheme: Any) -> Any:
    sides = [("before", result["before"]), ("after", result.get("after"))]
    if not result.get("after"):
        sides = [("now", result["before"])]
    return shares(
        [(label, one["share_percent"], one["share_95_percent"]) for label, one in sides if one], scheme=scheme
    )


def _glare_charts(result: Mapping[str, Any]) -> tuple[Chart, ...]:
    if result.get("camera_percent") is None:
        return ()  # a single figure needs no picture
    return (Chart("glare", "Black over white: the lens, and what the camera adds", _glare, 240),)


def _glare(result: Mapping[str, Any], scheme: Any) -> Any:
    named = (("lens", "veiling_glare"), ("both", "with_camera"), ("camera", "camera"))
    return shares(
        [(label, result[f"{name}_percent"], result[f"{name}_95_percent"]) for label, name in named],
        of="% of the white's light",
        scheme=scheme,
    )


FACES = {
    "glass-side": Face(
        way=WAYS["glass-side"],
        title="Glass in side light",
        lead="Lens on black, lamp from the side, one photograph: what scatters light is bright.",
        steps=_TAKING,
        cautions=CAUTIONS,
        form=SideForm,
        pictures=("Photograph in side light",),
        charts=_charts,
    ),
    "glass-cleaned": Face(
        way=WAYS["glass-cleaned"],
        title="Glass before and after cleaning",
        lead="Two photographs from one stand, before and after: what is gone, and what has come.",
        steps=(
            *_TAKING,
            "One stand, nothing moved; rim and engraving in both pictures: they tell where the second "
            "lies on the first.",
        ),
        cautions=(*CAUTIONS, CLEANING),
        form=SideForm,
        pictures=("Before cleaning", "After cleaning"),
        charts=_charts,
    ),
    "glass-glare": Face(
        way=WAYS["glass-glare"],
        title="Veiling glare",
        lead="Photograph a black hole in an evenly lit white ground, through the lens.",
        steps=(
            "A box lined black behind a hole in white card; the card evenly lit, the hole dark.",
            "White below full: where it is cut off no figure is told.",
            "The same once more with the camera alone, or through a lens known to be clean: its own glare is "
            "taken off.",
        ),
        cautions=CAUTIONS[::2],
        form=GlareForm,
        pictures=("Through the lens", "By the camera alone, if taken"),
        charts=_glare_charts,
    ),
}
