"""Stock against published examples, closed forms, and own sums that share nothing with the analysis."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from pegwood.pricing.stock import (
    CannotTell,
    Counts,
    Rate,
    Reading,
    base_stock,
    demanded,
    demanded_by_visits,
    fading_of,
    missing_while_spoiling,
    newsvendor,
    newsvendor_normal,
    order_in_lots,
    order_up_to,
    worth_of_the_next,
)

MANY = np.arange(160)


def summed(stock: int, short: float, left: float, pmf) -> float:
    """The expected cost, as its definition says: a plain sum over what may be wanted."""
    return float(pmf(MANY) @ (short * np.maximum(MANY - stock, 0) + left * np.maximum(stock - MANY, 0)))


# --- the newsvendor and the last buy ------------------------------------------------------------------


def test_a_newsvendor_of_poisson_demand_keeps_what_the_textbook_says():
    # Snyder & Shen, Fundamentals of Supply Chain Theory, through stockpyl 1.0.2: 56, 1.797235
    kept = newsvendor(Counts.poisson(50), short=0.70, left=0.18)
    assert kept.stock == 56
    assert kept.cost == pytest.approx(1.797235, abs=1e-6)
    for stock, cost in ((55, 1.806901), (57, 1.820698)):  # the neighbours, own sum
        assert summed(stock, 0.70, 0.18, stats.poisson(50).pmf) == pytest.approx(cost, abs=1e-6)


def test_a_newsvendor_of_normal_demand_keeps_what_the_textbook_says():
    # Snyder & Shen, through stockpyl 1.0.2: 56.60396, 1.997605
    kept = newsvendor_normal(50, 8, short=0.70, left=0.18)
    assert kept.stock == pytest.approx(56.60396, abs=1e-5)
    assert kept.cost == pytest.approx(1.997605, abs=1e-6)


@pytest.mark.parametrize(
    ("mean", "short", "left", "stock", "cost", "runs_out"),
    [
        (12, 70, 30, 14, 122.9916, 0.227975),  # SciPy 1.17.1
        (12, 180, 20, 17, 129.0130, 0.062966),
        (4.5, 95, 5, 8, 24.2581, 0.040257),
    ],
)
def test_a_last_buy_is_a_newsvendor_of_all_that_will_ever_be_wanted(mean, short, left, stock, cost, runs_out):
    kept = newsvendor(Counts.poisson(mean), short, left)
    assert kept.stock == stock
    assert kept.cost == pytest.approx(cost, abs=1e-4)
    assert kept.runs_out == pytest.approx(runs_out, abs=1e-6)


def test_a_rate_that_is_not_known_asks_for_more_than_one_that_is():
    known = newsvendor(Counts.poisson(4.5), 95, 5)
    unsure = newsvendor(demanded(Rate(3, 2), 3), 95, 5)  # the same 4.5 on average, from three events
    assert demanded(Rate(3, 2), 3).mean == pytest.approx(4.5)
    assert unsure.stock > known.stock


# --- made up again each time --------------------------------------------------------------------------


@pytest.mark.parametrize(("stock", "at_once"), [(8, 0.835706), (9, 0.910710), (10, 0.955264)])
def test_the_share_served_at_once_is_the_exercises(stock, at_once):
    # Poisson 1.5 a day, three days to come; SciPy
    assert base_stock(stock, 1.5, 3).served_at_once == pytest.approx(at_once, abs=1e-6)


def test_what_is_called_service_is_two_things_and_they_ask_for_different_stocks():
    exercise = {n: base_stock(n, 1.5, 3) for n in range(20)}
    assert exercise[8].on_order == 4.5
    assert exercise[8].short_in_period == pytest.approx(0.152763, abs=1e-6)
    assert exercise[9].by_backorders == pytest.approx(0.892, abs=5e-4)
    assert min(n for n, told in exercise.items() if told.served_at_once >= 0.9) == 9
    assert min(n for n, told in exercise.items() if told.by_backorders >= 0.9) == 10
    assert newsvendor(Counts.poisson(6), short=6, left=0.01).stock == 14  # ratio .998336


@pytest.mark.parametrize(
    ("mean", "missing"),
    [
        (1.0, (1, 0.367879, 0.103638, 0.023337, 0.004349)),
        (2.5, (2.5, 1.582085, 0.869382, 0.413196, 0.170772)),
    ],
)
def test_expected_back_orders_are_the_tables(mean, missing):
    told = Counts.poisson(mean)
    assert [told.missing(n) for n in range(5)] == pytest.approx(missing, abs=1e-6)  # SciPy
    if mean == 1:
        no_wait = [1 - told.above(n - 1) for n in (1, 2, 3)]  # P(D <= S - 1)
        assert no_wait == pytest.approx((0.367879, 0.735759, 0.919699), abs=1e-6)


# --- orders that cost something -----------------------------------------------------------------------


def test_order_up_to_is_the_textbooks():
    # Snyder & Shen, example 4.7: h 1, p 4, K 5, Poisson(6): (4, 10), 8.034112 a period
    told = order_up_to(Counts.poisson(6), keep=1, short=4, order=5)
    assert (told.at, told.up_to) == (4, 10)
    assert told.cost == pytest.approx(8.034112, abs=1e-6)


def test_order_in_lots_is_the_textbooks():
    # Snyder & Shen, example 5.8: h 20, p 150, K 100, rate 1.5, two to come: (3, 5), 107.923581
    told = order_in_lots(1.5, 2, keep=20, short=150, order=100)
    assert (told.at, told.up_to - told.at) == (3, 5)
    assert told.cost == pytest.approx(107.923581, abs=1e-6)


def by_chain(s: int, top: int, pmf, keep: float, short: float, order: float) -> float:
    """Cost a period of one pair, by the long-run shares of the chain of the stock: another route."""
    places = list(range(s + 1, top + 1))  # after ordering
    moves = np.zeros((len(places), len(places)))
    cost = np.zeros(len(places))
    for i, stock in enumerate(places):
        for wanted, chance in enumerate(pmf):
            left = stock - wanted
            after = top if left <= s else left
            moves[i, after - s - 1] += chance
            cost[i] += chance * (keep * max(left, 0) + short * max(-left, 0) + order * (left <= s))
    balance = moves.T - np.eye(len(places))
    balance[-1] = 1.0  # the shares come to 1
    shares = np.linalg.solve(balance, np.eye(len(places))[-1])
    return float(shares @ cost)


@pytest.mark.parametrize(
    ("mean", "keep", "short", "order"), [(1.3, 1, 9, 4), (0.4, 2, 5, 12), (3.0, 1, 2, 1)]
)
def test_no_other_pair_is_cheaper(mean, keep, short, order):
    told = order_up_to(Counts.poisson(mean), keep, short, order)
    pmf = stats.poisson(mean).pmf(np.arange(40))
    grid = {
        (s, top): by_chain(s, top, pmf, keep, short, order) for s in range(-4, 5) for top in range(s + 1, 11)
    }
    assert told.cost == pytest.approx(min(grid.values()), abs=1e-6)
    assert grid[told.at, told.up_to] == pytest.approx(told.cost, abs=1e-6)


# --- a rate that is not known -------------------------------------------------------------------------


def test_what_will_be_wanted_is_negative_binomial():
    # mean a h / b and variance a h / b (1 + h / b): any text on conjugate priors
    shape, over, ahead = 2.5, 4.0, 3.0
    told = demanded(Rate(shape, over), ahead)
    assert told.mean == pytest.approx(shape * ahead / over)
    assert told.variance == pytest.approx(shape * ahead / over * (1 + ahead / over))
    # and none at all: (b / (b + h)) ** a
    assert told.chances[0] == pytest.approx((over / (over + ahead)) ** shape)


def test_counting_moves_a_rate_towards_what_was_counted():
    thought = Rate.about(0.2)
    assert thought.mean == pytest.approx(0.2)
    after = thought.seen(6, 10)
    assert after == Rate(6.5, 12.5)  # a + k, b + t
    assert 0.2 < after.mean < 0.6


def test_with_a_known_number_of_visits_the_mixture_is_the_plain_one():
    each = Rate(2.5, 20.0)
    plain, mixed = demanded(each, 7), demanded_by_visits(Counts.exactly(7), each)
    assert mixed.chances[:12] == pytest.approx(plain.chances[:12], abs=1e-8)


def test_doubt_about_visits_widens_what_will_be_wanted():
    each, visits = Rate(2.5, 20.0), demanded(Rate(4.5, 2.0), 3.0)
    told = demanded_by_visits(visits, each)
    assert told.mean == pytest.approx(visits.mean * each.mean, rel=1e-6)
    # law of total variance: E(V) m + E(V^2) m^2 / a + var(V) m^2, with m = a / b
    m, second = each.mean, visits.variance + visits.mean**2
    assert told.variance == pytest.approx(
        visits.mean * m + second * m**2 / each.shape + visits.variance * m**2, rel=1e-6
    )


def test_needs_of_open_jobs_add_up_one_by_one():
    told = Counts.of_chances([0.5, 0.5, 0.5])
    assert told.chances == pytest.approx([1 / 8, 3 / 8, 3 / 8, 1 / 8])
    both = told.and_(Counts.of_chances([1.0]))
    assert both.chances == pytest.approx([0, 1 / 8, 3 / 8, 3 / 8, 1 / 8])


# --- what one more is worth ---------------------------------------------------------------------------


@given(
    mean=st.floats(0.05, 8),
    there=st.integers(0, 6),
    gain=st.floats(20, 200),
    left=st.floats(0, 15),
)
def test_one_more_pays_below_its_worth_and_not_above(mean, there, gain, left):
    wanted = Counts.poisson(mean)
    worth = worth_of_the_next(wanted, Counts.exactly(there), gain, left)
    pmf = stats.poisson(mean).pmf

    def cost(stock: int, price: float) -> float:
        """Bought at a price; each that is missing loses the gain, each left over gives what it is worth."""
        return price * (stock - there) + summed(stock, gain, -left, pmf)

    assert cost(there + 1, worth * 0.999) <= cost(there, worth * 0.999) + 1e-9
    assert cost(there + 1, worth * 1.001) >= cost(there, worth * 1.001) - 1e-9


def test_parts_that_may_have_gone_bad_count_by_their_chance():
    wanted = Counts.of_chances([0.9, 0.2])
    worth = worth_of_the_next(wanted, Counts.of_chances([0.25]), gain=100)
    # none good (.75): wanted by one or two, .92; one good (.25): by both, .18
    assert worth == pytest.approx(100 * (0.75 * 0.92 + 0.25 * 0.18))


# --- getting worse on the shelf -----------------------------------------------------------------------


def test_a_cell_that_loses_a_tenth_a_year_is_found_to():
    readings = [Reading(years, 100 * 0.9**years, 2 * 0.9**years) for years in (0, 1, 2, 3.5)]
    told = fading_of(readings)
    assert told.per_year == pytest.approx(0.1, abs=1e-12)
    value, u = told.value(10)
    assert value == pytest.approx(100 * 0.9**10)
    assert u > told.value(3.5)[1], "far ahead is less sure, in the same unit"


def test_the_line_and_its_uncertainty_are_numpys():
    rng = np.random.default_rng(5)
    years = np.array([0.0, 0.4, 1.1, 2.0, 2.6])
    values, u = 80 * np.exp(-0.15 * years) * (1 + 0.01 * rng.standard_normal(5)), np.full(5, 0.8)
    told = fading_of([Reading(*each) for each in zip(years, values, u, strict=True)])
    line, spread = np.polyfit(years, np.log(values), 1, w=values / u, cov="unscaled")
    assert math.log(told.value(4.0)[0]) == pytest.approx(float(np.polyval(line, 4.0)))
    at = np.array([4.0, 1.0])
    assert told.value(4.0)[1] / told.value(4.0)[0] == pytest.approx(float(np.sqrt(at @ spread @ at)))


def test_the_chance_that_it_is_still_good_covers_what_happens():
    # two readings each of many cells that really fade by 8 % a year; what each says of the third year
    rng = np.random.default_rng(11)
    chances, good = [], []
    for least in rng.uniform(60, 95, 400):
        truly = 100 * 0.92 ** np.array([0.0, 1.5, 3.0])
        seen = truly[:2] * (1 + 0.02 * rng.standard_normal(2))
        told = fading_of([Reading(0, seen[0], 2.0), Reading(1.5, seen[1], 1.8)])
        chances.append(told.still_good(3.0, least))
        good.append(truly[2] >= least)
    # 400 draws: the mean of the chances and the share that is good lie within 3 sd of each other
    assert np.mean(chances) == pytest.approx(np.mean(good), abs=0.075)
    assert np.mean((np.array(chances) - good) ** 2) < 0.1


def test_one_reading_says_nothing_of_the_future():
    with pytest.raises(CannotTell, match="one day only"):
        fading_of([Reading(0, 100, 2)])
    with pytest.raises(CannotTell, match="one day only"):
        fading_of([Reading(0, 100, 2), Reading(0.001, 99, 2)])


def test_readings_that_cannot_lie_on_one_line_are_refused():
    with pytest.raises(CannotTell, match="scatter"):
        fading_of([Reading(0, 100, 1), Reading(1, 60, 1), Reading(2, 95, 1)])


def test_nothing_that_spoils_is_the_plain_sum():
    told = missing_while_spoiling(3, Rate(2.5, 4.0), 3.0, 0.0)
    assert told == pytest.approx(demanded(Rate(2.5, 4.0), 3.0).missing(3), rel=1e-6)


def test_one_that_spoils_while_one_is_wanted_is_the_closed_form():
    # A stock of one, demand at rate a, spoiling at rate d: it is gone at an exponential time of rate a + d,
    # and from then on all that comes is missing: a (T - (1 - exp(-(a + d) T)) / (a + d)).
    a, d, years = 0.7, 0.4, 2.0
    closed = a * (years - (1 - math.exp(-(a + d) * years)) / (a + d))
    sure = Rate(4e4, 4e4 / a)  # so much is known that the rate is as good as fixed
    assert missing_while_spoiling(1, sure, years, d) == pytest.approx(closed, rel=1e-4)


# --- what cannot be -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: Counts.poisson(-1),
        lambda: Counts.poisson(math.inf),
        lambda: Counts.of_chances([1.2]),
        lambda: Counts(np.array([0.5, 0.4])),
        lambda: Rate(0, 1),
        lambda: Rate.about(0),
        lambda: demanded(Rate(1, 1), -1),
        lambda: newsvendor(Counts.poisson(1), 0, 1),
        lambda: base_stock(1, 0, 1),
        lambda: order_up_to(Counts.poisson(1), 0, 1, 1),
        lambda: order_up_to(Counts.exactly(0), 1, 1, 1),
        lambda: worth_of_the_next(Counts.poisson(1), Counts.exactly(0), gain=5, left=6),
        lambda: Reading(0, 0, 1),
        lambda: missing_while_spoiling(-1, Rate(1, 1), 1, 0),
    ],
)
def test_what_cannot_be_is_refused_in_one_line(wrong):
    with pytest.raises(ValueError, match=r"^[^\n]{20,160}$"):
        wrong()
