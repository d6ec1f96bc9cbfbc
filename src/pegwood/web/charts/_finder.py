"""What a rangefinder puts on the film, from infinity to the nearest distance."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from pegwood.web.charts._look import COLOURS, Item, Scheme, draw, item, paper, write

#: Distances a lens scale is marked with, farthest first, [m].
_MARKS_M = (20, 10, 5, 3, 2, 1.5, 1.2, 1, 0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3, 0.25, 0.2)
_MM = 1e3
#: Marks are written no closer together than that share of the sheet's width.
_APART = 0.1
_ROOM = 0.12


class FinderPoint(NamedTuple):
    """
    The curve at one distance.

    Attributes
    ----------
    true_dpt : float
        One over the distance, [dpt].
    error_m, low_m, high_m : float
        On the film, with the ends of the 95 % interval, [m].
    by_eye_m : float
        What a setting by eye is uncertain by there, [m].
    """

    true_dpt: float
    error_m: float
    low_m: float
    high_m: float
    by_eye_m: float


def finder_on_film(
    *,
    points: Sequence[tuple[float, float]],
    curve: Sequence[FinderPoint],
    limit_m: float,
    scheme: Scheme = "light",
    height: int = 340,
) -> Item:
    """
    Readings, the fit in its 95 % band; the depth of focus as a band, what the eye can set as a fainter one.

    Distances lie evenly in dioptres, infinity on the left, and are written in metres as on a lens.

    Parameters
    ----------
    points : sequence of (float, float)
        One over the true distance [dpt], and the error of that one reading on the film [m].
    curve : sequence of FinderPoint
        Empty where none was fitted.
    limit_m : float
        Depth of focus to either side, [m].
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
    nearest = max([at for at, _ in points] + [one.true_dpt for one in curve] + [1e-3])
    heights = [error for _, error in points] + [limit_m, -limit_m]
    heights += [end for one in curve for end in (one.low_m, one.high_m, one.by_eye_m, -one.by_eye_m)]
    low, high = _MM * min(heights), _MM * max(heights)
    room, side = (high - low) * _ROOM, nearest * 0.05
    plot = paper(
        colour,
        height=height,
        y_range=(low - room, high + room),
        x_range=(-side, nearest + side),
        x_axis_label="distance, m",
        y_axis_label="error on the film, mm",
    )
    mark_distances(plot, nearest)
    ends, within = [-side, nearest + side], _MM * limit_m
    depth = VArea(x="x", y1="low", y2="high", fill_color=colour["verdigris-soft"])
    draw(plot, depth, layer="underlay", x=ends, low=[-within] * 2, high=[within] * 2)
    if curve:
        x = [one.true_dpt for one in curve]
        eye = [_MM * one.by_eye_m for one in curve]
        by_eye = VArea(x="x", y1="low", y2="high", fill_color=colour["brass-soft"], fill_alpha=0.55)
        draw(plot, by_eye, layer="underlay", x=x, low=[-one for one in eye], high=eye)
    draw(plot, Line(x="x", y="y", line_color=colour["ink-2"], line_width=1), x=ends, y=[0.0, 0.0])
    if curve:
        band = VArea(x="x", y1="low", y2="high", fill_color=colour["slate"], fill_alpha=0.3)
        draw(
            plot, band, x=x, low=[_MM * one.low_m for one in curve], high=[_MM * one.high_m for one in curve]
        )
        fit = Line(x="x", y="y", line_color=colour["ink"], line_width=2)
        draw(plot, fit, x=x, y=[_MM * one.error_m for one in curve])
    dots = Scatter(
        x="x", y="y", size=12, line_color=colour["brass"], line_width=2.5, fill_color=colour["brass"]
    )
    draw(plot, dots, x=[at for at, _ in points], y=[_MM * error for _, error in points])
    # words on the side where the readings are not
    is_above = sum(error for at, error in points if at <= nearest / 2) > 0
    write(
        plot,
        colour,
        baseline="bottom" if is_above else "top",
        behind="verdigris-soft",
        x=[0.0],
        y=[-within if is_above else within],
        text=["depth of focus"],
        align=["left"],
        dx=[4],
    )
    if curve:
        is_above = curve[-1].error_m > 0
        write(
            plot,
            colour,
            baseline="top" if is_above else "bottom",
            behind="verdigris-soft",
            x=[nearest],
            y=[-eye[-1] if is_above else eye[-1]],
            text=["what the eye can set"],
            align=["right"],
            dx=[-4],
        )
    return item(plot)


def mark_distances(plot: object, nearest_dpt: float) -> None:
    """Marks in metres where a lens scale has them, as many as have room."""
    from bokeh.models import FixedTicker

    kept = {0.0: "∞"}
    for mark in _MARKS_M:
        at = 1 / mark
        if at <= nearest_dpt * 1.001 and at - max(kept) >= _APART * nearest_dpt:
            kept[at] = f"{mark:g}"
    axis = plot.xaxis[0]  # type: ignore[attr-defined]  # the chart library comes untyped
    axis.ticker = FixedTicker(ticks=list(kept))
    axis.major_label_overrides = dict(kept)
