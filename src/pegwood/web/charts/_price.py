"""The price of a job as twenty jobs, with what is told of it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from pegwood.pricing.money import Money
from pegwood.pricing.quote.figures import ROUNDING
from pegwood.web.charts._look import COLOURS, TEXT, Item, Scheme, draw, item, paper

SPREAD_HEIGHT = 400
#: So many dots: each stands for one job in so many.
DOTS = 20
#: The widest the chart is drawn, [pixel]: wider, and the eye loses the way from a dot to its figure.
_WIDEST = 560
#: What the axis of money gets of the height, and the words under it, [pixel].
_HIGH = SPREAD_HEIGHT - 44
#: Across, in pixels of a phone (wider screens stretch them): where dots end, and where words do.
_DOTS_END, _WORDS_END = 165.0, 280.0
#: Across dots, [pixel]: as large as there is room for. Twenty of the smallest side by side still fit.
_LARGEST, _SMALLEST = 22, 8
#: Words stand at least so far apart, and so far from the chart's ends, [pixel].
_APART, _EDGE = 48.0, 24.0


def price_spread(
    prices: ArrayLike,
    usual: Money,
    not_more_than: Money,
    worst: Money,
    *,
    locale: str,
    agreed: Money | None = None,
    scheme: Scheme = "light",
) -> Item:
    """
    A price as twenty jobs: each dot is as likely as any other, and dearer is higher.

    Twenty dots at the quantiles 1/40, 3/40 … 39/40 can be counted, a curve cannot: 10 lie under the usual
    price, 16 under what it is not more than, 19 under the worst, so the three figures are seen and not only
    read (quantile dot plots: Kay, Kola, Hullman and Munson, "When (ish) is my bus?", CHI 2016; memory). A
    histogram would need bins, and a minimum charge that many jobs come to would vanish in one. Each dot's
    middle is at its own price; dots that would touch stand side by side. A figure was rounded for telling, so
    a dot or so more may lie under it.

    The money runs upwards since a chart's height is fixed and a phone's width is not: so the words never run
    into each other, and a figure is a lid over the dots.

    Parameters
    ----------
    prices : array, shape (n_draws,) or (n_points, 2)
        Prices drawn, in minor units of the figures' currency; or rows of a share from 0 to 1, rising, and
        what the price does not exceed in so many jobs.
    usual, not_more_than, worst : Money
        As they are told; lowest first.
    locale : str
        How money is written, such as `en_GB`.
    agreed : Money, optional
        The sum that was agreed.
    scheme : "light" or "dark"
        Which colours of the look to draw in.

    Returns
    -------
    item : dict
        To be embedded by the chart library's JavaScript.

    Raises
    ------
    ValueError
        If there is no price, one is no finite number, or money is of two currencies.
    """
    told = [("usual", usual), ("not more than", not_more_than), ("worst", worst)]
    told += [("agreed", agreed)] if agreed is not None else []
    currencies = sorted({money.currency for _, money in told})
    if len(currencies) > 1:
        raise ValueError(f"Money in {' and '.join(currencies)}. Expected one currency.")
    dots = twenty_jobs(prices)
    low, high = _range([*dots, *(money.minor for _, money in told)])
    a_pixel = (high - low) / _HIGH
    colour = COLOURS[scheme]
    plot = paper(
        colour,
        height=SPREAD_HEIGHT,
        max_width=_WIDEST,
        x_range=(-12, _WORDS_END),
        y_range=(low, high),
    )
    ticks = {at: Money(at, usual.currency).figure(locale) for at in round_sums(low, high)}
    _axes(plot, colour, ticks)
    _figures(plot, colour, [(word, money.minor, money.format(locale)) for word, money in told], a_pixel)
    _dots(plot, colour, dots, [money.minor for _, money in told[:3]], a_pixel)
    return item(plot)


def twenty_jobs(prices: ArrayLike) -> list[float]:
    """
    What 1/40, 3/40 … 39/40 of the jobs do not exceed, in minor units: prices that were drawn, none between.

    Parameters
    ----------
    prices : array, shape (n_draws,) or (n_points, 2)
        As `price_spread` takes them.
    """
    given = np.asarray(prices, dtype=np.float64)
    if given.ndim == 2 and given.shape[1] == 2:
        shares, ordered = given.T
    else:
        ordered = np.sort(given.ravel())
        shares = np.arange(1, len(ordered) + 1) / max(1, len(ordered))
    if not len(ordered) or not np.isfinite(given).all():
        raise ValueError("No prices, or not all of them finite numbers. Expected what was drawn.")
    middles = (np.arange(DOTS) + 0.5) / DOTS
    first = np.searchsorted(shares, middles - 1e-9)
    return [float(one) for one in ordered[np.minimum(first, len(ordered) - 1)]]


def side_by_side(rising: Sequence[float], apart: float) -> list[int]:
    """How far across each dot stands, in dots: the first place where it touches none before it."""
    last: list[float] = []  # the dearest so far in each place
    places = []
    for price in rising:
        free = [n for n, taken in enumerate(last) if price - taken >= apart]
        place = free[0] if free else len(last)
        last[place : place + 1] = [price]
        places.append(place)
    return places


def spread_out(wanted: Sequence[float], apart: float, low: float, high: float) -> list[float]:
    """Places as near as may be to those wanted, in their order, that far apart and between two ends."""
    order = sorted(range(len(wanted)), key=lambda n: wanted[n])
    places = [0.0] * len(wanted)
    below = low - apart
    for n in order:
        below = places[n] = max(wanted[n], below + apart)
    above = high + apart
    for n in reversed(order):
        above = places[n] = min(places[n], above - apart)
    return places


def round_sums(low: float, high: float, most: int = 7) -> list[int]:
    """Multiples of 1, 2 or 5 and noughts between two sums, in whole minor units: so many at most."""
    least = max(1.0, (high - low) / most)
    noughts = 10 ** math.floor(math.log10(least))
    step = next(one * noughts for one in (1, 2, 5, 10) if one * noughts >= least - 1e-9)
    return list(range(math.ceil(low / step) * step, math.floor(high / step) * step + 1, step))


def _range(all_sums: Sequence[float]) -> tuple[float, float]:
    """Lowest and highest sum of the axis: all that is drawn, with a margin; one sum alone amid some room."""
    low, high = min(all_sums), max(all_sums)
    margin = 0.07 * (high - low) or max(10.0, 0.1 * abs(high))
    return low - margin, high + margin


def _axes(plot: Any, colour: Mapping[str, str], ticks: Mapping[int, str]) -> None:
    from bokeh.models import FixedTicker

    plot.yaxis.ticker = FixedTicker(ticks=list(ticks))
    plot.yaxis.major_label_overrides = dict(ticks)
    plot.ygrid.grid_line_color = colour["rule"]
    plot.xaxis.ticker = FixedTicker(ticks=[])
    plot.xaxis.axis_label = "each dot: one job in twenty"


def _dots(
    plot: Any, colour: Mapping[str, str], dots: Sequence[float], told: Sequence[float], a_pixel: float
) -> None:
    """The jobs; where many cost the same, smaller, so that they keep off the words."""
    from bokeh.models import Scatter

    # Drawn a tenth smaller: long sums at the axis leave a phone less than _WORDS_END.
    for size in range(_LARGEST, _SMALLEST - 1, -1):
        places = side_by_side(dots, size * a_pixel)
        if size * (1 + max(places)) <= _DOTS_END - 4:
            break
    passed = [sum(one > lid + ROUNDING for lid in told) for one in dots]
    inks = [colour[("verdigris", "brass", "oxide", "oxide")[lids]] for lids in passed]
    draw(
        plot,
        Scatter(
            x="x",
            y="y",
            marker="circle",
            size=0.9 * size,
            fill_color="fill",
            line_color="ink",
            line_width=1.5,
        ),
        x=[size * place for place in places],
        y=list(dots),
        ink=inks,
        fill=[colour["sheet"] if lids == len(told) else ink for lids, ink in zip(passed, inks, strict=True)],
    )


def _figures(
    plot: Any, colour: Mapping[str, str], told: Sequence[tuple[str, float, str]], a_pixel: float
) -> None:
    """A line at each figure over the dots, and from it to its words, which keep clear of each other."""
    from bokeh.core.properties import value
    from bokeh.models import MultiLine, Text

    low, high = plot.y_range.start + _EDGE * a_pixel, plot.y_range.end - _EDGE * a_pixel
    sums = [minor for _, minor, _ in told]
    at = spread_out(sums, _APART * a_pixel, low, high)
    inks = [colour[name] for name in ("verdigris", "brass", "oxide", "ink")[: len(told)]]
    draw(
        plot,
        MultiLine(xs="xs", ys="ys", line_color="ink", line_width="width", line_dash="dash"),
        layer="underlay",
        xs=[[-12, _DOTS_END - 8, _DOTS_END + 3, _WORDS_END] for _ in told],
        ys=[[minor, minor, words, words] for minor, words in zip(sums, at, strict=True)],
        ink=inks,
        width=[2.0, 2.0, 2.0, 2.5][: len(told)],
        dash=[[], [], [], [7, 4]][: len(told)],
    )
    for which, size, style, ink, baseline in (
        (0, "15px", "normal", "ink-2", "bottom"),
        (2, "16px", "bold", "ink", "top"),
    ):
        words = Text(
            x=_WORDS_END,
            y="y",
            text="text",
            text_align="right",
            text_baseline=baseline,
            text_font=value(TEXT),
            text_font_size=size,
            text_font_style=style,
            text_color=colour[ink],
            y_offset=-1 if baseline == "bottom" else 3,
            background_fill_color=colour["sheet"],
            background_fill_alpha=0.8,
        )
        draw(plot, words, y=at, text=[str(one[which]) for one in told])
