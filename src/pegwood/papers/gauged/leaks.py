"""Where light came in, in words: a chance for each place, as a chance has no ±."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pegwood.papers.beside import Side
from pegwood.papers.gauged.telling import Said

#: Places that are less likely are not worth a row.
LEAST = 0.05
CAUTION = "Looking for a leak with a lamp, keep it cool: bellows and foam burn."
#: What the camera's places are called in a row.
NAMES = {
    "back-seal-top": "back's seal along the top",
    "back-seal-base": "back's seal along the base",
    "hinge": "the hinge's end of the back",
    "cassette": "cassette, or its end of the back",
    "gate": "around the gate",
    "front": "lens board or bellows",
    "none": "no leak at all",
}


def said(result: Mapping[str, Any], _locale: str) -> Said:
    """
    The likeliest place first.

    Parameters
    ----------
    result : mapping
        As `measure.leaks` describes it.
    """
    told = [one for one in result["places"] if one["p"] >= LEAST]
    return Said(
        figures={NAMES[one["at"]]: Side(text=percent(one["p"])) for one in told},
        notes=(
            "How likely light came in there, in the camera's own words: top and base as it stands, seen from "
            "behind.",
            f"The chances are {result['source']} ({result['mark']}); before the strip was looked at, no leak "
            f"stood at {percent(_prior(result, 'none'))}.",
            *(result.get("warnings") or ()),
        ),
        caution=CAUTION,
    )


def percent(p: float) -> str:
    """A chance in whole per cent; never "100 %" of what is not certain."""
    if p >= 0.995:
        return "over 99 %"
    return f"{100 * p:.0f} %" if p >= 0.005 else "under 1 %"


def _prior(result: Mapping[str, Any], at: str) -> float:
    return float(next(one["prior"] for one in result["places"] if one["at"] == at))
