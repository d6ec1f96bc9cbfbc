"""Both curtains' way over the gate against time: how they run, the slit between them, the time for flash."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from pegwood.instruments.shutter.curtains import PLACE_U_M
from pegwood.instruments.uncertainty import Measured
from pegwood.web.charts._look import COLOURS, Item, Scheme, draw, item, paper, write

CURTAINS_HEIGHT = 400
ROOM_FOR_WORDS = 0.42  # of the whole time, at the right: on a phone the last slit's width stands there
NEAR = 0.06  # of the gate: closer than that two figures on the axis would run into one another
_POINTS = 60
Run = tuple[list[float], list[float]]


def can_draw_curtains(curtains: Mapping[str, Any] | None) -> bool:
    """Whether it is known when both curtains pass every place."""
    places = (curtains or {}).get("places") or []
    return bool(places) and all(
        p.get("opens_s") is not None and p.get("closes_s") is not None for p in places
    )


def curtains(found: Mapping[str, Any], gate_m: float | None = None, scheme: Scheme = "light") -> Item:
    """
    The travel of both curtains.

    Time runs to the right, the travel upwards. Bars are 95 %: along the time those of the passing, along the
    travel those of the sensor's place. Between the curtains lies the light: its height is the slit, its width
    the exposure of a place. Where the whole gate stands open both moments of that are marked.

    Parameters
    ----------
    found : mapping
        `curtains` of the instrument's result.
    gate_m : float, optional
        Length of the gate, [m]; the runs are drawn on to its ends.
    scheme : "light" or "dark"
        Which colours of the look to draw in.

    Returns
    -------
    item : dict
        To be embedded by the chart library's JavaScript.
    """
    from bokeh.models import FixedTicker, Patch

    colour = COLOURS[scheme]
    places = found["places"]
    ends = (0.0, gate_m) if gate_m is not None else (places[0]["at_m"], places[-1]["at_m"])
    first, second = (run_over(places, name, ends) for name in ("opens", "closes"))
    times, span = (*first[0], *second[0]), ends[1] - ends[0]
    reach = max(times) - min(times)
    plot = paper(
        colour,
        height=CURTAINS_HEIGHT,
        x_range=(min(times) - 0.05 * reach, max(times) + ROOM_FOR_WORDS * reach),
        y_range=(1e3 * (ends[0] - 0.08 * span), 1e3 * (ends[1] + 0.16 * span)),
    )
    plot.xaxis.axis_label = "time, ms"
    plot.yaxis.axis_label = "along the travel, mm"
    plot.yaxis.ticker = FixedTicker(ticks=ticks_mm([p["at_m"] for p in places], ends))
    plot.ygrid.grid_line_color = colour["rule"]
    light = Patch(x="x", y="y", fill_color=colour["brass-soft"], line_color=None)
    draw(plot, light, layer="image", x=[*first[0], *reversed(second[0])], y=[*first[1], *reversed(second[1])])
    _whole_gate(plot, colour, found)
    _run(plot, colour, first, ())
    _run(plot, colour, second, (12, 5))
    _bars(plot, colour, places)
    _slits(plot, colour, places)
    return item(plot)


def ticks_mm(places_m: Sequence[float], ends_m: tuple[float, float]) -> list[float]:
    """The sensors' places, and the ends of the gate where a figure has room beside them, [mm]."""
    span = ends_m[1] - ends_m[0]
    free = [end for end in ends_m if all(abs(end - place) > NEAR * span for place in places_m)]
    return sorted(1e3 * at for at in (*places_m, *free))


