"""Heights over a frame, seen from behind: a tilt at a glance."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from pegwood.web.charts._look import COLOURS, Item, Scheme, draw, item, paper, write

_MM = 1e3
FRAME_HEIGHT = 340


class FramePoint(NamedTuple):
    """
    A height at a place.

    Attributes
    ----------
    x_m, y_m : float
        From the middle as seen from behind, x to the right and y up, [m].
    height_m : float
        Over what it is held against, [m].
    """

    x_m: float
    y_m: float
    height_m: float


def heights_over_frame(
    points: Sequence[FramePoint],
    *,
    allowed_m: float | None = None,
    screws_m: Sequence[tuple[float, float]] = (),
    scheme: Scheme = "light",
    height: int = FRAME_HEIGHT,
) -> Item:
    """
    Each place with its height in mm beside it; a larger disc is further off, and red beyond what is allowed.

    Parameters
    ----------
    points : sequence of FramePoint
    allowed_m : float, optional
        To either side, [m].
    screws_m : sequence of (float, float)
        Where screws are, [m].
    scheme : "light" or "dark"
    height : int
        [pixel]

    Returns
    -------
    item : dict
        To be embedded by the chart library's JavaScript.
    """
    from bokeh.models import Range1d, Scatter

    colour = COLOURS[scheme]
    sides = [(one.x_m, one.y_m) for one in points] + list(screws_m)
    wide, high = (max(max(abs(one[n]) for one in sides), 1e-3) * _MM * 1.3 for n in (0, 1))
    plot = paper(
        colour,
        height=height,
        x_range=Range1d(start=-wide, end=wide),
        y_range=Range1d(start=-high * 1.15, end=high * 1.15),
        x_axis_label="mm from the middle, seen from behind",
    )
    screws = Scatter(x="x", y="y", marker="circle_x", size=16, line_color=colour["slate"], fill_color=None)
    draw(plot, screws, x=[_MM * x for x, _ in screws_m], y=[_MM * y for _, y in screws_m])
    largest = max((abs(one.height_m) for one in points), default=0.0) or 1.0
    beyond = [allowed_m is not None and abs(one.height_m) > allowed_m for one in points]
    discs = Scatter(x="x", y="y", size="size", fill_color="tint", line_color="line", line_width=2.5)
    draw(
        plot,
        discs,
        x=[_MM * one.x_m for one in points],
        y=[_MM * one.y_m for one in points],
        size=[12 + 18 * abs(one.height_m) / largest for one in points],
        # what lies nearer than it should is an empty disc
        tint=[
            colour["sheet"] if one.height_m < 0 else colour["oxide" if far else "brass"]
            for one, far in zip(points, beyond, strict=True)
        ],
        line=[colour["oxide" if far else "brass"] for far in beyond],
    )
    write(
        plot,
        colour,
        baseline="top",
        x=[_MM * one.x_m for one in points],
        y=[_MM * one.y_m - high * 0.14 for one in points],
        text=[f"{_MM * one.height_m:+.3f}".replace("-", "\u2212") for one in points],
        align=["center"] * len(points),
        dx=[0] * len(points),
    )
    return item(plot)
