"""What a reading holds beside its time, for its page: smaller stops, the contact's closings, the gate."""

from __future__ import annotations

from dataclasses import dataclass

from django.urls import reverse

from pegwood.book.models import Measurement
from pegwood.papers.beside import Beside, beside
from pegwood.web import charts
from pegwood.web.budgets import BudgetLine, budget
from pegwood.web.local import locale
from pegwood.web.readout_beside import Closing, Place, closings, places, settings_of_contact

#: Budgets of the curtains' figures, by the instrument's names: what each is of, and its unit.
BUDGETS = (
    ("first_travel", "the first curtain's travel", "s"),
    ("second_travel", "the second curtain's travel", "s"),
    ("taper", "the taper", "ev"),
    ("flash_shortest", "the shortest time for flash", "s"),
)


@dataclass(frozen=True, kw_only=True)
class Gate:
    """Beside the time of one reading: what it holds, and where the picture of the curtains comes from."""

    beside: tuple[Beside, ...]
    closings: tuple[Closing, ...]
    settings: tuple[str, ...]
    places: tuple[Place, ...]
    budgets: tuple[tuple[str, tuple[BudgetLine, ...]], ...]
    chart_url: str
    method: str

    height = charts.CURTAINS_HEIGHT


def gate_of(measurement: Measurement) -> Gate | None:
    """What stands beside a reading's time; None where there is only that time."""
    result, written = measurement.result or {}, locale()
    shown = beside(measurement.marked, result, None, written)
    if not shown:
        return None
    found = result.get("curtains") or {}
    kept = found.get("budgets") or {}
    budgets = ((of, budget(kept.get(name) or (), written, unit)) for name, of, unit in BUDGETS)
    return Gate(
        beside=shown,
        closings=closings(result, written),
        settings=settings_of_contact(result),
        places=places(result, written),
        budgets=tuple((of, lines) for of, lines in budgets if lines),
        chart_url=reverse("curtains_chart", args=[measurement.pk]) if charts.can_draw_curtains(found) else "",
        method=found.get("method") or "",
    )
