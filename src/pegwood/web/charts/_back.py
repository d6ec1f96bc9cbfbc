"""A camera from behind with its back open: where light may have come in, the darker the likelier."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pegwood.web.charts._look import COLOURS, Item, Scheme, draw, item, paper, write

BACK_HEIGHT = 340
#: The sheet is 100 wide and that high; the camera's own shapes are laid out on it, hinge to the right.
_HIGH = (-4.0, 64.0)
_BODY = (3.0, 6.0, 97.0, 52.0)

Box = tuple[float, float, float, float]
#: Left, bottom, right and top of what is shaded for each place; several where it lies at several.
_AT: Mapping[str, tuple[Box, ...]] = {
    "back-seal-top": ((8, 46.5, 90, 49.5),),
    "back-seal-base": ((8, 8.5, 90, 11.5),),
    "cassette": ((8, 14, 26, 44),),
    "hinge": ((91.5, 8.5, 95.5, 49.5),),
    "gate": ((31, 20, 36, 44), (64, 20, 69, 44), (36, 40.5, 64, 44), (36, 20, 64, 23.5)),
    "front": ((36, 23.5, 64, 40.5),),
}
#: Where the words stand: x, y, alignment, what they say before the chance.
_WORDS: Mapping[str, tuple[float, float, str, str]] = {
    "cassette": (3, 57.5, "left", "cassette\n"),
    "back-seal-top": (50, 57, "center", "top "),
    "hinge": (97, 57.5, "right", "hinge\n"),
    "back-seal-base": (50, 1, "center", "base "),
    "gate": (50, 16, "center", "gate "),
    "front": (50, 32, "center", "front\n"),
    "none": (3, 0, "left", "no leak\n"),
}
_LEAST, _MOST = 0.0, 0.9


def back_with_leaks(result: Mapping[str, Any], scheme: Scheme) -> Item:
    """
    The back as a repairer sees it, each place shaded by its chance with the per cent beside it.

    Parameters
    ----------
    result : mapping
        As `measure.leaks` describes it.
    scheme : "light" or "dark"

    Returns
    -------
    item : dict
        To be embedded by the chart library's JavaScript.
    """
    from bokeh.models import Quad, Range1d

    colour = COLOURS[scheme]
    turned = result["travel"] == "right to left"
    plot = paper(
        colour,
        height=BACK_HEIGHT,
        x_range=Range1d(start=0, end=100),
        y_range=Range1d(start=_HIGH[0], end=_HIGH[1]),
    )
    for axis in (plot.xaxis, plot.yaxis):
        axis.visible = False
    _camera(plot, colour, turned)
    chances = {one["at"]: float(one["p"]) for one in result["places"]}
    for at, boxes in _AT.items():
        shade = Quad(
            left="l",
            right="r",
            bottom="b",
            top="t",
            fill_color=colour["oxide"],
            fill_alpha=_LEAST + (_MOST - _LEAST) * chances[at],
            line_color=None,
        )
        _boxes(plot, shade, boxes, turned)
    first = max(chances, key=lambda at: chances[at])
    for chosen in (False, True):
        words = [(at, *_WORDS[at]) for at in _WORDS if (at == first) is chosen]
        write(
            plot,
            {**colour, "ink-2": colour["oxide" if first != "none" else "verdigris"]} if chosen else colour,
            baseline="middle",
            x=[_x(x, turned) for _, x, *_ in words],
            y=[y for _, _, y, *_ in words],
            text=[f"{name}{_percent(chances[at])}" for at, _, _, _, name in words],
            align=[_aligned(align, turned) for _, _, _, align, _ in words],
            dx=[0] * len(words),
        )
    return item(plot)


def _percent(p: float) -> str:
    return ">99 %" if p >= 0.995 else f"{100 * p:.0f} %" if p >= 0.005 else "<1 %"


def _x(x: float, turned: bool) -> float:
    return 100 - x if turned else x


def _aligned(align: str, turned: bool) -> str:
    return {"left": "right", "right": "left"}.get(align, align) if turned else align


def _boxes(plot: Any, glyph: Any, boxes: Sequence[Box], turned: bool) -> None:
    sides = [sorted((_x(left, turned), _x(right, turned))) for left, _, right, _ in boxes]
    draw(
        plot,
        glyph,
        l=[left for left, _ in sides],
        r=[right for _, right in sides],
        b=[bottom for _, bottom, _, _ in boxes],
        t=[top for *_, top in boxes],
    )


def _camera(plot: Any, colour: Mapping[str, str], turned: bool) -> None:
    """Body, grooves, chambers with cassette and spool, gate with the lens behind it, hinge and latch."""
    from bokeh.models import Ellipse, Quad, Segment

    def quads(boxes: Sequence[Box], fill: str, edge: str = "ink-2", width: float = 1.5) -> None:
        glyph = Quad(
            left="l",
            right="r",
            bottom="b",
            top="t",
            fill_color=colour[fill],
            line_color=colour[edge],
            line_width=width,
        )
        _boxes(plot, glyph, boxes, turned)

    quads([_BODY], "sheet", "ink", 3)
    quads([box for at in ("back-seal-top", "back-seal-base", "hinge") for box in _AT[at]], "rule")
    quads([(8, 14, 26, 44), (74, 14, 90, 44)], "rule")
    quads([(31, 20, 69, 44)], "brass-soft")
    quads([(36, 23.5, 64, 40.5)], "sheet", "ink", 2)
    lens = Ellipse(
        x="x", y="y", width="w", height="h", fill_color=None, line_color=colour["ink-2"], line_dash="dashed"
    )
    draw(plot, lens, x=[50.0], y=[32.0], w=[24.0], h=[15.5])
    # cassette with its lip and core, spool with its slots
    quads([(11, 17, 22, 41)], "brass-soft", "brass", 2)
    quads([(22, 17, 23.5, 41), (14.5, 41, 18.5, 43), (14.5, 15, 18.5, 17)], "brass", "brass", 1)
    quads([(78, 17, 87, 41)], "sheet", "brass", 2)
    slots = Segment(x0="x", x1="x", y0="low", y1="high", line_color=colour["brass"], line_width=1.5)
    at = [_x(x, turned) for x in (80, 82.5, 85)]
    draw(plot, slots, x=at, low=[20.0] * 3, high=[38.0] * 3)
    # hinge barrels outside the body, the latch's catch at the other end
    quads([(97, 12, 99.5, 20), (97, 38, 99.5, 46)], "rule", "ink", 1.5)
    quads([(4.2, 25, 6.2, 33)], "rule", "ink", 1.5)
