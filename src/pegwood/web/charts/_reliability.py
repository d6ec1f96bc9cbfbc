"""Whether what was told as 30 % came true three times in ten."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pegwood.web.charts._look import COLOURS, FIGURES, Item, Scheme, draw, item, paper

RELIABILITY_HEIGHT = 390
#: Where the counts stand, below the scale, [%]: by turns in two rows, so that none runs into another on a
#: phone's width.
_COUNTS_AT = (-9.0, -18.0)


@dataclass(frozen=True, kw_only=True)
class Told:
    """
    Chances of about one height.

    Attributes
    ----------
    middle, told, came : float
        Middle of the bin, mean of the chances told, and how often it came true, [%].
    low, high : float
        Interval of how often, [%].
    n : int
        How many.
    agrees : bool
        Whether the interval holds what was told.
    """

    middle: float
    told: float
    came: float
    low: float
    high: float
    n: int
    agrees: bool


def reliability(bins: Sequence[Told], scheme: Scheme = "light") -> Item:
    """
    How often it came true over what was told: on the line both are the same. Below it, how many there were.

    Parameters
    ----------
    bins : sequence of Told
    scheme : "light" or "dark"
        Which colours of the look to draw in.

    Returns
    -------
    item : dict
        To be embedded by the chart library's JavaScript.
    """
    from bokeh.core.properties import value
    from bokeh.models import FixedTicker, Line, Scatter, Segment, Text

    colour = COLOURS[scheme]
    plot = paper(
        colour,
        height=RELIABILITY_HEIGHT,
        x_range=(-3, 103),
        y_range=(-24, 104),
    )
    draw(
        plot,
        Line(x="x", y="y", line_color=colour["verdigris"], line_width=1.5),
        layer="underlay",
        x=[0, 100],
        y=[0, 100],
    )
    inks = [colour["verdigris" if one.agrees else "oxide"] for one in bins]
    told = [one.told for one in bins]
    draw(
        plot,
        Segment(x0="x", x1="x", y0="low", y1="high", line_color="ink", line_width=2),
        x=told,
        low=[one.low for one in bins],
        high=[one.high for one in bins],
        ink=inks,
    )
    draw(
        plot,
        Scatter(x="x", y="y", marker="shape", size=12, fill_color="ink", line_color="ink"),
        x=told,
        y=[one.came for one in bins],
        shape=["circle" if one.agrees else "triangle" for one in bins],
        ink=inks,
    )
    counts = Text(
        x="x",
        y="y",
        text="text",
        text_align="center",
        text_baseline="middle",
        text_font=value(FIGURES),
        text_font_size="15px",
        text_color=colour["ink-2"],
    )
    draw(
        plot,
        counts,
        x=[one.middle for one in bins],
        y=[_COUNTS_AT[n % 2] for n in range(len(bins))],
        text=[str(one.n) for one in bins],
    )
    ticks = [0, 20, 40, 60, 80, 100]
    plot.xaxis.ticker = FixedTicker(ticks=ticks)
    plot.yaxis.ticker = FixedTicker(ticks=ticks)
    plot.ygrid.grid_line_color = colour["rule"]
    plot.xaxis.axis_label = "told, %"
    plot.yaxis.axis_label = "came true, %"
    return item(plot)
