"""
From the edges of a picture of the film to the sides of the camera.

The film runs behind the gate with its emulsion to the lens. The lens turns its image upside down and left
to right, that is by half a turn as seen from behind the camera, through the film's back. So:

- looked at from its back, the film shows the scene the right way round (not mirrored), upside down while it
  is in the camera. Held upright and right-reading, its upper edge was the camera's lower one and its left
  end lay to the camera's right, all as seen from behind;
- scanned with the emulsion up (mirrored), left and right are exchanged once more, up and down are not;
- scanned upside down, both are exchanged.

As a rule the cassette lies to the left as seen from behind and the film runs from left to right on to the
take-up spool, where the back is hinged; `travel` says otherwise for cameras built the other way round.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = ["Side", "Travel", "View"]

Travel = Literal["left to right", "right to left"]
Side = Literal["left", "right"]


@dataclass(frozen=True)
class View:
    """
    How the film lay in the camera and how it was scanned.

    Parameters
    ----------
    travel : "left to right" or "right to left"
        Of the film, seen from behind the camera.
    mirrored : bool
        Scanned with the emulsion up: writing in the pictures is in mirror-writing.
    upside_down : bool
        The pictures stand on their heads in the scan.
    """

    travel: Travel = "left to right"
    mirrored: bool = False
    upside_down: bool = False

    def camera_edge(self, scanned: Literal["top", "bottom"]) -> Literal["top", "bottom"]:
        """Edge of the camera behind an edge of the scan: the lens turned the picture over."""
        other: Literal["top", "bottom"] = "bottom" if scanned == "top" else "top"
        return scanned if self.upside_down else other

    def camera_side(self, scanned: Side) -> Side:
        """Side of the camera, seen from behind, to which a side of the scan lay."""
        changed = not (self.mirrored ^ self.upside_down)
        return _other(scanned) if changed else scanned

    @property
    def cassette_end(self) -> Side:
        """End of the scan that lay towards the cassette."""
        cassette: Side = "left" if self.travel == "left to right" else "right"
        return cassette if self.camera_side(cassette) == cassette else _other(cassette)


def _other(side: Side) -> Side:
    return "right" if side == "left" else "left"
