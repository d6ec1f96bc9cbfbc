"""Shares of a whole as bars, each with its 95 % interval."""

from __future__ import annotations

from collections.abc import Sequence

from pegwood.web.charts._look import COLOURS, Item, Scheme, draw, item, paper


def shares(
    bars: Sequence[tuple[str, float, Sequence[float]]],
    *,
    of: str = "% of the glass",
    scheme: Scheme = "light",
    height: int = 240,
) -> Item:
    """
    One bar for each share, the first on top.

    Parameters
    ----------
    bars : sequence of (str, float, (float, float))
        Label, share and its 95 % interval, [%].
    of : str
        What the shares are of.
    scheme : "light" or "dark"
    height : int
        [pixel]

    Returns
    -------
    item : dict
        To be embedded by the chart library's JavaScript.
    """
    from bokeh.models import FactorRange, HBar, Segment

    colour = COLOURS[scheme]
    labels = [label for label, _, _ in bars]
    top = max([0.01, *(max(value, *ends) for _, value, ends in bars)]) * 1.08
    plot = paper(
        colour,
        height=height,
        y_range=FactorRange(factors=labels[::-1]),
        x_range=(0, top),
        x_axis_label=of,
    )
    values = [value for _, value, _ in bars]
    tints = [colour["brass"] if n == 0 else colour["verdigris"] for n in range(len(bars))]
    draw(
        plot,
        HBar(y="y", right="x", height=0.5, fill_color="tint", line_color=None),
        y=labels,
        x=values,
        tint=tints,
    )
    spread = Segment(x0="low", x1="high", y0="y", y1="y", line_color=colour["ink"], line_width=3)
    draw(
        plot, spread,
        y=labels, low=[max(0.0, ends[0]) for *_, ends in bars], high=[ends[1] for *_, ends in bars],
    )  # fmt: skip
    return item(plot)
