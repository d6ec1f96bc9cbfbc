"""A cell's current for each lux over the light: level where it goes with the light."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from pegwood.web.charts._look import COLOURS, Item, Scheme, draw, item, name_them, paper

#: Of the first cells there are: filled, hollow, and others beside them; colour and mark differ both.
_LOOKS = (("brass", "circle", True), ("slate", "square", False), ("verdigris", "triangle", True))
_LEAST_HEIGHT = 0.6
"""Of the picture, [EV]: what is level has to look level."""


def current_over_light(
    cells: Mapping[str, Sequence[tuple[float, float]]], *, scheme: Scheme = "light", height: int = 320
) -> Item:
    """
    Current over illuminance, against the best that any cell gave, each cell a line.

    Parameters
    ----------
    cells : mapping of str to sequence of (float, float)
        Illuminance, [lx], and current, [A], of each.
    scheme : "light" or "dark"
    height : int
        [pixel]

    Returns
    -------
    item : dict
        To be embedded by the chart library's JavaScript.
    """
    from bokeh.models import Line, LogTickFormatter, Scatter

    colour = COLOURS[scheme]
    best = max(current / light for points in cells.values() for light, current in points)
    lights = [light for points in cells.values() for light, _ in points]
    lowest = min(math.log2(current / light / best) for points in cells.values() for light, current in points)
    down = min(lowest, -_LEAST_HEIGHT)
    plot = paper(
        colour,
        height=height,
        x_axis_type="log",
        x_range=(min(lights) / 1.5, max(lights) * 1.5),
        y_range=(down - 0.15 * abs(down), 0.15 * abs(down)),
        x_axis_label="light, lx",
        y_axis_label="current for each lux, EV",
    )
    plot.xaxis.formatter = LogTickFormatter(min_exponent=6)
    told = []
    for n, (name, points) in enumerate(cells.items()):
        ink, marker, filled = _LOOKS[n % len(_LOOKS)]
        there = sorted(points)
        x = [light for light, _ in there]
        y = [math.log2(current / light / best) for light, current in there]
        draw(plot, Line(x="x", y="y", line_color=colour[ink], line_width=2), x=x, y=y)
        dots = Scatter(
            x="x", y="y", marker=marker, size=13, line_color=colour[ink], line_width=2.5,
            fill_color=colour[ink] if filled else colour["sheet"],
        )  # fmt: skip
        told.append((name, draw(plot, dots, x=x, y=y)))
    name_them(plot, colour, told)
    return item(plot)
