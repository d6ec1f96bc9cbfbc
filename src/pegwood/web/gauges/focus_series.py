"""The pages of longer series through focus: tilt from five places, and how focus moves with the stop."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from django import forms

from pegwood.book.gauging import WAYS
from pegwood.instruments.focus import formats
from pegwood.web.charts import (
    FRAME_HEIGHT,
    FramePoint,
    StopPoint,
    heights_over_frame,
    shift_by_stop,
)
from pegwood.web.forms.fields import NumberField, line
from pegwood.web.forms.numbers import NumbersField
from pegwood.web.gauges.face import Chart, Face, SaidForm

_SUN = ("Sun:", "A lens is a burning glass. Keep the sun off the bench; look through no lens at it.")
_SHIMS = ("Shims:", "Note how each lay before anything is lifted; the maker's sheet comes first.")
_AT_HELP = "As many as photographs, in their order, growing away from the film."


def _format() -> forms.ChoiceField:
    return forms.ChoiceField(
        label="Film format",
        help_text="For the blur that passes as sharp.",
        choices=lambda: [(one.key, one.key) for one in dict.fromkeys(formats().values())],
        initial="24x36",
    )


def _at_u() -> NumberField:
    return NumberField(
        label="A position is good to, mm (k = 1)",
        help_text="Left open: exact.",
        min_value=0,
        max_value=10,
        such_as="0.005",
    )


class TiltForm(SaidForm):
    """Where each photograph was taken, and what it shows."""

    opens = True
    each_time = ("at_mm",)
    one_each = ("at_mm",)

    at_mm = NumbersField(
        label="Position of each photograph, mm",
        help_text=_AT_HELP,
        required=True,
        such_as="0 0.1 0.2 0.3 0.4 0.5",
        widget=line(),
    )
    film_format = _format()
    stop = NumberField(
        label="At stop, f/",
        help_text="Left open: the tilt is told and not judged.",
        min_value=0.5,
        max_value=128,
        such_as="2.8",
    )
    shows = forms.ChoiceField(
        label="The photographs show",
        choices=(("scene", "the scene upright: a sensor, a scan"), ("glass", "a ground glass, from behind")),
        initial="scene",
    )
    width_mm = NumberField(
        label="Their width on the film, mm",
        help_text="Left open: the format's.",
        min_value=1,
        max_value=500,
        such_as="36",
    )
    at_u_mm = _at_u()
    screws_mm = NumbersField(
        label="The three screws, mm",
        help_text="x and y of each, from the middle as seen from behind: shims are then told.",
        such_as="20 0 -10 17 -10 -17",
        widget=line(),
    )
    limit_mm = NumberField(
        label="Allowed in a corner, mm",
        help_text="Left open: the workshop's share of the depth of focus.",
        min_value=0.0001,
        max_value=10,
        such_as="0.02",
    )


class StopsForm(SaidForm):
    """Where and at which stop each photograph was taken."""

    opens = True
    each_time = ("at_mm", "stops")
    one_each = ("at_mm", "stops")

    at_mm = NumbersField(
        label="Position of each photograph, mm",
        help_text=_AT_HELP,
        required=True,
        such_as="0 0.1 0.2 0.3 0 0.1 0.2 0.3",
        max_length=1000,
        widget=line(),
    )
    stops = NumbersField(
        label="Stop of each photograph, f/",
        help_text="As many again, in the same order.",
        required=True,
        such_as="2 2 2 2 5.6 5.6 5.6 5.6",
        max_length=1000,
        widget=line(),
    )
    film_format = _format()
    at_u_mm = _at_u()


def _tilt_charts(result: Mapping[str, Any]) -> tuple[Chart, ...]:
    if sum(one["best"] is not None for one in result.get("places") or ()) < 3:
        return ()
    caption = "Best focus over the frame against its mean, mm; empty is nearer the film"
    return (Chart("frame", caption, _tilt, FRAME_HEIGHT),)


def _tilt(result: Mapping[str, Any], scheme: Any) -> Any:
    told = [one for one in result["places"] if one["best"] is not None]
    mean = math.fsum(one["best"] for one in told) / len(told)
    limit = result.get("limit") or {}
    return heights_over_frame(
        [
            FramePoint(
                one["place_m"][0],
                one["place_m"][1],
                (one["best"] - mean) * 1e-3,
            )
            for one in told
        ],
        allowed_m=limit.get("high_m"),
        screws_m=[(one["place_m"][0], one["place_m"][1]) for one in result["screws"]],
        scheme=scheme,
    )


def _stop_charts(result: Mapping[str, Any]) -> tuple[Chart, ...]:
    if not result.get("stops"):
        return ()
    return (Chart("stops", "Where focus goes as the lens is stopped down, and what is allowed", _stops),)


def _stops(result: Mapping[str, Any], scheme: Any) -> Any:
    points = [
        StopPoint(
            one["f_number"],
            one["shift_m"],
            one["shift_95_m"][0],
            one["shift_95_m"][1],
            one["limit"]["high_m"],
        )
        for one in result["stops"]
    ]
    return shift_by_stop(points, widest=min(one["f_number"] for one in result["shots"]), scheme=scheme)


FACES = {
    "focus-tilt": Face(
        way=WAYS["focus-tilt"],
        title="Tilt over the frame",
        lead="Five slanted edges, middle and corners, photographed through focus at four positions or more.",
        steps=(
            "A flat target square to the camera: black squares on white, turned by about 5 degrees, one in "
            "the middle of the picture and one in each corner, each wholly within its ninth.",
            "Lens wide open, all on stands; move lens or target by known steps right through best focus at "
            "all five. Seven positions are good.",
            "A sensor where the film lies, or a ground glass photographed square from behind. Nothing is "
            "zoomed or moved between them.",
            "Choose all photographs at once; write their positions in the same order.",
        ),
        cautions=(_SUN, _SHIMS),
        form=TiltForm,
        pictures=("Photographs, four or more",),
        charts=_tilt_charts,
    ),
    "focus-stops": Face(
        way=WAYS["focus-stops"],
        title="Focus shift with the stop",
        lead="A slanted edge through focus at four positions or more, wide open and again stopped down.",
        steps=(
            "As for sharpness through focus: a black edge on white, turned by about 5 degrees, in the middle "
            "of the picture; lens and target on stands.",
            "The whole way through focus at the widest stop, then at each stop that is used; the positions "
            "may differ.",
            "Choose all photographs at once; write position and stop of each in the same order.",
        ),
        cautions=(_SUN,),
        form=StopsForm,
        pictures=("Photographs, eight or more",),
        charts=_stop_charts,
    ),
}
