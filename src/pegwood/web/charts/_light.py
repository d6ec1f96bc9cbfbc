"""The light of one firing over time, with what was measured drawn on it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pegwood.web.charts._look import COLOURS, Item, Scheme, draw, item, paper, write

WHOLE_HEIGHT, NEAR_HEIGHT = 290, 190


def light_curve(
    curve: Mapping[str, Any],
    *,
    effective_s: float,
    half_height_s: float | None,
    scheme: Scheme = "light",
) -> Item:
    """
    The light of one firing over time, with its edges and half-heights marked.

    The shaded block is the effective time as it is defined: as high as the shutter fully open, and of the
    same area as the curve. Edges too short to be seen at that scale are drawn again below, widened.

    Parameters
    ----------
    curve : mapping
        As the instrument thinned it: `t_s`, `level`, `marks_s`.
    effective_s : float
        Effective time, [s].
    half_height_s : float or None
        Width at half height, [s].
    scheme : "light" or "dark"
        Which colours of the look to draw in.

    Returns
    -------
    item : dict
        To be embedded by the chart library's JavaScript.
    """
    from bokeh.layouts import column, row
    from bokeh.models import BasicTicker

    colour = COLOURS[scheme]
    times, marks = curve["t_s"], curve["marks_s"]
    span = times[-1] - times[0]
    whole = _light(curve, colour, (times[0] - 0.02 * span, times[-1] + 0.02 * span), height=WHOLE_HEIGHT)
    _effective_block(whole, colour, curve, effective_s)
    _edges(whole, colour, marks)
    _edge_words(whole, colour, marks, span)
    _half_heights(whole, colour, marks, half_height_s)
    edges = short_edges(curve)
    if not edges:
        return item(whole)
    zoomed = []
    for low, high, words in edges:
        near = _light(curve, colour, (low, high), height=NEAR_HEIGHT)
        near.xaxis.axis_label = f"{words}, ms"
        near.xaxis.ticker = BasicTicker(desired_num_ticks=3)
        _edges(near, colour, marks)
        _half_heights(near, colour, marks, None)
        zoomed.append(near)
    return item(column(whole, row(*zoomed, sizing_mode="stretch_width"), sizing_mode="stretch_width"))


def light_curve_height(curve: Mapping[str, Any]) -> int:
    """How high the chart of that curve is, [pixel]: the page keeps that place free for it."""
    return WHOLE_HEIGHT + NEAR_HEIGHT * bool(short_edges(curve))


def short_edges(curve: Mapping[str, Any]) -> list[tuple[float, float, str]]:
    """
    Which edges are too short to be seen in a picture of the whole firing, with the stretch to draw widened.

    Parameters
    ----------
    curve : mapping
        As the instrument thinned it: `t_s`, `marks_s`.

    Returns
    -------
    edges : list of (float, float, str)
        Start and end, [s], and what it shows.
    """
    marks, span = curve["marks_s"], curve["t_s"][-1] - curve["t_s"][0]
    found = []
    for begins, ends, words in (
        ("first_light", "fully_open", "opening"),
        ("begins_to_close", "last_light", "closing"),
    ):
        begin, end = marks.get(begins), marks.get(ends)
        if begin is None or end is None or not 0 < end - begin < 0.12 * span:
            continue
        margin = 0.4 * (end - begin)
        found.append((begin - margin, end + margin, words))
    return found


def _light(
    curve: Mapping[str, Any], colour: Mapping[str, str], reach: tuple[float, float], height: int
) -> Any:
    from bokeh.models import FixedTicker, Line

    top = max(1.0, *curve["level"])
    plot = paper(
        colour,
        height=height,
        x_range=(reach[0] * 1e3, reach[1] * 1e3),
        y_range=(-0.06, top + 0.42),
    )
    plot.yaxis.ticker = FixedTicker(ticks=[0, 0.5, 1])
    plot.yaxis.major_label_overrides = {0: "dark", 0.5: "half", 1: "open"}
    plot.ygrid.grid_line_color = colour["rule"]
    plot.xaxis.axis_label = "time from first light, ms"
    light = Line(x="t", y="level", line_color=colour["ink"], line_width=2)
    draw(plot, light, t=[t * 1e3 for t in curve["t_s"]], level=curve["level"])
    return plot


def _effective_block(
    plot: Any, colour: Mapping[str, str], curve: Mapping[str, Any], effective_s: float
) -> None:
    from bokeh.models import Quad

    middle = middle_of(curve)
    draw(
        plot,
        Quad(left="left", right="right", bottom=0, top=1, fill_color=colour["brass-soft"], line_color=None),
        layer="image",
        left=[(middle - effective_s / 2) * 1e3],
        right=[(middle + effective_s / 2) * 1e3],
    )


def middle_of(curve: Mapping[str, Any]) -> float:
    """
    Where the block of the effective time stands, [s].

    Amid the half-heights; where they were not seen, as by video, amid the light itself.
    """
    opens, closes = curve["marks_s"].get("half_open"), curve["marks_s"].get("half_closed")
    if opens is not None and closes is not None:
        return float((opens + closes) / 2)
    light = sum(curve["level"])
    if light <= 0:
        return float((curve["t_s"][0] + curve["t_s"][-1]) / 2)
    return float(sum(t * level for t, level in zip(curve["t_s"], curve["level"], strict=True)) / light)


EDGE_WORDS = {
    "first_light": "first light",
    "fully_open": "fully open",
    "begins_to_close": "begins to close",
    "last_light": "last light",
}
CLOSING = ("begins_to_close", "last_light")


def _edges(plot: Any, colour: Mapping[str, str], marks: Mapping[str, float | None]) -> None:
    from bokeh.models import VSpan

    places = [place for name in EDGE_WORDS if (place := marks.get(name)) is not None]
    line = VSpan(x="x", line_color=colour["brass"], line_dash=[6], line_width=1)
    draw(plot, line, x=[place * 1e3 for place in places])


def _edge_words(plot: Any, colour: Mapping[str, str], marks: Mapping[str, float | None], span: float) -> None:
    """Opening words run to the right of their line, closing words to the left; near ones sit lower."""
    rows = word_rows(marks, span)
    write(
        plot,
        colour,
        baseline="top",
        x=[(marks[name] or 0.0) * 1e3 for name in rows],
        y=[plot.y_range.end - 0.02 - 0.135 * row for row in rows.values()],
        text=[EDGE_WORDS[name] for name in rows],
        align=["right" if name in CLOSING else "left" for name in rows],
        dx=[-5 if name in CLOSING else 5 for name in rows],
    )


def word_rows(marks: Mapping[str, float | None], span: float) -> dict[str, int]:
    """
    On which row, from the top, each edge's words stand, so that none runs into another on a phone's width.

    Parameters
    ----------
    marks : mapping of str to float or None
        From first light, [s]; those that were not seen are left out.
    span : float
        Length of the picture, [s].
    """
    rows = {name: 0 for name in EDGE_WORDS if marks.get(name) is not None}
    opened, closes = marks.get("fully_open"), marks.get("begins_to_close")
    if opened is not None:
        rows["fully_open"] = 1
    if closes is not None:
        rows["begins_to_close"] = 1 if opened is None or closes - opened > 0.6 * span else 2
    return rows


def _half_heights(
    plot: Any, colour: Mapping[str, str], marks: Mapping[str, float | None], half_height_s: float | None
) -> None:
    from bokeh.models import Scatter, Segment

    places = [m * 1e3 for m in (marks.get("half_open"), marks.get("half_closed")) if m is not None]
    both = places if len(places) == 2 else []
    draw(
        plot,
        Segment(x0="x0", x1="x1", y0=0.5, y1=0.5, line_color=colour["brass"], line_width=2),
        x0=both[:1],
        x1=both[1:],
    )
    draw(
        plot,
        Scatter(x="x", y=0.5, size=10, fill_color=colour["sheet"], line_color=colour["brass"], line_width=2),
        x=places,
    )
    if half_height_s is not None and both:
        write(
            plot,
            colour,
            baseline="bottom",
            behind="brass-soft",
            x=[sum(both) / 2],
            y=[0.53],
            text=["half height"],
            align=["center"],
            dx=[0],
        )
