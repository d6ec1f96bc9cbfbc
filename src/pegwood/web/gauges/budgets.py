"""The budgets an instrument's answer carries, for a page."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pegwood.papers.gauged.figures import SHOWN
from pegwood.web.budgets import BudgetLine, budget

_ENDING = "_budget"
#: What a figure is called where its name in the data alone says too little.
_CALLED = {"full": "full spool", "best": "best focus"}


def budgets_of(result: Mapping[str, Any], locale: str) -> tuple[tuple[str, tuple[BudgetLine, ...]], ...]:
    """
    Every budget in an answer, and in a part of it, with the name of its figure.

    Parameters
    ----------
    result : mapping
        An instrument's answer: a budget stands under ``<figure>_budget``.
    locale : str
        How figures are written.

    Returns
    -------
    budgets : tuple of (str, tuple of BudgetLine)
    """
    within = (
        (f"{name} ({part})".replace("_", " "), lines)
        for part, inner in result.items()
        if isinstance(inner, Mapping)
        for name, lines in budgets_of(inner, locale)
    )
    own = (
        (
            _CALLED.get(name.removesuffix(_ENDING), name.removesuffix(_ENDING).replace("_", " ")),
            budget(lines, locale, _unit(result, name.removesuffix(_ENDING))),
        )
        for name, lines in result.items()
        if name.endswith(_ENDING) and lines
    )
    return (*own, *within)


def _unit(result: Mapping[str, Any], name: str) -> str:
    """The unit of a figure: what stands behind ``<figure>_u`` among the answer's names."""
    begins = f"{name}_u"
    found = next((key for key in result if key == begins or key.startswith(f"{begins}_")), begins)
    unit = found.removeprefix(begins).removeprefix("_")
    return unit if unit in SHOWN else ""
