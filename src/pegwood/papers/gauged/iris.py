"""A diaphragm as photographed, in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pegwood.papers.beside import Side
from pegwood.papers.gauged.figures import error_side, figure_side, limit_notes
from pegwood.papers.gauged.telling import Said

CAUTION = "Keep off the blades while the ring moves: a breath of force bends them. Never oil them."


def said(result: Mapping[str, Any], locale: str) -> Said:
    """
    What the light is off by first; then the opening, its blades, and how well a stop comes back.

    Parameters
    ----------
    result : mapping
        As `measure.iris` describes it, of photographs.
    locale : str
    """
    figures: dict[str, Side | None] = {}
    limits = []
    for name, label in (("returns", "set again, light more"), ("hysteresis", "opening less closing")):
        if one := result.get(name):
            figures[label] = error_side(one, "difference", locale, one["verdict"])
            limits.append(one["limit"])
    error = error_side(result, "error", locale, result["verdict"])
    figures["light against the mark"] = error
    if error and result.get("limit"):
        limits.append(result["limit"])
    f_number = figure_side(result, "f_number", "", locale)
    figures["f-number"] = Side(text=f"f/{f_number.text}") if f_number else None
    figures["diameter"] = figure_side(result, "diameter", "m", locale)
    figures["roundness"] = figure_side(result, "roundness", "", locale)
    figures["blades"] = Side(text=str(result["blades"])) if result.get("blades") else None
    figures["out of place"] = _out_of_place(result)
    figures["worst blade off"] = figure_side(result, "out_of_line", "percent", locale)
    if result.get("marked") and not error:
        figures["stop"] = Side(text=str(result["marked"]))
    marked = [f"Mark {result['marked']}, held against f/{result['exact']:.4g}."] if error else []
    return Said(
        figures={label: side for label, side in figures.items() if side is not None},
        notes=(
            *marked,
            *(["Above zero it lets in too much light."] if error else []),
            *(["Roundness is the narrowest width over the widest; even straight blades leave it below 1."]
              if result.get("roundness") else []),
            *limit_notes([one for one in limits if one], "ev", locale),
            *(result.get("warnings") or ()),
        ),
        caution=CAUTION,
    )  # fmt: skip


def _out_of_place(result: Mapping[str, Any]) -> Side | None:
    hours = result.get("out_of_place")
    if hours is None:
        return None
    if not hours:
        return Side(text="no blade")
    return Side(text=f"at {', '.join(str(hour) for hour in hours)} o'clock")