def run_over(places: Sequence[Mapping[str, Any]], name: str, ends: tuple[float, float]) -> Run:
    """
    One curtain's run through its passings, as the instrument takes it: even between two sensors, evenly
    accelerated between three.

    Parameters
    ----------
    places : sequence of mapping
        `at_m` and the moment under `name`, [s].
    name : "opens" or "closes"
    ends : (float, float)
        Where the gate begins and ends, [m]: the run is drawn that far, or as far as it leads.

    Returns
    -------
    run : (list of float, list of float)
        Time, [ms], and place, [mm].
    """
    t = np.array([place[f"{name}_s"] for place in places])
    x = np.array([place["at_m"] for place in places])
    origin = t[0]  # near nought the powers of the time keep their digits
    way = np.polynomial.Polynomial.fit(t - origin, x, len(t) - 1)
    length = t[-1] - t[0]
    begin, end = t[0] - origin - length, t[-1] - origin + length
    fine = np.linspace(begin, end, 40 * _POINTS)
    along = way(fine)
    inside = (along >= ends[0] - 1e-9) & (along <= ends[1] + 1e-9) & (way.deriv()(fine) > 0)
    fine = np.linspace(fine[inside][0], fine[inside][-1], _POINTS)
    return [float(v) for v in 1e3 * (fine + origin)], [float(v) for v in 1e3 * way(fine)]


def _run(plot: Any, colour: Mapping[str, str], run: Run, dashes: tuple[int, ...]) -> None:
    from bokeh.models import Line

    line = Line(x="t", y="place", line_color=colour["ink"], line_width=3, line_dash=list(dashes))
    draw(plot, line, t=run[0], place=run[1])


def _bars(plot: Any, colour: Mapping[str, str], places: Sequence[Mapping[str, Any]]) -> None:
    """95 % along both axes at every passing; first curtain solid, second hollow."""
    from bokeh.models import Scatter, Segment

    low_m, high_m = Measured(0.0, PLACE_U_M).coverage_interval()
    passings = [(place, name) for name in ("opens", "closes") for place in places]
    t = [1e3 * place[f"{name}_s"] for place, name in passings]
    y = [1e3 * place["at_m"] for place, _ in passings]
    ends = [[1e3 * end for end in place[f"{name}_95_s"]] for place, name in passings]
    draw(
        plot,
        Segment(x0="low", x1="high", y0="y", y1="y", line_color=colour["ink"], line_width=2),
        low=[low for low, _ in ends],
        high=[high for _, high in ends],
        y=y,
    )
    draw(
        plot,
        Segment(x0="t", x1="t", y0="low", y1="high", line_color=colour["ink"], line_width=2),
        t=t,
        low=[v + 1e3 * low_m for v in y],
        high=[v + 1e3 * high_m for v in y],
    )
    draw(
        plot,
        Scatter(x="t", y="y", size=11, line_width=2, line_color=colour["ink"], fill_color="fill"),
        t=t,
        y=y,
        fill=[colour["ink"] if name == "opens" else colour["sheet"] for _, name in passings],
    )


def _slits(plot: Any, colour: Mapping[str, str], places: Sequence[Mapping[str, Any]]) -> None:
    """The width of the slit where its middle passes a place, as a measure between the curtains."""
    from bokeh.models import Segment

    known = [place for place in places if place.get("slit_m") is not None]
    middle = [1e3 * (place["opens_s"] + place["closes_s"]) / 2 for place in known]
    draw(
        plot,
        Segment(x0="t", x1="t", y0="low", y1="high", line_color=colour["brass"], line_width=3),
        t=middle,
        low=[1e3 * (place["at_m"] - place["slit_m"] / 2) for place in known],
        high=[1e3 * (place["at_m"] + place["slit_m"] / 2) for place in known],
    )
    if known:
        write(
            plot,
            colour,
            baseline="middle",
            x=[1e3 * place["closes_s"] for place in known],
            y=[1e3 * place["at_m"] for place in known],
            text=[f"{1e3 * place['slit_m']:.3g} mm" for place in known],
            align=["left"] * len(known),
            dx=[14] * len(known),
        )


def _whole_gate(plot: Any, colour: Mapping[str, str], found: Mapping[str, Any]) -> None:
    """Both moments between which the whole gate stands open, if there is such a time."""
    from bokeh.models import VSpan

    begins, ends = found.get("flash_from_s"), found.get("flash_until_s")
    if begins is None or ends is None or ends <= begins:
        return
    line = VSpan(x="x", line_color=colour["brass"], line_dash=[6], line_width=2)
    draw(plot, line, x=[1e3 * begins, 1e3 * ends])
    write(
        plot,
        colour,
        baseline="top",
        x=[1e3 * (begins + ends) / 2],
        y=[plot.y_range.end],
        text=["whole gate open: flash"],
        align=["center"],
        dx=[0],
    )
