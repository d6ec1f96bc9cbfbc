"""Firings laid over one another: what differs between them is seen where a table only says that it does."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from pegwood.web.charts._look import COLOURS, Item, Scheme, draw, item, paper

Alignment = Literal["first", "half"]
#: What lies at the chart's nought, and the mark of a curve that is laid there.
ALIGNED: dict[Alignment, tuple[str, str]] = {
    "first": ("first light", "first_light"),
    "half": ("half open", "half_open"),
}
OVERLAY_HEIGHT = 340


@dataclass(frozen=True)
class Line:
    """How a curve is drawn: dashes, [pixel], and a colour of the look. No two of them share the dashes."""

    dashes: tuple[int, ...]
    colour: Literal["ink", "brass"]


LINES = (
    Line((), "ink"),
    Line((12, 5), "brass"),
    Line((2, 4), "ink"),
    Line((14, 4, 2, 4), "brass"),
    Line((5, 5), "ink"),
    Line((22, 6), "brass"),
)
"""So many curves can be told apart, and no more."""


@dataclass(frozen=True, kw_only=True)
class Laid:
    """
    A curve to be laid over others.

    Parameters
    ----------
    curve : mapping
        As the instrument thinned it: `t_s`, `level`, `marks_s`.
    line : Line
        How it is drawn.
    """

    curve: Mapping[str, Any]
    line: Line

    def origin_s(self, alignment: Alignment) -> float | None:
        """The moment that is laid at nought, from first light, [s]; None where it was not seen."""
        at: float | None = self.curve["marks_s"].get(ALIGNED[alignment][1])
        return 0.0 if at is None and alignment == "first" else at


def overlay(curves: Sequence[Laid], alignment: Alignment, scheme: Scheme = "light") -> Item:
    """
    Light curves over one another, to be zoomed and moved along the time.

    Parameters
    ----------
    curves : sequence of Laid
        At least one; one whose moment of alignment was not seen is left out.
    alignment : "first" or "half"
        What of each curve is laid at nought: first light, or half of the full-open level.
    scheme : "light" or "dark"
        Which colours of the look to draw in.

    Returns
    -------
    item : dict
        To be embedded by the chart library's JavaScript.
    """
    from bokeh.models import FixedTicker, MultiLine, Range1d, VSpan

    colour = COLOURS[scheme]
    laid = [(one, at) for one in curves if (at := one.origin_s(alignment)) is not None]
    low, high = reach_ms(laid)
    top = max(1.0, *(max(one.curve["level"]) for one, _ in laid))
    plot = paper(
        colour,
        zooms=True,
        height=OVERLAY_HEIGHT,
        x_range=Range1d(start=low, end=high, name="time"),
        y_range=Range1d(start=-0.06, end=top + 0.08),
    )
    plot.yaxis.ticker = FixedTicker(ticks=[0, 0.5, 1])
    plot.yaxis.major_label_overrides = {0: "dark", 0.5: "half", 1: "open"}
    plot.ygrid.grid_line_color = colour["rule"]
    plot.xaxis.axis_label = f"time from {ALIGNED[alignment][0]}, ms"
    nought = VSpan(x="x", line_color=colour["rule"], line_width=2)
    draw(plot, nought, layer="underlay", x=[0.0])
    draw(
        plot,
        MultiLine(xs="t", ys="level", line_color="ink", line_width=3, line_dash="dashes"),
        t=[[1e3 * (t - at) for t in one.curve["t_s"]] for one, at in laid],
        level=[list(one.curve["level"]) for one, _ in laid],
        ink=[colour[one.line.colour] for one, _ in laid],
        dashes=[list(one.line.dashes) for one, _ in laid],
    )
    return item(plot)


def reach_ms(laid: Sequence[tuple[Laid, float]]) -> tuple[float, float]:
    """From the first to the last point of all curves, each with its own origin, and a little more, [ms]."""
    low = min(one.curve["t_s"][0] - at for one, at in laid)
    high = max(one.curve["t_s"][-1] - at for one, at in laid)
    margin = 0.02 * (high - low)
    return 1e3 * (low - margin), 1e3 * (high + margin)
