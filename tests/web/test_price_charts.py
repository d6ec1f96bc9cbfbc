"""Charts of a price and of minutes: what is drawn where, worked out by hand beside each check."""

import json

import numpy as np
import pytest
from test_charts import glyphs

from pegwood.pricing.money import Money
from pegwood.web import charts

#: Forty jobs from 1.00 to 40.00: 1/40 of them cost at most 1.00, 3/40 at most 3.00 and so on.
FORTY = np.arange(100, 4100, 100)[::-1]


def eur(minor: int) -> Money:
    return Money(minor, "EUR")


def spread(prices=FORTY, told=(2000, 3200, 3800), locale="en_GB", **more):
    return charts.price_spread(prices, *map(eur, told), locale=locale, **more)


def dots(item: dict) -> dict:
    (found,) = glyphs(item, "Scatter")
    return found["data"]


def lines(item: dict) -> dict:
    (found,) = glyphs(item, "MultiLine")
    return found["data"]


def named(thing, name: str) -> list:
    """All that stands under a name, from what goes to the browser."""
    if isinstance(thing, list):
        return [found for one in thing for found in named(one, name)]
    if not isinstance(thing, dict):
        return []
    here = [thing[name]] if name in thing else []
    return here + [found for one in thing.values() for found in named(one, name)]


def ends(item: dict) -> tuple[float, float]:
    """Ends of the axis of money."""
    (found,) = named(item, "y_range")
    return found["attributes"]["start"], found["attributes"]["end"]


def ticks(item: dict) -> list[str]:
    """What stands at the marks of the axis of money."""
    (found,) = named(item, "major_label_overrides")
    return [label for _, label in found["entries"]]


def test_the_dots_are_the_middles_of_twenty_equal_shares_of_the_jobs():
    assert dots(spread())["y"] == list(range(100, 4000, 200))


def test_ten_dots_lie_under_the_usual_sixteen_under_not_more_and_nineteen_under_the_worst():
    item = spread()
    colours = charts.COLOURS["light"]
    inks = dots(item)["ink"]
    assert [inks.count(colours[name]) for name in ("verdigris", "brass", "oxide")] == [10, 6, 4]
    assert [fill for fill in dots(item)["fill"] if fill == colours["sheet"]] == [colours["sheet"]]
    assert [ys[0] for ys in lines(item)["ys"]] == [2000, 3200, 3800]


def test_a_fixed_price_is_not_passed_by_the_rounding_of_its_draws():
    """Single floats near 4500.00: the next one up is 0.03 cent further."""
    found = dots(spread(np.nextafter(np.full(50, 450_000, np.float32), np.inf), (450_000,) * 3))
    assert set(found["fill"]) == {charts.COLOURS["light"]["verdigris"]}


def test_points_of_a_distribution_draw_the_same_dots_as_its_draws():
    points = tuple((n / 40, 100.0 * max(1, n)) for n in range(41))
    assert dots(spread(points)) == dots(spread())


def test_a_price_that_many_jobs_come_to_is_a_row_of_dots_and_none_stands_between_two():
    """Half at a minimum charge of 50.00, half at 90.00: nobody pays 70.00."""
    found = dots(spread([5000] * 500 + [9000] * 500, (5000, 9000, 9000)))
    assert found["y"] == [5000] * 10 + [9000] * 10
    assert len(set(found["x"][:10])) == 10
    assert found["x"][:10] == found["x"][10:]


def test_dots_never_touch_nor_reach_the_words():
    """Twenty jobs of one price are the widest row there can be."""
    for prices, told in ((FORTY, (2000, 3200, 3800)), ([4500], (4500, 4500, 4500))):
        item = spread(prices, told)
        (scatter,) = glyphs(item, "Scatter")
        size, found = scatter["glyph"]["size"]["value"], scatter["data"]
        (low, high), a_high = ends(item), charts.SPREAD_HEIGHT
        at = [
            (x, (y - low) / (high - low) * (a_high - 44)) for x, y in zip(found["x"], found["y"], strict=True)
        ]
        gaps = [np.hypot(a[0] - b[0], a[1] - b[1]) for n, a in enumerate(at) for b in at[:n]]
        assert min(gaps) >= size
        assert max(found["x"]) + size < min(xs[2] for xs in lines(item)["xs"])


