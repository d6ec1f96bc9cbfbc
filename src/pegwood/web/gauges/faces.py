"""Every face there is, by its way; each is imported when its page is first asked for."""

from __future__ import annotations

from importlib import import_module

from pegwood.book.gauging import WAYS
from pegwood.web.gauges.face import Face

#: Modules beside this one, each with a `FACE` or several in `FACES`.
_MODULES = {
    "meter": "meter",
    "meter-matched": "meter",
    "meter-cell": "meter_cell",
    "rangefinder": "rangefinder",
    "take-up": "transport",
    "friction": "transport",
    "iris-photo": "iris",
    "iris-calliper": "iris",
    "iris-returns": "iris",
    "glass-side": "glass",
    "glass-cleaned": "glass",
    "glass-glare": "glass",
    "transport-strip": "strip",
    "leaks": "strip",
    "focus-scale": "focus",
    "focus-flange": "focus",
    "focus-edge": "focus",
    "focus-tilt": "focus_series",
    "focus-stops": "focus_series",
}
FACES = tuple(_MODULES)
"""The ways that have a page, in the order in which a camera is gone through."""


def face_of(way: str) -> Face | None:
    """The face of a way; None where there is none."""
    if way not in _MODULES or way not in WAYS:
        return None
    found: Face = import_module(f"{__package__}.{_MODULES[way]}").FACES[way]
    return found
