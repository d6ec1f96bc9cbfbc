"""A developed strip to scale, and over it how far each frame stands from the one before."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise
from typing import Any

from pegwood.web.charts._look import COLOURS, Item, Scheme, draw, item, paper

STRIP_HEIGHT = 340
#: Share of the picture's height that the strip itself takes, below the spacings.
_STRIP = 0.3
_ROOM = 0.12
#: A mean of some readings is within two standard uncertainties nineteen times in twenty, or nearly.
_WIDE = 2.0


def frames_along(result: Mapping[str, Any], scheme: Scheme) -> Item:
    """
    Each spacing with its uncertainty above the gap it spans, the limit as a band, the strip below.

    Parameters
    ----------
    result : mapping
        As `measure.transport` describes it, with one spacing or more.
    scheme : "light" or "dark"

    Returns
    -------
    item : dict
        To be embedded by the chart library's JavaScript.
    """
    from bokeh.models import Line, Quad, Range1d, Scatter, Segment

    colour = COLOURS[scheme]
    limit = result["pitch_limit"]
    low_limit, high_limit = limit["low_m"] * 1e3, limit["high_m"] * 1e3
    starts = [one["start_m"] * 1e3 for one in result["frames"]]
    middles = [(one + other) / 2 for one, other in pairwise(starts)]
    spacings = [one * 1e3 for one in result["spacings_m"]]
    arms = [_WIDE * u * 1e3 for u in result["spacings_u_m"]]
    if len(middles) != len(spacings):  # frames without a start of their own between: evenly, in their order
        middles = [(n + 0.5) * spacings[0] for n in range(len(spacings))]
    low = min([low_limit, *(one - arm for one, arm in zip(spacings, arms, strict=True))])
    high = max([high_limit, *(one + arm for one, arm in zip(spacings, arms, strict=True))])
    tall = high - low
    floor = low - _ROOM * tall
    bottom = floor - (tall * (1 + 2 * _ROOM)) * _STRIP / (1 - _STRIP)
    ends = [min([0.0, *starts]), max(_end(one) for one in result["frames"])]
    plot = paper(
        colour,
        height=STRIP_HEIGHT,
        x_range=Range1d(start=ends[0] - 3, end=ends[1] + 3),
        y_range=Range1d(start=bottom, end=high + _ROOM * tall),
        x_axis_label="along the strip, mm",
        y_axis_label="frame to frame, mm",
    )
    within = Quad(
        left="l", right="r", bottom="b", top="t", fill_color=colour["verdigris-soft"], line_color=None
    )
    draw(plot, within, layer="underlay", l=[ends[0] - 3], r=[ends[1] + 3], b=[low_limit], t=[high_limit])
    nominal = result["nominal_m"] * 1e3
    line = Line(x="x", y="y", line_color=colour["ink-2"], line_width=1, line_dash="dashed")
    draw(plot, line, x=[ends[0] - 3, ends[1] + 3], y=[nominal, nominal])
    _film(plot, colour, result, ends, (bottom, floor))
    for inside, name in ((True, "brass"), (False, "oxide")):
        some = [
            (x, y, arm)
            for x, y, arm in zip(middles, spacings, arms, strict=True)
            if (low_limit <= y <= high_limit) is inside
        ]
        x, y = [one[0] for one in some], [one[1] for one in some]
        whisker = Segment(x0="x", x1="x", y0="low", y1="high", line_color=colour[name], line_width=3)
        draw(plot, whisker, x=x, low=[y - a for _, y, a in some], high=[y + a for _, y, a in some])
        draw(plot, Scatter(x="x", y="y", size=12, fill_color=colour[name], line_color=colour[name]), x=x, y=y)
    return item(plot)


def _end(frame: Mapping[str, Any]) -> float:
    return float(frame["start_m"] + (frame["width_m"] or 0.0)) * 1e3


def _film(
    plot: Any,
    colour: Mapping[str, str],
    result: Mapping[str, Any],
    ends: list[float],
    between: tuple[float, float],
) -> None:
    """The strip with its frames; no holes where there were none to measure."""
    from bokeh.models import Quad

    bottom, top = between
    tall = top - bottom
    edges = bottom + 0.1 * tall, top - 0.15 * tall
    film = Quad(left="l", right="r", bottom="b", top="t", fill_color=colour["slate"], line_color=None)
    draw(plot, film, l=[ends[0] - 1], r=[ends[1] + 1], b=[edges[0]], t=[edges[1]])
    band = 0.17 * (edges[1] - edges[0]) if result["perforations"] else 0.08 * (edges[1] - edges[0])
    frame = Quad(
        left="l", right="r", bottom="b", top="t", fill_color=colour["brass-soft"], line_color=colour["ink"]
    )
    wide = [one for one in result["frames"] if one["width_m"]]
    draw(
        plot,
        frame,
        l=[one["start_m"] * 1e3 for one in wide],
        r=[_end(one) for one in wide],
        b=[edges[0] + band] * len(wide),
        t=[edges[1] - band] * len(wide),
    )
    if result["perforations"]:
        at = [ends[0] + 1 + n * 4.75 for n in range(int((ends[1] - ends[0]) / 4.75))]
        for low in (edges[0] + 0.2 * band, edges[1] - 0.8 * band):
            hole = Quad(left="l", right="r", bottom="b", top="t", fill_color=colour["sheet"], line_color=None)
            draw(
                plot,
                hole,
                l=at,
                r=[x + 2.0 for x in at],
                b=[low] * len(at),
                t=[low + 0.6 * band] * len(at),
            )
