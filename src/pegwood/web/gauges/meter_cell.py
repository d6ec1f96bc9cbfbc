"""The page on which two cells of a meter are compared."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pegwood.book.gauging import WAYS
from pegwood.web.charts import current_over_light
from pegwood.web.forms.fields import NumberField
from pegwood.web.gauges.face import Chart, Column, Face, SaidForm


class CellForm(SaidForm):
    """How finely the current is read, and how well the light is known."""

    division_ua = NumberField(
        label="Current read to steps of, µA",
        help_text="Counts for most in weak light.",
        min_value=0,
        max_value=10_000,
        such_as="0.1",
    )
    illuminance_u_ev = NumberField(
        label="Luxmeter may be off by, EV (k = 1)",
        help_text="Left open, 0.1. It touches each cell's current, and not which is the better.",
        min_value=0,
        max_value=3,
        such_as="0.1",
    )


def _charts(result: Mapping[str, Any]) -> tuple[Chart, ...]:
    if not result.get("points"):
        return ()
    return (Chart("current", "Current for each lux: level is sound, falling to the left is leaky", _current),)


def _current(result: Mapping[str, Any], scheme: Any) -> Any:
    cells: dict[str, list[tuple[float, float]]] = {}
    for one in result["points"]:
        cells.setdefault(one["cell"], []).append((one["illuminance_lx"], one["current_a"]))
    return current_over_light(cells, scheme=scheme)


FACES = {
    "meter-cell": Face(
        way=WAYS["meter-cell"],
        title="Meter cells compared",
        lead="Set the light, read the luxmeter, then the short-circuit current of each cell at that light.",
        steps=(
            "A microammeter of low resistance, well under 100 ohm; on another range it is another meter.",
            "Four levels or more over the whole scale, the weakest too: that is where a tired cell fails.",
            "Both cells at the same place, square to the lamp. Let selenium lie in each light some minutes.",
            "One cell alone tells whether it goes with the light; leave the other column empty.",
        ),
        cautions=(
            ("Cell:", "Selenium and cadmium are poisonous as dust: do not scrape, grind or break a cell."),
            ("Current:", "No ohmmeter across a cell; a lead is clamped, never soldered, to it."),
        ),
        form=CellForm,
        columns=(
            Column("illuminance_lx", "Light, lx"),
            Column("in_the_camera_ua", "In the camera, µA"),
            Column("spare_ua", "Spare, µA"),
        ),
        charts=_charts,
        is_judged=False,
    ),
}
