"""How hard something turns, in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pegwood.papers.beside import Side
from pegwood.papers.gauged.figures import figure_side
from pegwood.papers.gauged.telling import Said

CAUTION = "Keep the thread away from your eyes, and pull no harder than the part is made for."


def said(result: Mapping[str, Any], locale: str) -> Said:
    """
    The torque first, then what a clutch of it pulls.

    Parameters
    ----------
    result : mapping
        As `measure.take-up` describes its `friction`, with warnings.
    locale : str
    """
    limit, pull = result.get("limit"), result.get("pull_n")
    verdict = result["verdict"] if limit else ""
    torque = figure_side(result, "torque", "n_m", locale, verdict)
    figures = {"torque": torque or Side(text="not told: one pull alone")}
    if pull:
        figures["pulls on the film"] = Side(text=f"{pull[0]:.2g} N empty, {pull[1]:.2g} N full")
    return Said(
        figures=figures,
        notes=(
            *(
                ()
                if limit is None
                else (
                    f"Limit: at most {1e3 * limit['high_n_m']:g} mN m, {limit['note']}: {limit['source']} "
                    f"({limit['mark']}).",
                )
            ),
            *(result.get("warnings") or ()),
        ),
        caution=CAUTION,
    )
