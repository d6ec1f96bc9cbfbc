"""A take-up spool frame by frame, and what turned how hard."""

from __future__ import annotations

from collections.abc import Sequence

from pegwood.web.charts._look import COLOURS, Item, Scheme, draw, item, paper, write

_ROOM = 0.12
_MILLI = 1e3


def spool_turns(
    *,
    turns: Sequence[tuple[int, float]],
    drive_turns: float | None,
    scheme: Scheme = "light",
    height: int = 320,
) -> Item:
    """
    The spool's turns in each advance, falling as it grows; what the drive makes beyond them as a band.

    Parameters
    ----------
    turns : sequence of (int, float)
        Frame, and turns of the spool during its advance.
    drive_turns : float or None
        Turns an advance gives the spool while the clutch holds.
    scheme : "light" or "dark"
    height : int
        [pixel]

    Returns
    -------
    item : dict
        To be embedded by the chart library's JavaScript.
    """
    from bokeh.models import Line, Range1d, VArea

    colour = COLOURS[scheme]
    x, y = [n for n, _ in turns], [made for _, made in turns]
    heights = y if drive_turns is None else [*y, drive_turns]
    room = max(max(heights) - min(heights), 0.05) * _ROOM
    plot = paper(
        colour,
        height=height,
        x_range=Range1d(start=x[0] - 0.5, end=x[-1] + 0.5),
        y_range=Range1d(start=min(heights) - room, end=max(heights) + room),
        x_axis_label="frame",
        y_axis_label="turns in an advance",
    )
    if drive_turns is not None:
        short = min(y[0], drive_turns) < y[0]
        slip = VArea(x="x", y1="low", y2="high", fill_color=colour["oxide" if short else "verdigris-soft"])
        slip.fill_alpha = 0.25 if short else 1.0
        draw(plot, slip, layer="underlay", x=x, low=y, high=[drive_turns] * len(x))
        drive = Line(x="x", y="y", line_color=colour["brass"], line_width=2.5)
        draw(plot, drive, x=[x[0] - 0.5, x[-1] + 0.5], y=[drive_turns] * 2)
        write(
            plot, colour, baseline="bottom", x=[x[0]], y=[drive_turns], text=["the drive"], align=["left"],
            dx=[4],
        )  # fmt: skip
    draw(plot, Line(x="x", y="y", line_color=colour["ink"], line_width=3), x=x, y=y)
    write(
        plot, colour, baseline="top", x=[x[-1]], y=[y[-1]], text=["the spool"], align=["right"], dx=[-4]
    )  # fmt: skip
    return item(plot)


def torque_pulls(
    *,
    pulls_nm: Sequence[float],
    torque_nm: float | None,
    ends_nm: Sequence[float] | None,
    limit_nm: float | None,
    scheme: Scheme = "light",
    height: int = 280,
) -> Item:
    """
    Each pull as a point in the order they came, their mean with its 95 % band, and the limit as a band.

    Parameters
    ----------
    pulls_nm : sequence of float
        [N m]
    torque_nm : float or None
        Their mean, [N m].
    ends_nm : (float, float) or None
        Its 95 % interval, [N m].
    limit_nm : float or None
        Most that is allowed, [N m].
    scheme : "light" or "dark"
    height : int
        [pixel]

    Returns
    -------
    item : dict
        To be embedded by the chart library's JavaScript.
    """
    from bokeh.models import FixedTicker, Line, Range1d, Scatter, VArea

    colour = COLOURS[scheme]
    y = [_MILLI * one for one in pulls_nm]
    x = list(range(1, len(y) + 1))
    heights = [0.0, *y, *(_MILLI * one for one in ends_nm or ())]
    heights += [] if limit_nm is None else [_MILLI * limit_nm]
    high = max(max(heights), 1e-6) * (1 + _ROOM)
    ends = [0.5, len(x) + 0.5]
    plot = paper(
        colour,
        height=height,
        x_range=Range1d(start=ends[0], end=ends[1]),
        y_range=Range1d(start=min(0.0, min(heights)), end=high),
        x_axis_label="pull",
        y_axis_label="torque, mN m",
    )
    plot.xaxis[0].ticker = FixedTicker(ticks=x if len(x) <= 12 else x[:: len(x) // 6])
    if limit_nm is not None:
        allowed = VArea(x="x", y1="low", y2="high", fill_color=colour["verdigris-soft"])
        draw(plot, allowed, layer="underlay", x=ends, low=[0.0] * 2, high=[_MILLI * limit_nm] * 2)
        write(
            plot, colour, baseline="top", behind="verdigris-soft", x=[ends[0]], y=[_MILLI * limit_nm],
            text=["allowed"], align=["left"], dx=[4],
        )  # fmt: skip
    if torque_nm is not None and ends_nm:
        band = VArea(x="x", y1="low", y2="high", fill_color=colour["slate"], fill_alpha=0.3)
        draw(plot, band, x=ends, low=[_MILLI * ends_nm[0]] * 2, high=[_MILLI * ends_nm[1]] * 2)
        mean = Line(x="x", y="y", line_color=colour["ink"], line_width=2)
        draw(plot, mean, x=ends, y=[_MILLI * torque_nm] * 2)
    dots = Scatter(
        x="x", y="y", size=12, line_color=colour["brass"], line_width=2.5, fill_color=colour["brass"]
    )
    draw(plot, dots, x=x, y=y)
    return item(plot)
