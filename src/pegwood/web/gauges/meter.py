"""The exposure meter's pages: one with a scale, and one whose needle is matched."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms

from pegwood.book.gauging import WAYS
from pegwood.instruments.meter import systems
from pegwood.web.charts import error_over
from pegwood.web.forms.fields import NumberField
from pegwood.web.gauges.face import Chart, Column, Face, SaidForm

#: In what the reference is told: the column it is kept in, and what ISO 2720's constant then is.
REFERENCE = {
    "ev": ("EV", "reference_ev", ""),
    "cd_m2": ("cd/m², of a lit surface", "reference_cd_m2", "k"),
    "lx_flat": ("lx, of light on a flat receptor", "reference_lx", "c"),
    "lx_dome": ("lx, of light on a dome", "reference_lx", "c"),
}
LIGHTS = (
    ("", "daylight, or nothing taken off"),
    ("A", "filament lamp"),
    ("2700K", "warm filament lamp, 2700 K"),
    ("3200K", "halogen lamp, 3200 K"),
    ("LED-B3", "white LED, about 4100 K"),
    ("D65", "daylight lamp, D65"),
)
CELLS_IN_IT = tuple((name, f"{name.replace('-', ' ')}, {volts:g} V") for name, volts in systems().items())


class MeterForm(SaidForm):
    """What sees the light, how well the reference is known, and what feeds the meter."""

    cell = forms.ChoiceField(
        label="What sees the light",
        required=False,
        choices=(("unknown", "not known"), ("selenium", "selenium cell"), ("cds", "CdS resistor")),
    )
    light = forms.ChoiceField(
        label="Light of the test",
        help_text="What its colour does to such a cell is taken off, as well as typical cells tell.",
        required=False,
        choices=LIGHTS,
    )
    reference_in = forms.ChoiceField(
        label="The reference is in",
        required=False,
        choices=tuple((name, words) for name, (words, _, _) in REFERENCE.items()),
    )
    reference_u_ev = NumberField(
        label="Reference may be off by, EV (k = 1)",
        help_text="Alike for all readings, as its calibration says. Left open: a habit of the bench.",
        min_value=0,
        max_value=3,
        such_as="0.1",
    )
    film_speed = NumberField(
        label="Film speed on the dial, ISO",
        help_text="Of a reference in cd/m² or lx; left open, 100.",
        min_value=1,
        max_value=10_000,
        such_as="100",
    )
    constant = NumberField(
        label="K (of cd/m²) or C (of lx)",
        help_text="ISO 2720's; left open, K 12.5, C 250 flat or 340 dome.",
        min_value=1,
        max_value=1000,
        such_as="12.5",
    )
    division_ev = NumberField(
        label="Read to steps of, EV",
        help_text="Left open, it is found from the figures.",
        min_value=0.01,
        max_value=3,
        such_as="0.5",
    )
    cell_in_it = forms.ChoiceField(
        label="CdS: fed with",
        required=False,
        choices=(("", "not told"), *CELLS_IN_IT),
        help_text="Tells what another voltage does, and what puts it right.",
    )
    made_for = forms.ChoiceField(label="CdS: made for", required=False, choices=CELLS_IN_IT)
    circuit = forms.ChoiceField(
        label="CdS: how it is read",
        required=False,
        choices=(("series", "the needle's place: simple circuit"), ("bridge", "brought to a null: bridge")),
    )
    current_ua = NumberField(
        label="CdS: draws in mid-scale, µA",
        help_text="With it, resistor and diode are reckoned.",
        min_value=0.1,
        max_value=100_000,
        such_as="50",
    )

    @property
    def opens(self) -> bool:
        """Whether it must be seen: figures typed in another unit than EV are no EV."""
        return self["reference_in"].value() not in (None, "", "ev")

    def clean(self) -> dict[str, Any]:
        """A light's colour needs a cell."""
        given = dict(self.cleaned_data)
        if given.get("light") and given.get("cell") in ("", "unknown"):
            self.add_error("cell", "What a light's colour does depends on the cell: choose which it is.")
        if given.get("constant") and not REFERENCE[given.get("reference_in") or "ev"][2]:
            self.add_error(
                "constant", "EV need no constant: leave it empty, or say what the reference is in."
            )
        return given

    def said(self) -> dict[str, Any]:
        """As the reader takes it, and as it stood here."""
        said = super().said()
        _, _, constant = REFERENCE[said.get("reference_in") or "ev"]
        if constant and "constant" in said:
            said[constant] = said["constant"]
        if said.get("reference_in") == "lx_dome":
            said["receptor"] = "dome"
        if "cell_in_it" not in said:
            for name in ("made_for", "circuit"):
                said.pop(name, None)
        return said


