"""Errors over what was set: readings, the curve through them with its 95 % band, the limit."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from pegwood.web.charts._look import COLOURS, Item, Scheme, draw, item, name_them, paper

Point = tuple[float, float, str]
#: Above that share of the readings' own height a limit is left out of the picture's height.
_ROOM = 0.15


def error_over(
    *,
    points: Sequence[Point],
    curve: Sequence[tuple[float, float, Sequence[float]]],
    limits: tuple[float | None, float | None],
    x_label: str,
    y_label: str,
    names: tuple[str, str, str] = ("rising", "falling", "read"),
    scheme: Scheme = "light",
    height: int = 320,
) -> Item:
    """
    Readings as points, hollow where they fell; the fit as a line in its band; the limit as a band.

    What is what stands above it: what the limit is, and which readings are which.

    Parameters
    ----------
    points : sequence of (float, float, str)
        Where, error, and "up", "down" or nothing.
    curve : sequence of (float, float, (float, float))
        Where, fitted error and its 95 % interval.
    limits : (float or None, float or None)
        Lowest and highest allowed error; None where that side is open.
    x_label, y_label : str
        With their units.
    names : (str, str, str)
        What readings "up", "down" and without a way are called.
    scheme : "light" or "dark"
    height : int
        [pixel]

    Returns
    -------
    item : dict
        To be embedded by the chart library's JavaScript.
    """
    from bokeh.models import Line, Scatter, VArea

    colour = COLOURS[scheme]
    heights = [y for _, y, _ in points] + [end for _, _, ends in curve for end in ends]
    heights += [side for side in limits if side is not None] + [0.0]
    low, high = min(heights), max(heights)
    room = max(high - low, 1e-9) * _ROOM
    at = [x for x, _, _ in points]
    side = max(max(at) - min(at), 1e-9) * 0.06
    plot = paper(
        colour,
        height=height,
        y_range=(low - room, high + room),
        x_range=(min(at) - side, max(at) + side),
        x_axis_label=x_label,
        y_axis_label=y_label,
    )
    ends_x = [min(at) - side, max(at) + side]
    told: list[tuple[str, Any]] = []
    if limits != (None, None):
        bottom, top = (
            edge if end is None else end for end, edge in zip(limits, (low - room, high + room), strict=True)
        )
        within = VArea(x="x", y1="low", y2="high", fill_color=colour["verdigris-soft"])
        band = draw(plot, within, layer="underlay", x=ends_x, low=[bottom] * 2, high=[top] * 2)
        told.append((_limit(limits), band))
        for end in limits:
            if end is not None:
                edge = Line(x="x", y="y", line_color=colour["verdigris"], line_width=2, line_dash=[8, 5])
                draw(plot, edge, layer="underlay", x=ends_x, y=[end] * 2)
    draw(plot, Line(x="x", y="y", line_color=colour["ink-2"], line_width=1), x=ends_x, y=[0.0, 0.0])
    if curve:
        x = [where for where, _, _ in curve]
        ends = [interval for _, _, interval in curve]
        sure = VArea(x="x", y1="low", y2="high", fill_color=colour["slate"], fill_alpha=0.25)
        band = draw(plot, sure, x=x, low=[low for low, _ in ends], high=[high for _, high in ends])
        line = Line(x="x", y="y", line_color=colour["ink"], line_width=2)
        draw(plot, line, x=x, y=[y for _, y, _ in curve])
        told.append(("the error, sure to 95 %", band))
    for name, way, filled in zip(names, ("up", "down", ""), (True, False, True), strict=True):
        some = [(x, y) for x, y, which in points if which == way]
        dots = Scatter(
            x="x",
            y="y",
            marker="circle" if way else "diamond",
            size=13,
            line_color=colour["brass"],
            line_width=2.5,
            fill_color=colour["brass"] if filled else colour["sheet"],
        )
        told.append((name, draw(plot, dots, x=[x for x, _ in some], y=[y for _, y in some])))
    name_them(plot, colour, told)
    return item(plot)


def _limit(limits: tuple[float | None, float | None]) -> str:
    """What the limit's band stands for."""
    low, high = limits
    if low is None:
        return f"the limit: at most {high:+g}".replace("-", "\u2212")
    if high is None:
        return f"the limit: at least {low:+g}".replace("-", "\u2212")
    if low == -high:
        return f"the limit: ± {high:g}"
    return f"the limit: {low:+g} to {high:+g}".replace("-", "\u2212")
