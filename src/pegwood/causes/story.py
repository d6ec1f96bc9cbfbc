"""What in a camera's story raises or lowers faults, before anybody looks at it."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

#: Each tap of the story, as it stands in files, and as it is asked.
STORY: Mapping[str, str] = MappingProxyType(
    {
        "soaked-fresh": "was in fresh water",
        "soaked-salt": "was in salt water",
        "sand": "sand or grit",
        "dropped": "fell, or was knocked",
        "stored-damp": "long in a damp place",
        "stored-hot-dry": "long in a hot, dry place",
        "earlier-repair": "somebody was in there before",
        "unserved-long": "not served in twenty years or more",
        "leaked-cell": "a cell leaked in it",
        "unused-long": "not used in ten years or more",
        "used-hard": "used hard, for a living",
    }
)

#: What is said where it is not so.
_NOT_SO = {
    "unserved-long": "served within twenty years",
    "unused-long": "used within ten years",
    "earlier-repair": "nobody was in there before",
    "leaked-cell": "no cell leaked in it",
    "used-hard": "not used hard",
    "sand": "no sand or grit",
    "dropped": "never fell or was knocked",
    "soaked-fresh": "was not in fresh water",
    "soaked-salt": "was not in salt water",
    "stored-damp": "not long in a damp place",
    "stored-hot-dry": "not long in a hot, dry place",
}


def denied(item: str) -> str:
    """What is said where something of the story is not so."""
    return _NOT_SO[item]


#: How many of the cameras that come in for repair it is so of, where nobody said anything, [1] (practice:
#: nobody has counted it).
COMMON: Mapping[str, float] = MappingProxyType(
    {
        "soaked-fresh": 0.03,
        "soaked-salt": 0.02,
        "sand": 0.05,
        "dropped": 0.15,
        "stored-damp": 0.15,
        "stored-hot-dry": 0.15,
        "earlier-repair": 0.35,
        "unserved-long": 0.6,
        "leaked-cell": 0.1,
        "unused-long": 0.5,
        "used-hard": 0.15,
    }
)
#: What leaves traces that can be read off the camera: where nobody told of it, signs and found faults speak
#: for it, and through it for all it raises. The rest is years and use: of that the owner is asked.
TRACED = (
    "earlier-repair",
    "soaked-fresh",
    "soaked-salt",
    "sand",
    "dropped",
    "stored-damp",
    "leaked-cell",
)


def check_story(*said: str) -> None:
    """
    Whether all of it is something of a story.

    Raises
    ------
    ValueError
        If something is not.
    """
    for one in said:
        if one not in STORY:
            raise ValueError(f"{one!r} is nothing of a story. Expected one of: {', '.join(STORY)}.")
