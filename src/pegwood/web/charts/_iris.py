"""A diaphragm as it stands open, and its error over the marks."""

from __future__ import annotations

import math
from collections.abc import Sequence

from pegwood.web.charts._look import COLOURS, Item, Scheme, draw, item, paper, write


def opening(
    *,
    outline: Sequence[Sequence[float]],
    blades: Sequence[tuple[float, float, int, bool]],
    diameter_px: float | None,
    scheme: Scheme = "light",
    height: int = 380,
) -> Item:
    """
    The edge as it lies in the picture, the circle of its area, and by its hour any blade out of place.

    Parameters
    ----------
    outline : sequence of (float, float)
        The edge, x to the right and y downwards, [pixel].
    blades : sequence of (float, float, int, bool)
        Direction clockwise from upright [°], reach [pixel], hour, whether out of place.
    diameter_px : float or None
        Of the circle with the opening's area; not drawn where it was refused.
    scheme : "light" or "dark"
    height : int
        [pixel]

    Returns
    -------
    item : dict
        To be embedded by the chart library's JavaScript.
    """
    from bokeh.models import Line, Patch

    colour = COLOURS[scheme]
    xs, ys = [point[0] for point in outline], [-point[1] for point in outline]
    middle = ((max(xs) + min(xs)) / 2, (max(ys) + min(ys)) / 2)
    half = 1.32 * max(max(xs) - min(xs), max(ys) - min(ys)) / 2
    plot = paper(
        colour,
        height=height,
        match_aspect=True,
        x_range=(middle[0] - half, middle[0] + half),
        y_range=(middle[1] - half, middle[1] + half),
    )
    plot.xaxis.visible = plot.yaxis.visible = False
    # a circle stays a circle on any paper
    plot.sizing_mode, plot.max_width, plot.aspect_ratio = "scale_width", height, 1
    hole = Patch(x="x", y="y", fill_color=colour["brass-soft"], line_color=colour["ink"], line_width=2)
    draw(plot, hole, x=xs, y=ys)
    if diameter_px:
        turn = [2 * math.pi * n / 180 for n in range(181)]
        mean = (sum(xs) / len(xs), sum(ys) / len(ys))
        circle = Line(x="x", y="y", line_color=colour["verdigris"], line_width=2, line_dash=[6, 5])
        draw(
            plot, circle,
            x=[mean[0] + diameter_px / 2 * math.cos(a) for a in turn],
            y=[mean[1] + diameter_px / 2 * math.sin(a) for a in turn],
        )  # fmt: skip
    wrong = [one for one in blades if one[3]]
    spots = [(math.radians(direction), reach) for direction, reach, _, _ in wrong]
    for angle, reach in spots:  # a bar across the blade that is late or bent
        along = (math.cos(angle), -math.sin(angle))
        at = (middle[0] + reach * math.sin(angle), middle[1] + reach * math.cos(angle))
        bar = Line(x="x", y="y", line_color=colour["oxide"], line_width=6)
        draw(
            plot, bar,
            x=[at[0] + side * 0.25 * reach * along[0] for side in (-1, 1)],
            y=[at[1] + side * 0.25 * reach * along[1] for side in (-1, 1)],
        )  # fmt: skip
    write(
        plot, colour, baseline="middle",
        x=[middle[0] + 0.9 * half * math.sin(angle) for angle, _ in spots],
        y=[middle[1] + 0.9 * half * math.cos(angle) for angle, _ in spots],
        text=[f"{hour} o'clock" for _, _, hour, _ in wrong],
        align=["center"] * len(wrong), dx=[0] * len(wrong),
    )  # fmt: skip
    return item(plot)


def errors_by_mark(
    *,
    marks: Sequence[tuple[float, str, float, Sequence[float], str]],
    limits: Sequence[tuple[float, float | None, float | None]],
    scheme: Scheme = "light",
    height: int = 320,
) -> Item:
    """
    Errors over the marks on the ring, with their 95 % bars; the limit as a band, mark by mark.

    Parameters
    ----------
    marks : sequence of (float, str, float, (float, float), str)
        Exact f-number, as engraved, error and its 95 % interval [EV], "opening", "closing" or nothing.
    limits : sequence of (float, float or None, float or None)
        Exact f-number, lowest and highest allowed error [EV].
    scheme : "light" or "dark"
    height : int
        [pixel]

    Returns
    -------
    item : dict
        To be embedded by the chart library's JavaScript.
    """
    from bokeh.models import Line, Quad, Scatter, Segment

    colour = COLOURS[scheme]
    place = {exact: 2 * math.log2(exact) for exact, *_ in marks}
    heights = [0.0] + [end for one in marks for end in one[3] if end is not None]
    heights += [side for _, *sides in limits for side in sides if side is not None]
    room = 0.12 * max(max(heights) - min(heights), 0.1)
    low, high = min(heights) - room, max(heights) + room
    begin, end = min(place.values()) - 0.6, max(place.values()) + 0.6
    plot = paper(
        colour,
        height=height,
        x_range=(begin, end),
        y_range=(low, high),
        x_axis_label="mark on the ring",
        y_axis_label="light too much, EV",
    )
    plot.xaxis.ticker = sorted(place.values())
    plot.xaxis.major_label_overrides = {place[one[0]]: one[1] for one in marks}
    known = {exact: sides for exact, *sides in limits if exact in place and sides != [None, None]}
    within = Quad(
        left="left", right="right", bottom="bottom", top="top", fill_color=colour["verdigris-soft"],
        line_color=None,
    )  # fmt: skip
    draw(
        plot, within, layer="underlay",
        left=[place[exact] - 0.5 for exact in known], right=[place[exact] + 0.5 for exact in known],
        bottom=[low if side is None else side for side, _ in known.values()],
        top=[high if side is None else side for _, side in known.values()],
    )  # fmt: skip
    draw(plot, Line(x="x", y="y", line_color=colour["ink-2"], line_width=1), x=[begin, end], y=[0.0, 0.0])
    for ways, filled, aside in ((("opening", ""), True, -0.06), (("closing",), False, 0.06)):
        some = [one for one in marks if one[4] in ways]
        aside = aside if any(one[4] == "closing" for one in marks) else 0.0
        at = [place[one[0]] + aside for one in some]
        bars = Segment(x0="x", x1="x", y0="low", y1="high", line_color=colour["slate"], line_width=2)
        draw(plot, bars, x=at, low=[one[3][0] for one in some], high=[one[3][1] for one in some])
        dots = Scatter(
            x="x", y="y", marker="circle", size=12, line_color=colour["brass"], line_width=2.5,
            fill_color=colour["brass"] if filled else colour["sheet"],
        )  # fmt: skip
        draw(plot, dots, x=at, y=[one[2] for one in some])
    return item(plot)
