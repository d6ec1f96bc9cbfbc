"""The pages of the take-up spool and of what turns too hard or too lightly."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms

from pegwood.book.gauging import WAYS
from pegwood.instruments.transport.rolls import rolls
from pegwood.instruments.transport.told import CLUTCH
from pegwood.web.charts import spool_turns, torque_pulls
from pegwood.web.forms.fields import NumberField, line
from pegwood.web.gauges.face import Chart, Column, Face, SaidForm


class TakeUpForm(SaidForm):
    """The film, and what drives the spool."""

    each_time = ("counted",)

    drive_turns = NumberField(
        label="Spool's turns for one advance, no film",
        help_text="With the clutch held, so that it can't slip. Left open, the slip is not told.",
        min_value=0.01,
        max_value=20,
        such_as="1.2",
    )
    counted = forms.IntegerField(
        label="Frames at the film's end",
        help_text="After how many the camera stopped.",
        required=False,
        min_value=0,
        max_value=500,
        widget=line(inputmode="numeric", **{"class": "figure"}),
        error_messages={"invalid": "Frames are a whole number, such as 36."},
    )
    roll_name = forms.ChoiceField(
        label="Roll", choices=lambda: [(one, one) for one in rolls()], initial="135-36"
    )
    length_m = NumberField(
        label="Its length, m",
        help_text="Tongue to cassette; left open, an ordinary roll's.",
        min_value=0.2,
        max_value=40,
        such_as="1.6",
    )
    pitch_mm = NumberField(
        label="Frame to frame, mm",
        help_text="Left open: 8 perforations, 38 mm.",
        min_value=5,
        max_value=120,
        such_as="38",
    )
    thickness_mm = NumberField(
        label="Film's thickness, mm",
        help_text="By micrometer; it is most of the uncertainty. Left open: ordinary film's.",
        min_value=0.05,
        max_value=0.5,
        such_as="0.13",
    )


class FrictionForm(SaidForm):
    """Where the thread pulls, and what the balance shows."""

    radius_mm = NumberField(
        label="Radius at which the thread pulls, mm", required=True, min_value=1, max_value=200, such_as="12"
    )
    balance = forms.ChoiceField(
        label="The balance shows", choices=(("N", "newtons"), ("g", "grams")), initial="N"
    )
    core_mm = NumberField(
        label="Spool empty, mm across",
        help_text=f"Of a {CLUTCH} alone, with the full one: what it pulls on the film is then told.",
        min_value=2,
        max_value=60,
        such_as="14",
    )
    full_mm = NumberField(label="Spool full, mm across", min_value=3, max_value=100, such_as="21")

    @property
    def opens(self) -> bool:
        """Until the radius was told once, the fields stand open."""
        return not self.initial.get("radius_mm")

    def clean(self) -> dict[str, Any]:
        """Of both diameters or none, the empty spool the thinner."""
        told = super().clean() or self.cleaned_data
        core, full = told.get("core_mm"), told.get("full_mm")
        if core and full and core >= full:
            self.add_error("full_mm", "A full spool is thicker than an empty one.")
        return told


def _turns_charts(result: Mapping[str, Any]) -> tuple[Chart, ...]:
    return (Chart("turns", "Turns of the spool, frame by frame", _turns),) if result.get("frames") else ()


def _turns(result: Mapping[str, Any], scheme: Any) -> Any:
    beyond = result.get("first_slip_turns")
    return spool_turns(
        turns=[(one["number"], one["turns"]) for one in result["frames"]],
        drive_turns=None if beyond is None else beyond + result["first_turns"],
        scheme=scheme,
    )


def _torque_charts(result: Mapping[str, Any]) -> tuple[Chart, ...]:
    return (Chart("pulls", "Pull by pull", _pulls, 280),) if result.get("pulls_n_m") else ()


def _pulls(result: Mapping[str, Any], scheme: Any) -> Any:
    return torque_pulls(
        pulls_nm=result["pulls_n_m"],
        torque_nm=result["torque_n_m"],
        ends_nm=result["torque_95_n_m"],
        limit_nm=(result.get("limit") or {}).get("high_n_m"),
        scheme=scheme,
    )


_SPRING = (
    "Springs:",
    "The advance may hold a wound spring: know where its force goes before a clutch comes apart.",
)

FACES = {
    "take-up": Face(
        way=WAYS["take-up"],
        title="Take-up spool",
        lead="Calliper over the empty spool, where the film lies. Twice or three times, turned a little.",
        steps=(
            "Diameter and not radius, without pressing: rubber or cork gives way.",
            "Hold the clutch, mark the spool, make one advance without film, count its turns to a tenth.",
            "The first frame needs the most turns. If the drive makes fewer, film backs up before the spool.",
            "Frames counted to the stop against those a roll holds: the counter's and the spacing's check.",
        ),
        cautions=(_SPRING,),
        form=TakeUpForm,
        columns=(Column("core_mm", "Empty spool, mm"),),
        charts=_turns_charts,
    ),
    "friction": Face(
        way=WAYS["friction"],
        title="Torque",
        lead="Thread round the part, spring balance square to it, pull slowly and read. Three pulls or more.",
        steps=(
            "Film and battery out, unless film is part of it. Shutter run down for a clutch, ready to be "
            "cocked for an advance.",
            "Slowly and evenly: a jerk adds what sets the parts moving, a slant loses force.",
            "Read while it turns, not when it breaks loose. Let it turn on and pull again elsewhere.",
        ),
        cautions=(
            _SPRING,
            ("Thread:", "Keep it away from your eyes, and pull no harder than the part is made for."),
        ),
        form=FrictionForm,
        columns=(Column("force_n", "Pull"),),
        marks=(CLUTCH, "rewind", "advance without film", "advance with film", "other part"),
        charts=_torque_charts,
    ),
}