def test_the_words_of_figures_close_together_stand_apart_in_their_order():
    item = spread([4500], (4500, 4500, 4500), agreed=eur(4500))
    at = [ys[-1] for ys in lines(item)["ys"]]
    low, high = ends(item)
    assert at == sorted(at)
    assert min(np.diff(at)) / (high - low) * (charts.SPREAD_HEIGHT - 44) >= 47.9
    assert [ys[0] for ys in lines(item)["ys"]] == [4500] * 4


def test_the_figures_are_worded_in_the_workshops_locale():
    words, sums = glyphs(spread(locale="de_DE", agreed=eur(3000)), "Text")
    assert words["data"]["text"] == ["usual", "not more than", "worst", "agreed"]
    assert [one.replace("\xa0", " ") for one in sums["data"]["text"]] == [
        "20,00 €",
        "32,00 €",
        "38,00 €",
        "30,00 €",
    ]


@pytest.mark.parametrize(
    ("currency", "locale", "marks"),
    [
        ("EUR", "en_GB", ["0.00", "10.00", "20.00", "30.00", "40.00"]),
        ("JPY", "en_GB", ["0", "1,000", "2,000", "3,000", "4,000"]),
        ("TND", "fr_FR", ["0,000", "1,000", "2,000", "3,000", "4,000"]),
    ],
)
def test_the_axis_has_round_sums_with_the_currencys_decimals(currency, locale, marks):
    item = charts.price_spread(
        FORTY, *(Money(minor, currency) for minor in (2000, 3200, 3800)), locale=locale
    )
    assert ticks(item) == marks


def test_a_price_needs_draws_and_one_currency():
    with pytest.raises(ValueError, match="Expected what was drawn"):
        spread([])
    with pytest.raises(ValueError, match="Expected what was drawn"):
        spread([100.0, float("nan")])
    with pytest.raises(ValueError, match="Expected one currency"):
        spread(agreed=Money(3000, "CHF"))


def test_what_is_drawn_of_a_price_is_strict_json():
    for scheme in ("light", "dark"):
        json.dumps(spread(scheme=scheme), allow_nan=False)


def minutes(number: int, estimated: int, real: int, by_clock: bool = True) -> charts.JobMinutes:
    return charts.JobMinutes(number=number, estimated=estimated, real=real, by_clock=by_clock)


def test_a_job_stands_where_its_estimate_and_its_real_minutes_meet():
    item = charts.estimated_and_real([minutes(1, 60, 90), minutes(2, 120, 120, by_clock=False)])
    (line,) = glyphs(item, "Line")
    assert line["data"]["x"] == line["data"]["y"]
    found = dots(item)
    assert (found["x"], found["y"]) == ([60, 120], [90, 120])
    assert found["shape"] == ["circle", "square"]
    assert found["fill"] == [charts.COLOURS["light"][name] for name in ("brass", "sheet")]
    (across,), (up,) = named(item, "x_range"), named(item, "y_range")
    assert across["attributes"] == up["attributes"]
    assert up["attributes"]["end"] > 120


def test_the_jobs_most_off_are_named_unless_their_names_collide():
    """Ratios 3, 1/2.5, 2.9 right beside the first, 1.5, 1.4, and one that came out as estimated."""
    jobs = [
        minutes(1, 100, 300),
        minutes(2, 250, 100),
        minutes(3, 100, 290),
        minutes(4, 60, 90),
        minutes(5, 150, 210),
        minutes(6, 40, 40),
    ]
    _, names = glyphs(charts.estimated_and_real(jobs), "Text")
    assert names["data"]["text"] == ["job 1", "job 2", "job 4"]
    assert (names["data"]["x"], names["data"]["y"]) == ([100, 250, 60], [300, 100, 90])


def test_jobs_that_came_out_as_estimated_are_not_named():
    assert len(glyphs(charts.estimated_and_real([minutes(1, 60, 70), minutes(2, 90, 85)]), "Text")) == 1


def test_with_no_job_the_line_stands_alone():
    item = charts.estimated_and_real([])
    assert len(glyphs(item, "Line")) == 1
    assert not glyphs(item, "Scatter")