def _kept_as(told: Mapping[str, Any]) -> Mapping[str, str]:
    return {"reference_ev": REFERENCE[told.get("reference_in") or "ev"][1]}


def _charts(result: Mapping[str, Any]) -> tuple[Chart, ...]:
    if not result.get("points"):
        return ()
    return (Chart("error", "Error over the light: above zero it sees too much", _error, height=380),)


def _error(result: Mapping[str, Any], scheme: Any) -> Any:
    limit = next((one["limit"] for one in result.get("judged") or () if one.get("limit")), None) or {}
    off = result.get("taken_off_ev") or 0.0
    return error_over(
        points=[
            (one["reference_ev"], one["error_ev"] - off, one["direction"] or "") for one in result["points"]
        ],
        curve=[(one["ev"], one["error_ev"], one["error_95_ev"]) for one in result["curve"]],
        limits=(limit.get("low_ev"), limit.get("high_ev")),
        x_label="light, EV",
        y_label="error, EV",
        names=("light rising", "light falling", "read"),
        scheme=scheme,
        height=380,
    )


_DIRECTION = Column("direction", "Light", (("", "–"), ("up", "rising"), ("down", "falling")))
_CAUTIONS = (
    ("Battery:", "An old one may be a mercury cell: never open, heat or bin it; it is hazardous waste."),
    ("Cell:", "Selenium and cadmium are poisonous as dust. No ohmmeter across cell or movement."),
)
_STEPS = (
    "Let a selenium cell see bright light for some minutes first; keep a CdS resistor in middling "
    "light: both remember what they saw before.",
    "Five levels or more, over the whole scale, each read once going up and once coming down: that "
    "tells a sticking pivot from a tired cell.",
)
FACES = {
    "meter": Face(
        way=WAYS["meter"],
        title="Exposure meter",
        lead="Set the light, read the reference, read the needle. Up through the range, then down again.",
        steps=(
            *_STEPS,
            "Read to a fraction of a division. Where the needle is at its stop, leave the figure empty.",
        ),
        cautions=_CAUTIONS,
        form=MeterForm,
        columns=(Column("reference_ev", "Reference"), Column("shown_ev", "Shown, EV"), _DIRECTION),
        charts=_charts,
        kept_as=_kept_as,
    ),
    "meter-matched": Face(
        way=WAYS["meter-matched"],
        title="Meter with a matched needle",
        lead="Set the light, match the needle, write the stop and the time it then stands at. Up, then down.",
        steps=(
            *_STEPS,
            "Leave the film speed where it is. Where nothing matches, leave stop and time empty.",
            "Stops and times as engraved, such as 5.6 and 1/60; half-way between two marks as it reads, 6.7.",
        ),
        cautions=_CAUTIONS,
        form=MeterForm,
        columns=(
            Column("reference_ev", "Ref."),
            Column("shown_f_number", "Stop f/"),
            Column("shown_time", "Time, s", keys="text"),
            _DIRECTION,
        ),
        charts=_charts,
        kept_as=_kept_as,
    ),
}
