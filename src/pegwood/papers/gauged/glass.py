"""A lens's glass in words: its grade, what cleaning changed, its veiling glare."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from pegwood.papers.beside import Side
from pegwood.papers.gauged.figures import figure_side, limit_notes
from pegwood.papers.gauged.telling import Said

CAUTION = (
    "Some old glass is radioactive, and fungus gets about: gloves, no breathing in, hands washed. Never look "
    "through a lens at the sun."
)
GRADES = ("as new", "slight", "plain to see", "marked", "heavy", "past use")


def said(result: Mapping[str, Any], locale: str) -> Said:
    """
    The grade first, then shares of the glass; of two photographs what is gone and what has come.

    Parameters
    ----------
    result : mapping
        As `measure.glass` describes it.
    locale : str
    """
    before, after, change = (result.get(one) or {} for one in ("before", "after", "change"))
    figures: dict[str, Side | None] = {
        "veiling glare": figure_side(
            result, "veiling_glare", "percent", locale, _verdict(result, "veiling_glare")
        ),
        "with the camera's own": figure_side(result, "with_camera", "percent", locale)
        if result.get("camera_percent") is not None
        else None,
        "the camera's own": figure_side(result, "camera", "percent", locale),
        "marks gone, of the glass": figure_side(change, "gone", "percent", locale),
        "marks come, of the glass": figure_side(change, "come", "percent", locale, _verdict(result, "come")),
        "scattered light less by": figure_side(change, "scattered_less", "percent", locale),
    }
    for when, one in (("before: " if after else "", before), ("after: ", after)):
        share, haze = (
            _verdict(result, name) if one is (after or before) else "" for name in ("share", "haze")
        )
        figures[f"{when}grade"] = _grade(one.get("graded"))
        figures[f"{when}marked, of the glass"] = figure_side(one, "share", "percent", locale, share)
        figures[f"{when}haze, of a white card"] = figure_side(one, "haze", "percent", locale, haze)
    graded = (after or before).get("graded")
    whose = [f"Grades 0 to 5 by {graded['kind']}: {graded['source']} ({graded['mark']})."] if graded else []
    return Said(
        figures={label: side for label, side in figures.items() if side is not None},
        notes=(*whose, *_limits(result, locale), *(result.get("warnings") or ())),
        caution=CAUTION,
    )


#: What there may be a limit of, by its name in the answer.
_JUDGED = {
    "veiling_glare": "veiling glare",
    "come": "marks come",
    "share": "marked",
    "haze": "haze",
}


def _verdict(result: Mapping[str, Any], name: str) -> str:
    """Empty where the workshop has no limit for it: most have none, and a row that says so tells nothing."""
    return str(result[f"{name}_verdict"]) if result.get(f"{name}_limit") else ""


def _limits(result: Mapping[str, Any], locale: str) -> Iterator[str]:
    for name, words in _JUDGED.items():
        if limit := result.get(f"{name}_limit"):
            for note in limit_notes((limit,), "percent", locale):
                yield f"{words.capitalize()}: {note[0].lower()}{note[1:]}"


def _grade(graded: Mapping[str, Any] | None) -> Side | None:
    if not graded:
        return None
    low, high = graded["grade_95"]
    sure = "" if low == high else f" ({low} to {high})"
    return Side(text=f"{graded['grade']}{sure}, {GRADES[graded['grade']]}")
