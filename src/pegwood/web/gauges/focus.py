"""The pages of focus: a distance scale, a register, photographs through focus."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms

from pegwood.book.gauging import WAYS
from pegwood.instruments.focus import formats
from pegwood.web.charts import (
    FRAME_HEIGHT,
    FramePoint,
    ScaleMark,
    ShotPoint,
    heights_over_frame,
    scale_on_film,
    through_focus,
)
from pegwood.web.forms.fields import NumberField, line
from pegwood.web.forms.numbers import NumbersField
from pegwood.web.gauges.face import Chart, Column, Face, SaidForm

_SUN = ("Sun:", "A lens is a burning glass. Keep the sun off the bench; look through no lens at it.")


class ScaleForm(SaidForm):
    """The lens, and what its scale counts from."""

    focal_mm = NumberField(label="Lens, mm", required=True, min_value=5, max_value=2000, such_as="50")
    stop = NumberField(
        label="Its widest stop, f/", required=True, min_value=0.5, max_value=128, such_as="2.8"
    )
    film_format = forms.ChoiceField(
        label="Film format",
        help_text="For the blur that passes as sharp.",
        choices=lambda: [(one.key, one.key) for one in dict.fromkeys(formats().values())],
        initial="24x36",
    )
    counted_from = forms.ChoiceField(
        label="Distances count from",
        choices=(("film", "the film's plane"), ("lens", "the lens")),
        initial="film",
    )
    lead_mm = NumberField(
        label="One turn of the helicoid moves the lens, mm",
        help_text="If you know it: turns are then told.",
        min_value=0.01,
        max_value=500,
        such_as="10",
    )
    reading_u_mm = NumberField(
        label="A reading is good to, mm at the film (k = 1)",
        help_text="Left open: a quarter of the depth of focus, or the scatter where marks were read several "
        "times.",
        min_value=0.0001,
        max_value=10,
        such_as="0.01",
    )
    limit_mm = NumberField(
        label="Allowed at the film, mm",
        help_text="Left open: the workshop's share of the depth of focus.",
        min_value=0.0001,
        max_value=10,
        such_as="0.02",
    )

    @property
    def opens(self) -> bool:
        """Until the lens was told once, its fields stand open."""
        return not self.initial.get("focal_mm")


class FlangeForm(SaidForm):
    """What the register should be, and the gauge."""

    nominal_mm = NumberField(
        label="Register should be, mm",
        help_text="By the maker's sheet, to the rails where they were read. Left open: no error is told.",
        min_value=1,
        max_value=500,
        such_as="43.90",
    )
    bar_mm = NumberField(
        label="Bar under the gauge, mm",
        help_text="Its thickness, taken off. Left open: none.",
        min_value=0,
        max_value=200,
        such_as="10",
    )
    gauge_error_mm = NumberField(
        label="Gauge's largest error, mm",
        help_text="As its check says. Left open: 0.01.",
        min_value=0.0001,
        max_value=1,
        such_as="0.01",
    )
    gauge_step_mm = NumberField(
        label="Its smallest step, mm",
        help_text="Left open: 0.01.",
        min_value=0.0001,
        max_value=1,
        such_as="0.01",
    )
    screws_mm = NumbersField(
        label="The mount's three screws, mm",
        help_text="x and y of each, from the middle as seen from behind: shims are then told.",
        such_as="20 0 -10 17 -10 -17",
        widget=line(),
    )
    limit_mm = NumberField(
        label="Allowed, mm",
        help_text="Left open: the workshop's.",
        min_value=0.0001,
        max_value=10,
        such_as="0.02",
    )

    @property
    def opens(self) -> bool:
        """Until a register was told once, its fields stand open."""
        return not self.initial.get("nominal_mm")


class EdgeForm(SaidForm):
    """Where each photograph was taken."""

    each_time = ("at_mm",)
    one_each = ("at_mm",)

    at_mm = NumbersField(
        label="Position of each photograph, mm",
        help_text="As many as photographs, in their order, growing away from the film.",
        required=True,
        such_as="0 0.1 0.2 0.3 0.4 0.5",
        widget=line(),
    )
    at_u_mm = NumberField(
        label="A position is good to, mm (k = 1)",
        help_text="Left open: exact.",
        min_value=0,
        max_value=10,
        such_as="0.005",
    )

    @property
    def opens(self) -> bool:
        """The positions are told each time."""
        return True


def _edge_charts(result: Mapping[str, Any]) -> tuple[Chart, ...]:
    if not any(one["mtf50"] is not None for one in result.get("shots") or ()):
        return ()
    return (Chart("sharpness", "Sharpness over the position, and where it is best", _edge, 340),)


def _edge(result: Mapping[str, Any], scheme: Any) -> Any:
    fit = result["fit"] or {"at": (), "mtf50": (), "left_out": ()}
    return through_focus(
        [
            ShotPoint(one["at"], one["mtf50"], one["mtf50_95"][0], one["mtf50_95"][1], n in fit["left_out"])
            for n, one in enumerate(result["shots"])
            if one["mtf50"] is not None
        ],
        curve=[
            (at, height)
            for at, height in zip(fit["at"], fit["mtf50"], strict=True)
            if at is not None and height is not None
        ],
        best=result["best"],
        ends=result["best_95"],
        scheme=scheme,
    )


def _scale_charts(result: Mapping[str, Any]) -> tuple[Chart, ...]:
    if not result.get("marks"):
        return ()
    return (Chart("film", "Error at the film, mark by mark, and what the stop forgives", _scale, 340),)


def _scale(result: Mapping[str, Any], scheme: Any) -> Any:
    marks = [
        ScaleMark(
            0.0 if one["infinity"] else 1 / one["marked_m"],
            one["error_m"],
            one["error_95_m"][0],
            one["error_95_m"][1],
            one["depth_of_focus_m"],
            one["limit"]["high_m"],
        )
        for one in result["marks"]
    ]
    return scale_on_film(marks, scheme=scheme)


def _flange_charts(result: Mapping[str, Any]) -> tuple[Chart, ...]:
    points = result["surfaces"][0]["points"] if result.get("surfaces") else ()
    if len(points) < 2:
        return ()  # of one point the figure says all
    against = "the nominal register" if result["error_m"] is not None else "their mean"
    caption = f"Each point against {against}, mm; empty is shallower"
    return (Chart("points", caption, _flange, FRAME_HEIGHT),)


def _flange(result: Mapping[str, Any], scheme: Any) -> Any:
    first = result["surfaces"][0]
    zero = first["distance_m"] - (result["error_m"] or 0.0)
    return heights_over_frame(
        [
            FramePoint(
                one["place_m"][0],
                one["place_m"][1],
                one["depth_m"] - zero,
            )
            for one in first["points"]
        ],
        allowed_m=(result.get("limit") or {}).get("high_m"),
        screws_m=[(one["place_m"][0], one["place_m"][1]) for one in result["screws"]],
        scheme=scheme,
    )


FACES = {
    "focus-scale": Face(
        way=WAYS["focus-scale"],
        title="Distance scale",
        lead="Set a mark, find where it is sharp. Infinity, the nearest, one between; each twice.",
        steps=(
            "Ground glass on the rails, dull side to the lens, held flat; widest stop, loupe, shutter on T.",
            "Set the mark and move the target until it is sharp; the distance by tape from where the scale "
            "counts. Infinity by collimator: a far roof is too near for a long lens.",
            "inf is the infinity stop, 10 ft a distance in feet. Come to each mark from the same side.",
            "Where a collimator or a dial gauge tells the error at the film at once, write that instead: "
            "plus is the lens too far from the film.",
            "Three marks or more tell a wrong shim from a wrong thread start.",
        ),
        cautions=(
            _SUN,
            ("Glass:", "A ground glass cuts, and its edge scratches the rails: break its edges first."),
            ("Shims:", "Note how each shim and thread start lay before anything is turned."),
        ),
        form=ScaleForm,
        columns=(
            Column("marked_m", "Mark, m"),
            Column("found_m", "Sharp at, m"),
            Column("error_mm", "or off, mm"),
        ),
        charts=_scale_charts,
    ),
    "focus-flange": Face(
        way=WAYS["focus-flange"],
        title="Register",
        lead="Gauge on the flange, read down to the rails. Four points, each twice, lifted in between.",
        steps=(
            "Flange and rails wiped clean; the gauge on the flange, or on a flat bar across it; set to zero "
            "on a surface plate.",
            "Shutter open on T, curtains out of the way. Four points round the picture, far apart: a tilt "
            "is then told as well.",
            "x to the right, y up, in mm from the middle as seen from behind; left open everywhere, it is "
            "one point.",
            "With the back closed and a flat plate in place, read to the pressure plate too: the "
            "film's channel is the difference.",
        ),
        cautions=(
            ("Curtains:", "A gauge's foot cuts cloth and dents blades: see that they are out of the way."),
            ("Glass:", "Keep the foot off mirrors, ground glass and plates that a spring holds."),
            ("Shims:", "Note how each lay before anything is lifted; the maker's sheet comes first."),
        ),
        form=FlangeForm,
        columns=(
            Column("depth_mm", "Depth, mm"),
            Column("x_mm", "x, mm"),
            Column("y_mm", "y, mm"),
            Column("to", "Down to", (("", "rails"), ("plate", "plate"))),
        ),
        charts=_flange_charts,
    ),
    "focus-edge": Face(
        way=WAYS["focus-edge"],
        title="Sharpness through focus",
        lead="A slanted black edge, photographed at four positions or more on both sides of best focus.",
        steps=(
            "A straight edge between black and white, turned by about 5 degrees; both sides plain, neither "
            "white nor black altogether.",
            "Lens wide open, camera and target on stands; move one of the two, or the lens, by known steps "
            "right through best focus. Seven over a way on which sharpness falls to a third are good.",
            "No zooming and no sharpening between them, the edge in the same place.",
            "Choose all photographs at once; write their positions in the same order. The answer says which "
            "stood where.",
        ),
        cautions=(_SUN,),
        form=EdgeForm,
        pictures=("Photographs, four or more",),
        charts=_edge_charts,
    ),
}
