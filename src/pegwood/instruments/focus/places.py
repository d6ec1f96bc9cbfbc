"""
Edges at five places of a picture, middle and corners, and where on the film each of them lies.

A picture is divided into nine alike; an edge is looked for in the middle one and in the four at the corners.
So nobody has to tell pixels. Where the edges lie on the film follows from how wide the picture is there.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from pegwood.instruments.focus._measuring import EdgeFigures
from pegwood.instruments.focus.edge import Region, measure_edge
from pegwood.instruments.focus.series import Shot
from pegwood.instruments.focus.tilt import Place
from pegwood.instruments.photographs import Photograph
from pegwood.instruments.readings import RefusedReadings

__all__ = ["PLACES", "FiveEdges", "edges_at_places", "shots_at_places"]

#: Each place with the ninth of the picture it is looked for in: column and row from the top left.
PLACES = {
    "middle": (1, 1),
    "top left": (0, 0),
    "top right": (2, 0),
    "bottom left": (0, 2),
    "bottom right": (2, 2),
}


@dataclass(frozen=True)
class FiveEdges:
    """
    What one photograph shows at the five places.

    Parameters
    ----------
    name : str
        The photograph's.
    at : float
        Where it was taken.
    width, height : int
        Of the picture, [pixel].
    edges : dict of str to (EdgeFigures or str)
        By the names of `PLACES`: what was measured there, or why it was not.
    """

    name: str
    at: float
    width: int
    height: int
    edges: dict[str, EdgeFigures | str]


def edges_at_places(photograph: Photograph, at: float) -> FiveEdges:
    """
    Measure the edges of one photograph.

    Parameters
    ----------
    photograph : Photograph
        With an edge in the middle and one in each corner, each within its ninth of the picture.
    at : float
        Where it was taken, in the unit of the positions.

    Returns
    -------
    edges : FiveEdges
    """
    height, width = photograph.light.shape
    found: dict[str, EdgeFigures | str] = {}
    for place, (column, row) in PLACES.items():
        left, top = column * width // 3, row * height // 3
        right, bottom = (column + 1) * width // 3, (row + 1) * height // 3
        try:
            found[place] = measure_edge(photograph, Region(left, top, right - left, bottom - top))
        except RefusedReadings as why:
            found[place] = str(why)
    return FiveEdges(photograph.name, at, width, height, found)


def shots_at_places(seen: Sequence[FiveEdges], width_m: float, *, is_upright: bool) -> list[Shot]:
    """
    Every edge with its place on the film.

    Parameters
    ----------
    seen : sequence of FiveEdges
        All pictures alike, from one stand.
    width_m : float
        What the whole width of the picture is on the film, [m].
    is_upright : bool
        Whether the pictures show the scene upright, as a sensor or a scan of the film does; else as the
        ground glass shows it from behind, on its head. A lens turns its image by half a turn.

    Returns
    -------
    shots : list of Shot
        A place that was not found in any picture is left out.

    Raises
    ------
    RefusedReadings
        If pictures differ in size, or the width can't be.
    """
    if not (math.isfinite(width_m) and 1e-3 <= width_m <= 0.5):
        raise RefusedReadings(
            f"A picture {1e3 * width_m:g} mm wide on the film is none. Give mm, such as 36.", "width_mm"
        )
    first = seen[0]
    for one in seen:
        if (one.width, one.height) != (first.width, first.height):
            raise RefusedReadings(
                f"{one.name} is not as large as {first.name}. Take all with one camera, from one stand."
            )
    shots = []
    for name in PLACES:
        measured = [one.edges[name] for one in seen]
        lines = [one.line for one in measured if isinstance(one, EdgeFigures)]
        if not lines:
            continue
        x = math.fsum(one.x for one in lines) / len(lines)
        y = math.fsum(one.y for one in lines) / len(lines)
        place = _on_film(x, y, first, width_m, is_upright)
        for one, edge in zip(seen, measured, strict=True):
            figures = edge if isinstance(edge, EdgeFigures) else None
            why = "" if isinstance(edge, EdgeFigures) else f"{name}: {edge}"
            shots.append(Shot(one.name, one.at, figures, why, place))
    return shots


def _on_film(x: float, y: float, picture: FiveEdges, width_m: float, is_upright: bool) -> Place:
    """As seen from behind, x to the right and y up from the picture's middle, [m]."""
    scale = width_m / picture.width
    right, up = (x - (picture.width - 1) / 2) * scale, ((picture.height - 1) / 2 - y) * scale
    return (-right, -up) if is_upright else (right, up)
