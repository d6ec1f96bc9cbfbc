"""What is told of light leaks."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from pegwood.instruments.leaks.fog import Fog
from pegwood.instruments.leaks.geometry import View
from pegwood.instruments.leaks.signs import Signs
from pegwood.instruments.plain_data import bounds_of, plain
from pegwood.instruments.verdicts import Bounds

__all__ = ["LeaksResult", "Place"]


@dataclass(frozen=True)
class Place:
    """
    A place light may have come in by.

    Parameters
    ----------
    place : str
        Edges as scanned.
    p : float
        Its chance, [-].
    camera : str
        Where to look at the camera, its own sides as seen from behind.
    look_at : str
        What to look at there.
    at : str
        The camera's own place in one word, for who reckons with it: "gate", "back-seal-top" and
        "back-seal-base" (the camera's top and base, not the scan's), "cassette", "hinge", "front" or "none".
    prior : float
        What its chance was before the strip was looked at, [-].
    """

    place: str
    p: float
    camera: str
    look_at: str
    at: str
    prior: float


@dataclass(frozen=True)
class LeaksResult:
    """
    Where light may have come in.

    Parameters
    ----------
    name : str
        Of the picture.
    kind : "negative" or "positive"
    places : tuple of Place
        The likeliest first; their chances sum to 1.
    signs : Signs
    fog : Fog
        Measured, for a chart.
    view : View
        How the film was taken to have lain.
    frames : int
    limit : Bounds
        From which density on fog on bare film was taken for a leak's.
    source, mark : str
        Of the chances.
    advice, warnings, notes : tuple of str
    """

    name: str
    kind: str
    places: tuple[Place, ...]
    signs: Signs
    fog: Fog
    view: View
    frames: int
    limit: Bounds
    source: str
    mark: str
    advice: tuple[str, ...]
    warnings: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def likeliest(self) -> Place:
        """The place with the highest chance."""
        return self.places[0]

    def to_json(self) -> dict[str, Any]:
        """The result as plain data, as the schema `measure.leaks` describes it."""
        view, fog = self.view, self.fog
        return {
            "kind": self.kind,
            "places": [
                {
                    "place": one.place,
                    "p": one.p,
                    "prior": one.prior,
                    "at": one.at,
                    "camera": one.camera,
                    "look_at": one.look_at,
                }
                for one in self.places
            ],
            "signs": self.signs.as_words(),
            "densities": {name: plain(value) for name, value in self.signs.figures.items()},
            "moving": self.signs.moving,
            "travel": view.travel,
            "turned": view.mirrored,
            "upside_down": view.upside_down,
            "camera_edges": {
                "top": view.camera_edge("top"),
                "bottom": view.camera_edge("bottom"),
                "left": view.camera_side("left"),
                "right": view.camera_side("right"),
            },
            "cassette_end": view.cassette_end,
            "fog": [
                {"at_m": float(x) * 1e-3, "top": plain(float(t)), "bottom": plain(float(b))}
                for x, t, b in zip(fog.along, fog.upper, fog.lower, strict=True)
            ],
            "frames": self.frames,
            "repeat_factors": {
                "side": math.exp(self.signs.repeats.side),
                "inside": math.exp(self.signs.repeats.inside),
            },
            "limit": bounds_of(self.limit),
            "lamp_known": fog.lamp_known,
            "source": self.source,
            "mark": self.mark,
            "advice": list(self.advice),
            "warnings": list(self.warnings),
            "notes": list(self.notes),
        }
