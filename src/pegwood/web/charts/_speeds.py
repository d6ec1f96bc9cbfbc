"""All speeds against their limits, as found and as left."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from pegwood.web.charts._look import COLOURS, FIGURES, Item, Scheme, draw, item, paper

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
    from bokeh.models import FactorRange, FixedTicker, HBar, VSpan

    colour = COLOURS[scheme]
    low, high = error_range(rows)
    plot = paper(
        colour,
        height=speeds_height(len(rows)),
        x_range=(low, high),
        y_range=FactorRange(factors=[row.marked for row in reversed(rows)]),
    )
    limited = [row for row in rows if row.limit_low_ev is not None or row.limit_high_ev is not None]
    band = colour["verdigris-soft"]
    draw(
        plot,
        HBar(y="y", left="left", right="right", height=1.0, fill_color=band, line_color=band),
        layer="image",
        y=[row.marked for row in limited],
        left=[low if row.limit_low_ev is None else row.limit_low_ev for row in limited],
        right=[high if row.limit_high_ev is None else row.limit_high_ev for row in limited],
    )
    draw(plot, VSpan(x="x", line_color=colour["verdigris"], line_width=1.5), layer="underlay", x=[0.0])
    _readings(plot, colour, rows)
    ticks = error_ticks(low, high)
    plot.xaxis.ticker = FixedTicker(ticks=list(ticks))
    plot.xaxis.major_label_overrides = ticks
    plot.xaxis.axis_label = "← too short      error, EV      too long →"
    plot.yaxis.major_label_text_font = FIGURES
    plot.yaxis.major_label_text_color = colour["ink"]
    plot.ygrid.grid_line_color = colour["rule"]
    return item(plot)


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
    draw(
        plot,
        Segment(x0="low", x1="high", y0="y", y1="y", line_color="ink", line_width=2),
        low=[reading.low_ev for _, reading, _ in read],
        high=[reading.high_ev for _, reading, _ in read],
        y=ys,
        ink=inks,
    )
    draw(
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
    draw(
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
