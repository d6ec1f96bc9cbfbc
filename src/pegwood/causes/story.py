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
