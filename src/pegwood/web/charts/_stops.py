"""How focus moves with the stop, against what each stop's depth allows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from pegwood.web.charts._look import COLOURS, Item, Scheme, draw, item, paper

_MM = 1e3


class StopPoint(NamedTuple):
    """
    Best focus at a stop against that at the widest.

    Attributes
    ----------
    f_number : float
    shift_m, low_m, high_m : float
        With the ends of the 95 % interval, [m].
    limit_m : float
        Allowed to either side, [m].
    """

    f_number: float
    shift_m: float
    low_m: float
    high_m: float
    limit_m: float


def shift_by_stop(
    stops: Sequence[StopPoint], *, widest: float, scheme: Scheme = "light", height: int = 320
) -> Item:
    """
    One place along for each stop, the widest first at zero; what is allowed as a bar behind.

    Parameters
    ----------
    stops : sequence of StopPoint
    widest : float
        f-number that all are held against.
    scheme : "light" or "dark"
    height : int
        [pixel]

    Returns
    -------
    item : dict
        To be embedded by the chart library's JavaScript.
    """
    from bokeh.models import FactorRange, Line, Range1d, Scatter, Segment, VBar

    colour = COLOURS[scheme]
    names = [f"f/{widest:g}", *(f"f/{one.f_number:g}" for one in stops)]
    ends = [end for one in stops for end in (one.low_m, one.high_m, one.limit_m, -one.limit_m)]
    low, high = _MM * min([*ends, 0.0]), _MM * max([*ends, 0.0])
    room = max(high - low, 1e-3) * 0.1
    plot = paper(
        colour,
        height=height,
        x_range=FactorRange(factors=names),
        y_range=Range1d(start=low - room, end=high + room),
        y_axis_label="focus moves, mm away from the film",
    )
    bars = VBar(
        x="x", top="top", bottom="bottom", width=0.7, fill_color=colour["verdigris-soft"], line_color=None
    )
    limits = [_MM * one.limit_m for one in stops]
    draw(plot, bars, layer="underlay", x=names[1:], top=limits, bottom=[-one for one in limits])
    path = Line(x="x", y="y", line_color=colour["ink-2"], line_width=1.5)
    shifts = [0.0, *(_MM * one.shift_m for one in stops)]
    draw(plot, path, x=names, y=shifts)
    spread = Segment(x0="x", x1="x", y0="low", y1="high", line_color=colour["ink"], line_width=2.5)
    draw(
        plot, spread,
        x=names[1:], low=[_MM * one.low_m for one in stops], high=[_MM * one.high_m for one in stops],
    )  # fmt: skip
    tint = ["brass", *("oxide" if abs(one.shift_m) > one.limit_m else "brass" for one in stops)]
    dots = Scatter(x="x", y="y", size=12, line_color="tint", fill_color="tint")
    draw(plot, dots, x=names, y=shifts, tint=[colour[one] for one in tint])
    return item(plot)
