"""Minutes as they were estimated and as they came out, job by job."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from pegwood.web.charts._look import COLOURS, Item, Scheme, draw, item, paper, write

MINUTES_HEIGHT = 390
#: How far apart the axes are marked, [min]: the hours and parts of one that people reckon in.
_STEPS = (5, 10, 15, 30, 60, 120, 240, 480)
_MOST_MARKS = 6
#: So many jobs are named: those most off by ratio, each this far off at least; names so near collide.
_NAMED, _FAR_OFF, _NEAR = 3, 1.25, 0.09


@dataclass(frozen=True, kw_only=True)
class JobMinutes:
    """
    The minutes of a job.

    Attributes
    ----------
    number : int
        The job's.
    estimated, real : int
        Above 0, [min].
    by_clock : bool
        Whether the bench's clock counted what is real; otherwise it is what stands at the work.
    """

    number: int
    estimated: int
    real: int
    by_clock: bool

    @property
    def off_by(self) -> float:
        """How far real and estimated lie apart, as a ratio of 1 and above, [1]."""
        return max(self.real / self.estimated, self.estimated / self.real)


def estimated_and_real(jobs: Sequence[JobMinutes], scheme: Scheme = "light") -> Item:
    """
    Real minutes over estimated ones: on the line both are the same, above it a job took longer.

    A dot is solid where the clock counted, a square is hollow where the minutes are those written down. The
    jobs that are most off are named, unless their names would run into each other.

    Parameters
    ----------
    jobs : sequence of JobMinutes
    scheme : "light" or "dark"
        Which colours of the look to draw in.

    Returns
    -------
    item : dict
        To be embedded by the chart library's JavaScript.
    """
    from bokeh.models import FixedTicker, Line, Scatter

    colour = COLOURS[scheme]
    longest = max((max(one.estimated, one.real) for one in jobs), default=60)
    top = 1.08 * longest
    plot = paper(
        colour,
        height=MINUTES_HEIGHT,
        max_width=560,
        x_range=(0, top),
        y_range=(0, top),
    )
    same = Line(x="x", y="y", line_color=colour["verdigris"], line_width=1.5)
    draw(plot, same, layer="underlay", x=[0, top], y=[0, top])
    write(
        plot,
        colour,
        baseline="middle",
        x=[0, top],
        y=[0.95 * top, 0.05 * top],
        text=["took longer", "took less"],
        align=["left", "right"],
        dx=[6, -6],
    )
    marks = Scatter(
        x="x", y="y", marker="shape", size=12, fill_color="fill", line_color=colour["brass"], line_width=2
    )
    draw(
        plot,
        marks,
        x=[one.estimated for one in jobs],
        y=[one.real for one in jobs],
        shape=["circle" if one.by_clock else "square" for one in jobs],
        fill=[colour["brass" if one.by_clock else "sheet"] for one in jobs],
    )
    named = most_off(jobs)
    at_right = [one.estimated > 0.75 * top for one in named]
    write(
        plot,
        colour,
        baseline="middle",
        x=[one.estimated for one in named],
        y=[one.real for one in named],
        text=[f"job {one.number}" for one in named],
        align=["right" if right else "left" for right in at_right],
        dx=[-11 if right else 11 for right in at_right],
    )
    step = next((one for one in _STEPS if longest / one <= _MOST_MARKS), 480 * math.ceil(longest / 2880))
    ticks = list(range(0, math.floor(top) + 1, step))
    plot.xaxis.ticker = FixedTicker(ticks=ticks)
    plot.yaxis.ticker = FixedTicker(ticks=ticks)
    plot.ygrid.grid_line_color = colour["rule"]
    plot.xaxis.axis_label = "estimated, min"
    plot.yaxis.axis_label = "real, min"
    return item(plot)


def most_off(jobs: Sequence[JobMinutes]) -> list[JobMinutes]:
    """The jobs to be named, those most off first."""
    near = _NEAR * max((max(one.estimated, one.real) for one in jobs), default=0)
    named: list[JobMinutes] = []
    for one in sorted(jobs, key=lambda one: (-one.off_by, one.number)):
        collides = any(
            abs(one.real - other.real) < near and abs(one.estimated - other.estimated) < 4 * near
            for other in named
        )
        if one.off_by >= _FAR_OFF and not collides and len(named) < _NAMED:
            named.append(one)
    return named
