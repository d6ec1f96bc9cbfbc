"""An instrument's answer as a page shows it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from pegwood.papers.gauged import Said, says_of
from pegwood.web.budgets import BudgetLine
from pegwood.web.gauges.budgets import budgets_of
from pegwood.web.local import locale


@dataclass(frozen=True, kw_only=True)
class Answer:
    """What an instrument made of readings, kept or not."""

    said: Said
    has_intervals: bool
    warnings: tuple[str, ...]
    notes: tuple[str, ...]
    advice: tuple[str, ...]
    budgets: tuple[tuple[str, tuple[BudgetLine, ...]], ...]


def answer_of(way: str, result: dict[str, Any]) -> Answer:
    """An instrument's answer as a page shows it."""
    said = says_of(way, result, locale())
    return Answer(
        said=said,
        has_intervals=any("±" in side.text for side in said.figures.values()),
        warnings=tuple(result.get("warnings") or ()),
        notes=tuple(result.get("notes") or ()),
        advice=tuple(result.get("advice") or ()),
        budgets=budgets_of(result, locale()),
    )
