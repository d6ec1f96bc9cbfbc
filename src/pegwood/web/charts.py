"""
Charts a repairer would rather look at: a light curve with its edges, all speeds against their limits.

Each function returns what the chart library's own JavaScript draws from, as plain data. The library is loaded
when the first chart is asked for: it takes most of a second, and no other page needs it. Every chart stands
beside a table of the same figures, so nothing here is the only way to read anything.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

Scheme = Literal["light", "dark"]
Item = dict[str, Any]

#: The look's colours, as in bench.css: a canvas can't read a style sheet. A test holds the two together.
COLOURS: dict[Scheme, dict[str, str]] = {
    "light": {
        "sheet": "#fffdf8",
        "ink": "#20252a",
        "ink-2": "#59616a",
        "rule": "#ddd5c5",
        "brass": "#8a5f14",
        "brass-soft": "#efe0bd",
        "verdigris": "#1f6b5c",
        "verdigris-soft": "#d8ebe4",
        "oxide": "#a2341f",
        "slate": "#566270",
    },
    "dark": {
        "sheet": "#1c2023",
        "ink": "#ece7dc",
        "ink-2": "#a9aca9",
        "rule": "#33383b",
        "brass": "#d9ad5b",
        "brass-soft": "#3a2f1a",
        "verdigris": "#6fc3ae",
        "verdigris-soft": "#18342e",
        "oxide": "#ee8a72",
        "slate": "#a4b0bc",
    },
}
TEXT = '"Source Sans 3", "Noto Sans", "DejaVu Sans", system-ui, sans-serif'
FIGURES = 'Iosevka, "DejaVu Sans Mono", ui-monospace, monospace'

WHOLE_HEIGHT, NEAR_HEIGHT = 290, 190
VERDICT_COLOUR = {"within": "verdigris", "outside": "oxide"}
VERDICT_MARKER = {"within": "circle", "outside": "triangle"}


@dataclass(frozen=True, kw_only=True)
class Reading:
    """
    One accepted reading of a speed, as it goes on the chart.

    Parameters
    ----------
    error_ev : float
        Error against the target, [EV].
    low_ev, high_ev : float
        The 95 % interval around it, [EV].
    verdict : str
        As the instrument gave it.
    """

    error_ev: float
    low_ev: float
    high_ev: float
    verdict: str


@dataclass(frozen=True, kw_only=True)
class Speed:
    """
    One marked speed: its limit, and what was read as found and as left.

    Parameters
    ----------
    marked : str
        As on the dial.
    limit_low_ev, limit_high_ev : float or None
        The limit, [EV]; None where that side is open. Both None: there is no limit.
    found, left : Reading or None
        What was read before and after the work.
    """

    marked: str
    limit_low_ev: float | None
    limit_high_ev: float | None
    found: Reading | None
    left: Reading | None

    @property
    def readings(self) -> tuple[Reading, ...]:
        return tuple(r for r in (self.found, self.left) if r is not None)


def speeds(rows: Sequence[Speed], scheme: Scheme = "light") -> Item:
    """
    Every speed's error against its limit: the limit as a band, the truth as a line, found hollow, left solid.

    Parameters
    ----------
    rows : sequence of Speed
        From the top of the chart down; each marking once.
    scheme : "light" or "dark"
        Which colours of the look to draw in.

    Returns
    -------
    item : dict
        To be embedded by the chart library's JavaScript.
    """
    from bokeh.models import FactorRange, FixedTicker, HBar, Range1d, VSpan

    colour = COLOURS[scheme]
    low, high = error_range(rows)
    plot = _paper(
        colour,
        height=speeds_height(len(rows)),
        x_range=Range1d(start=low, end=high),
        y_range=FactorRange(factors=[row.marked for row in reversed(rows)]),
    )
    limited = [row for row in rows if row.limit_low_ev is not None or row.limit_high_ev is not None]
    band = colour["verdigris-soft"]
    _draw(
        plot,
        HBar(y="y", left="left", right="right", height=1.0, fill_color=band, line_color=band),
        layer="image",
        y=[row.marked for row in limited],
        left=[low if row.limit_low_ev is None else row.limit_low_ev for row in limited],
        right=[high if row.limit_high_ev is None else row.limit_high_ev for row in limited],
    )
    _draw(plot, VSpan(x="x", line_color=colour["verdigris"], line_width=1.5), layer="underlay", x=[0.0])
    _readings(plot, colour, rows)
    ticks = error_ticks(low, high)
    plot.xaxis.ticker = FixedTicker(ticks=list(ticks))
    plot.xaxis.major_label_overrides = ticks
    plot.xaxis.axis_label = "← too short      error, EV      too long →"
    plot.yaxis.major_label_text_font = FIGURES
    plot.yaxis.major_label_text_color = colour["ink"]
    plot.ygrid.grid_line_color = colour["rule"]
    return _item(plot)


def _readings(plot: Any, colour: Mapping[str, str], rows: Sequence[Speed]) -> None:
    """Whiskers and marks: hollow and above the line as found, solid and below it as left."""
    from bokeh.models import Scatter, Segment

    read = [
        ((row.marked, 0.16 if reading is row.found else -0.16), reading, reading is row.left)
        for row in rows
        for reading in row.readings
    ]
    inks = [colour[VERDICT_COLOUR.get(reading.verdict, "slate")] for _, reading, _ in read]
    ys = [y for y, _, _ in read]
    close = [reading.verdict == "too close to call" for _, reading, _ in read]
    _draw(
        plot,
        Segment(x0="low", x1="high", y0="y", y1="y", line_color="ink", line_width=2),
        low=[reading.low_ev for _, reading, _ in read],
        high=[reading.high_ev for _, reading, _ in read],
        y=ys,
        ink=inks,
    )
    _draw(
        plot,
        Scatter(
            x="x",
            y="y",
            marker="shape",
            size=12,
            fill_color="fill",
            line_color="ink",
            line_width=2,
            line_dash="dash",
        ),
        x=[reading.error_ev for _, reading, _ in read],
        y=ys,
        shape=[VERDICT_MARKER.get(reading.verdict, "circle") for _, reading, _ in read],
        fill=[ink if solid else colour["sheet"] for ink, (_, _, solid) in zip(inks, read, strict=True)],
        ink=inks,
        dash=["2 3" if near and not solid else [] for near, (_, _, solid) in zip(close, read, strict=True)],
    )
    # A solid dot can't be dotted itself: a dotted ring stands around it.
    ringed = [reading for near, reading in zip(close, read, strict=True) if near and reading[2]]
    _draw(
        plot,
        Scatter(x="x", y="y", size=19, fill_color=None, line_color=colour["slate"], line_dash=[2, 3]),
        x=[reading.error_ev for _, reading, _ in ringed],
        y=[y for y, _, _ in ringed],
    )


def speeds_height(n: int) -> int:
    """How high the chart of `n` speeds is, [pixel]: the page keeps that place free for it."""
    return 86 + 40 * n


def error_range(rows: Iterable[Speed]) -> tuple[float, float]:
    """Lowest and highest error to show, [EV]: all that was read and every limit, and never less than ±0.5."""
    ends = [-0.5, 0.5]
    for row in rows:
        ends += [side for side in (row.limit_low_ev, row.limit_high_ev) if side is not None]
        ends += [end for r in row.readings for end in (r.low_ev, r.high_ev)]
    margin = 0.06 * (max(ends) - min(ends))
    return min(ends) - margin, max(ends) + margin


def error_ticks(low: float, high: float) -> dict[float, str]:
    """
    Where the axis of errors is marked, and in what words.

    Thirds of an EV while they can be told apart, as dials and films are stepped; whole EV beyond that.

    Parameters
    ----------
    low, high : float
        Ends of the axis, [EV].

    Returns
    -------
    ticks : dict of float to str
        Words by place, [EV].
    """
    thirds = high - low <= 2.6
    step = 1 / 3 if thirds else float(max(1, math.ceil((high - low) / 9)))
    first, last = math.ceil(low / step), math.floor(high / step)
    return {n * step: _error_words(n, thirds, step) for n in range(first, last + 1)}


def _error_words(n: int, thirds: bool, step: float) -> str:
    if n == 0:
        return "true"
    sign = "+" if n > 0 else "−"
    if not thirds:
        return f"{sign}{abs(n) * step:g}"
    whole, part = divmod(abs(n), 3)
    return f"{sign}{whole or ''}{('', '⅓', '⅔')[part]}"


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
    _effective_block(whole, colour, marks, effective_s, span)
    _edges(whole, colour, marks)
    _edge_words(whole, colour, marks, span)
    _half_heights(whole, colour, marks, half_height_s)
    edges = short_edges(curve)
    if not edges:
        return _item(whole)
    zoomed = []
    for low, high, words in edges:
        near = _light(curve, colour, (low, high), height=NEAR_HEIGHT)
        near.xaxis.axis_label = f"{words}, ms"
        near.xaxis.ticker = BasicTicker(desired_num_ticks=3)
        _edges(near, colour, marks)
        _half_heights(near, colour, marks, None)
        zoomed.append(near)
    return _item(column(whole, row(*zoomed, sizing_mode="stretch_width"), sizing_mode="stretch_width"))


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
    from bokeh.models import FixedTicker, Line, Range1d

    top = max(1.0, *curve["level"])
    plot = _paper(
        colour,
        height=height,
        x_range=Range1d(start=reach[0] * 1e3, end=reach[1] * 1e3),
        y_range=Range1d(start=-0.06, end=top + 0.42),
    )
    plot.yaxis.ticker = FixedTicker(ticks=[0, 0.5, 1])
    plot.yaxis.major_label_overrides = {0: "dark", 0.5: "half", 1: "open"}
    plot.ygrid.grid_line_color = colour["rule"]
    plot.xaxis.axis_label = "time from first light, ms"
    light = Line(x="t", y="level", line_color=colour["ink"], line_width=2)
    _draw(plot, light, t=[t * 1e3 for t in curve["t_s"]], level=curve["level"])
    return plot


def _effective_block(
    plot: Any, colour: Mapping[str, str], marks: Mapping[str, float | None], effective_s: float, span: float
) -> None:
    from bokeh.models import Quad

    opens, closes = marks.get("half_open"), marks.get("half_closed")
    middle = (opens + closes) / 2 if opens is not None and closes is not None else span / 2
    _draw(
        plot,
        Quad(left="left", right="right", bottom=0, top=1, fill_color=colour["brass-soft"], line_color=None),
        layer="image",
        left=[(middle - effective_s / 2) * 1e3],
        right=[(middle + effective_s / 2) * 1e3],
    )


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
    _draw(plot, line, x=[place * 1e3 for place in places])


def _edge_words(plot: Any, colour: Mapping[str, str], marks: Mapping[str, float | None], span: float) -> None:
    """Opening words run to the right of their line, closing words to the left; near ones sit lower."""
    rows = word_rows(marks, span)
    _write(
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
    _draw(
        plot,
        Segment(x0="x0", x1="x1", y0=0.5, y1=0.5, line_color=colour["brass"], line_width=2),
        x0=both[:1],
        x1=both[1:],
    )
    _draw(
        plot,
        Scatter(x="x", y=0.5, size=10, fill_color=colour["sheet"], line_color=colour["brass"], line_width=2),
        x=places,
    )
    if half_height_s is not None and both:
        _write(
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


def _draw(plot: Any, glyph: Any, *, layer: str = "glyph", **columns: Any) -> None:
    """Put a glyph on the sheet with its columns; an empty one is left out."""
    from bokeh.models import ColumnDataSource

    if next(iter(columns.values())):
        plot.add_glyph(ColumnDataSource(data=columns), glyph, level=layer)


def _write(
    plot: Any, colour: Mapping[str, str], *, baseline: str, behind: str = "sheet", **columns: Any
) -> None:
    """Words on the sheet, on a ground of its own: columns `x`, `y`, `text`, `align` and `dx`, [pixel]."""
    from bokeh.core.properties import value
    from bokeh.models import Text

    words = Text(
        x="x",
        y="y",
        text="text",
        text_align="align",
        x_offset="dx",
        text_baseline=baseline,
        text_font=value(TEXT),
        text_font_size="13px",
        text_color=colour["ink-2"],
        background_fill_color=colour[behind],
        background_fill_alpha=0.8,
    )
    _draw(plot, words, **columns)


def _paper(colour: Mapping[str, str], **kinds: Any) -> Any:
    """An empty sheet in the look: no toolbar (a thumb can't hit it), no frame, rules only where they help."""
    from bokeh.plotting import figure

    plot = figure(
        sizing_mode="stretch_width",
        toolbar_location=None,
        tools="",
        background_fill_color=None,
        border_fill_color=None,
        outline_line_color=None,
        min_border_right=14,
        **kinds,
    )
    for axis in (plot.xaxis, plot.yaxis):
        axis.axis_line_color = None
        axis.major_tick_line_color = None
        axis.minor_tick_line_color = None
        axis.major_label_text_color = colour["ink-2"]
        axis.major_label_text_font = TEXT
        axis.major_label_text_font_size = "14px"
        axis.axis_label_text_color = colour["ink-2"]
        axis.axis_label_text_font = TEXT
        axis.axis_label_text_font_size = "14px"
        axis.axis_label_text_font_style = "normal"
    plot.xgrid.grid_line_color = None
    plot.ygrid.grid_line_color = None
    return plot


def _item(root: Any) -> Item:
    from bokeh.embed import json_item

    return dict(json_item(root))
