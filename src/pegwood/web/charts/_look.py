"""The look on a canvas: its colours, its type, an empty sheet to draw on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
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


def draw(plot: Any, glyph: Any, *, layer: str = "glyph", **columns: Any) -> Any:
    """Put a glyph on the sheet with its columns, for a legend to name; an empty one is left out, and None."""
    from bokeh.models import ColumnDataSource

    if next(iter(columns.values())):
        return plot.add_glyph(ColumnDataSource(data=columns), glyph, level=layer)
    return None


def name_them(plot: Any, colour: Mapping[str, str], names: Sequence[tuple[str, Any]]) -> None:
    """What is what, above the sheet, two beside each other: words for what `draw` has put there."""
    from bokeh.models.annotations.legends import Legend, LegendItem

    legend = Legend(
        items=[LegendItem(label=name, renderers=[drawn]) for name, drawn in names if drawn is not None],
        ncols=2,
        label_text_font=TEXT,
        label_text_font_size="15px",
        label_text_color=colour["ink"],
        border_line_color=None,
        background_fill_color=None,
        glyph_width=28,
        spacing=2,
        margin=4,
    )
    plot.add_layout(legend, "above")


def write(
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
        text_font_size="15px",
        text_color=colour["ink-2"],
        background_fill_color=colour[behind],
        background_fill_alpha=0.8,
    )
    draw(plot, words, **columns)


def paper(colour: Mapping[str, str], *, zooms: bool = False, **kinds: Any) -> Any:
    """
    An empty sheet in the look: no toolbar (a thumb can't hit it), no frame, rules only where they help.

    One that zooms does so along the time only, by wheel, by pinching and by drawing it aside; the page has
    buttons for a thumb beside it, and wakes the wheel once the chart is touched, or it would catch whoever
    only scrolls past.
    """
    from bokeh.models import PanTool, ResetTool, WheelZoomTool
    from bokeh.plotting import figure

    moves = [PanTool(dimensions="width"), WheelZoomTool(dimensions="width"), ResetTool()] if zooms else ""
    plot = figure(
        sizing_mode="stretch_width",
        toolbar_location=None,
        tools=moves,
        active_scroll=None,
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
        axis.major_label_text_font_size = "15px"
        axis.axis_label_text_color = colour["ink-2"]
        axis.axis_label_text_font = TEXT
        axis.axis_label_text_font_size = "15px"
        axis.axis_label_text_font_style = "normal"
    plot.xgrid.grid_line_color = None
    plot.ygrid.grid_line_color = None
    return plot


def item(root: Any) -> Item:
    from bokeh.embed import json_item

    return dict(json_item(root))
