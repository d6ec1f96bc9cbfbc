"""A distance scale's errors at the film; sharpness through focus."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from pegwood.web.charts._finder import mark_distances
from pegwood.web.charts._look import COLOURS, Item, Scheme, draw, item, paper, write

_MM = 1e3
_ROOM = 0.12


class ScaleMark(NamedTuple):
    """
    A mark as it was read.

    Attributes
    ----------
    marked_dpt : float
        One over the marked distance, [dpt].
    error_m, low_m, high_m : float
        At the film, with the ends of the 95 % interval, [m].
    depth_m, limit_m : float
        Depth of focus, and what is allowed, to either side, [m].
    """

    marked_dpt: float
    error_m: float
    low_m: float
    high_m: float
    depth_m: float
    limit_m: float


def scale_on_film(marks: Sequence[ScaleMark], *, scheme: Scheme = "light", height: int = 340) -> Item:
    """
    Each mark's error with its 95 % ends, over the distance; the depth of focus as a band, the limit in it.

    Distances lie evenly in dioptres, infinity on the left, and are written in metres as on a lens.

    Parameters
    ----------
    marks : sequence of ScaleMark
    scheme : "light" or "dark"
    height : int
        [pixel]

    Returns
    -------
    item : dict
        To be embedded by the chart library's JavaScript.
    """
    from bokeh.models import Line, Range1d, Scatter, Segment, VArea

    colour = COLOURS[scheme]
    across = sorted(marks, key=lambda one: one.marked_dpt)
    nearest = max(across[-1].marked_dpt, 1e-3)
    side = nearest * 0.06
    heights = [end for one in across for end in (one.low_m, one.high_m, one.depth_m, -one.depth_m)]
    low, high = _MM * min(heights), _MM * max(heights)
    room = (high - low) * _ROOM
    plot = paper(
        colour,
        height=height,
        x_range=Range1d(start=-side, end=nearest + side),
        y_range=Range1d(start=low - room, end=high + room),
        x_axis_label="mark, m",
        y_axis_label="error at the film, mm",
    )
    mark_distances(plot, nearest)
    x = [-side, *(one.marked_dpt for one in across), nearest + side]
    stretched = [across[0], *across, across[-1]]
    for name, widths in (
        ("brass-soft", [_MM * one.depth_m for one in stretched]),
        ("verdigris-soft", [_MM * one.limit_m for one in stretched]),
    ):
        band = VArea(x="x", y1="low", y2="high", fill_color=colour[name])
        draw(plot, band, layer="underlay", x=x, low=[-one for one in widths], high=widths)
    draw(plot, Line(x="x", y="y", line_color=colour["ink-2"], line_width=1), x=[x[0], x[-1]], y=[0.0, 0.0])
    at = [one.marked_dpt for one in across]
    ends = Segment(x0="x", y0="low", x1="x", y1="high", line_color=colour["ink"], line_width=2.5)
    draw(plot, ends, x=at, low=[_MM * one.low_m for one in across], high=[_MM * one.high_m for one in across])
    dots = Scatter(x="x", y="y", size=12, line_color=colour["brass"], fill_color=colour["brass"])
    draw(plot, dots, x=at, y=[_MM * one.error_m for one in across])
    # words on the side where the readings are not
    is_above = sum(one.error_m for one in across) > 0
    edge = -1 if is_above else 1
    for text, width, behind in (
        ("depth of focus", across[-1].depth_m, "brass-soft"),
        ("allowed", across[-1].limit_m, "verdigris-soft"),
    ):
        write(
            plot, colour, baseline="bottom" if is_above else "top", behind=behind,
            x=[nearest + side], y=[edge * _MM * width], text=[text], align=["right"], dx=[-4],
        )  # fmt: skip
    return item(plot)


class ShotPoint(NamedTuple):
    """
    One photograph.

    Attributes
    ----------
    at : float
        Its position, [mm].
    mtf50, low, high : float
        With the ends of the 95 % interval, [cycles/pixel].
    is_left_out : bool
        Whether the fit left it out.
    """

    at: float
    mtf50: float
    low: float
    high: float
    is_left_out: bool


def through_focus(
    shots: Sequence[ShotPoint],
    *,
    curve: Sequence[tuple[float, float]],
    best: float | None,
    ends: Sequence[float] | None,
    scheme: Scheme = "light",
    height: int = 340,
) -> Item:
    """
    Each photograph's MTF50 with its 95 % ends, the fit through them, best focus as a line in its 95 % band.

    Parameters
    ----------
    shots : sequence of ShotPoint
        At least one.
    curve : sequence of (float, float)
        The fit: position [mm] and MTF50 [cycles/pixel]; empty where none was fitted.
    best : float or None
        Best focus, [mm].
    ends : (float, float) or None
        Its 95 % interval, [mm].
    scheme : "light" or "dark"
    height : int
        [pixel]

    Returns
    -------
    item : dict
        To be embedded by the chart library's JavaScript.
    """
    from bokeh.models import Line, Range1d, Scatter, Segment, VArea

    colour = COLOURS[scheme]
    at = [one.at for one in shots]
    side = max(max(at) - min(at), 1e-6) * 0.08
    top = max([one.high for one in shots] + [y for _, y in curve]) * (1 + 1.5 * _ROOM)
    plot = paper(
        colour,
        height=height,
        x_range=Range1d(start=min(at) - side, end=max(at) + side),
        y_range=Range1d(start=0.0, end=top),
        x_axis_label="position, mm away from the film",
        y_axis_label="MTF50, cycles per pixel",
    )
    if best is not None:
        if ends:
            band = VArea(x="x", y1="low", y2="high", fill_color=colour["brass-soft"])
            draw(plot, band, layer="underlay", x=list(ends), low=[0.0] * 2, high=[top] * 2)
        draw(plot, Line(x="x", y="y", line_color=colour["brass"], line_width=2), x=[best] * 2, y=[0.0, top])
        is_left = best < (min(at) + max(at)) / 2
        write(
            plot, colour, baseline="top", x=[best], y=[top], text=["best focus"],
            align=["left" if is_left else "right"], dx=[6 if is_left else -6],
        )  # fmt: skip
    fit = Line(x="x", y="y", line_color=colour["ink"], line_width=2)
    draw(plot, fit, x=[x for x, _ in curve], y=[y for _, y in curve])
    whiskers = Segment(x0="x", y0="low", x1="x", y1="high", line_color=colour["ink"], line_width=2.5)
    draw(plot, whiskers, x=at, low=[one.low for one in shots], high=[one.high for one in shots])
    for left_out, line, fill in ((False, "brass", "brass"), (True, "oxide", "sheet")):
        some = [one for one in shots if one.is_left_out is left_out]
        dots = Scatter(
            x="x", y="y", size=12, line_color=colour[line], line_width=2.5, fill_color=colour[fill]
        )
        draw(plot, dots, x=[one.at for one in some], y=[one.mtf50 for one in some])
    return item(plot)
