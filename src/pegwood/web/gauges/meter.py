"""The exposure meter's page."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms

from pegwood.book.gauging import WAYS
from pegwood.web.charts import error_over
from pegwood.web.forms.fields import NumberField
from pegwood.web.gauges.face import Chart, Column, Face, SaidForm


class MeterForm(SaidForm):
    """What sees the light, and how well the reference is known."""

    cell = forms.ChoiceField(
        label="What sees the light",
        required=False,
        choices=(("unknown", "not known"), ("selenium", "selenium cell"), ("cds", "CdS resistor")),
    )
    reference_u_ev = NumberField(
        label="Reference may be off by, EV (k = 1)",
        help_text="Alike for all readings, as its calibration says. Left open: a habit of the bench.",
        min_value=0,
        max_value=3,
        such_as="0.1",
    )
    division_ev = NumberField(
        label="Read to steps of, EV",
        help_text="Left open, it is found from the figures.",
        min_value=0.01,
        max_value=3,
        such_as="0.5",
    )


def _charts(result: Mapping[str, Any]) -> tuple[Chart, ...]:
    if not result.get("points"):
        return ()
    return (Chart("error", "Error over the light, with the limit", _error),)


def _error(result: Mapping[str, Any], scheme: Any) -> Any:
    limit = next((one["limit"] for one in result.get("judged") or () if one.get("limit")), None) or {}
    return error_over(
        points=[(one["reference_ev"], one["error_ev"], one["direction"] or "") for one in result["points"]],
        curve=[(one["ev"], one["error_ev"], one["error_95_ev"]) for one in result["curve"]],
        limits=(limit.get("low_ev"), limit.get("high_ev")),
        x_label="light, EV",
        y_label="error, EV",
        scheme=scheme,
    )


FACES = {
    "meter": Face(
        way=WAYS["meter"],
        title="Exposure meter",
        lead="Set the light, read the reference, read the needle. Up through the range, then down again.",
        steps=(
            "Let a selenium cell see bright light for some minutes first; keep a CdS resistor in middling "
            "light: both remember what they saw before.",
            "Five levels or more, over the whole scale, each read once going up and once coming down: that "
            "tells a sticking pivot from a tired cell.",
            "Read to a fraction of a division; a needle at its stop is written as off.",
        ),
        cautions=(
            (
                "Battery:",
                "An old one may be a mercury cell: never open, heat or bin it; it is hazardous waste.",
            ),
            ("Cell:", "Selenium and cadmium are poisonous as dust. No ohmmeter across cell or movement."),
        ),
        form=MeterForm,
        columns=(
            Column("reference_ev", "Reference, EV"),
            Column("shown_ev", "Shown, EV"),
            Column("direction", "Light", (("", "–"), ("up", "rising"), ("down", "falling"))),
        ),
        charts=_charts,
    ),
}
