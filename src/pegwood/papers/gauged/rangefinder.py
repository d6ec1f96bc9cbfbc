"""A rangefinder's error, in words."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from pegwood.papers.beside import Side
from pegwood.papers.figures import stated
from pegwood.papers.gauged.figures import error_side, figure_side, limit_notes, plain_side
from pegwood.papers.gauged.telling import Said

CAUTION = (
    "Never aim at the sun. A half-silvered coat comes off with a swab: blow dust off, touch nothing coated."
)
_ARCMIN = math.pi / 180 / 60


def said(result: Mapping[str, Any], locale: str) -> Said:
    """
    What it does on the film first, then what of it is infinity, what the lever, what the height.

    Parameters
    ----------
    result : mapping
        As `measure.rangefinder` describes it.
    locale : str
    """
    vertical = result.get("vertical")
    figures: dict[str, Side | None] = {
        "on the film at worst": _worst(result, locale),
        "at infinity": error_side(result, "offset", locale, unit="dpt"),
        "gain, right is 1": figure_side(result, "gain", "", locale),
        "bow between": error_side(result, "curvature", locale, unit="per_dpt") if result["bowed"] else None,
        "height of the image": None if vertical is None else _height(vertical, locale),
        "a setting by eye": _by_eye(result, locale),
    }
    return Said(
        figures={label: side for label, side in figures.items() if side is not None},
        notes=(
            "Plus: set or shown too near; the sharp image lies before the film.",
            *limit_notes([result["limit"]], "m", locale),
            *_of_the_height(vertical),
            *(result.get("warnings") or ()),
        ),
        caution=CAUTION,
    )


def _worst(result: Mapping[str, Any], locale: str) -> Side:
    told = [one for one in result["distances"] if one["film_error_m"] is not None]
    if not told:
        return Side(text="not told: too few readings")
    worst = max(told, key=lambda one: abs(one["film_error_m"]))
    side = error_side(worst, "film_error", locale, result["verdict"], unit="m")
    assert side is not None, "it has a film error"
    return replace(side, text=f"{side.text} at {_distance(worst['true_m'])}")


def _distance(true_m: float | None) -> str:
    return "∞" if true_m is None else f"{true_m:.3g} m"


def _height(vertical: Mapping[str, Any], locale: str) -> Side:
    low, high = vertical["error_95_rad"]
    told = stated(vertical["error_rad"] / _ARCMIN, (high - low) / 2 / _ARCMIN, "′", locale)
    return Side(text=f"{told.value} ± {told.plus_minus}{told.unit}", verdict=vertical["verdict"])


def _of_the_height(vertical: Mapping[str, Any] | None) -> Iterator[str]:
    if vertical is not None:
        limit = vertical["limit"]
        yield f"Height: at most {limit['note']}: {limit['source']} ({limit['mark']}). Plus stands higher."


def _by_eye(result: Mapping[str, Any], locale: str) -> Side | None:
    worst = max((one["base_film_error_m"] for one in result["distances"]), default=None)
    side = None if worst is None else plain_side(1e3 * worst, "mm", locale)
    return None if side is None else replace(side, text=f"no finer than {side.text}")
