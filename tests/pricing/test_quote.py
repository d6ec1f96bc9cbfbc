"""A job's price by draws, against every job there may be gone through by hand, and against convolution."""

from __future__ import annotations

import itertools
import json
import math
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from scipy.stats import chi2

from pegwood.anatomy.parts import Minutes
from pegwood.causes.case import Case
from pegwood.pricing.money import Money
from pegwood.pricing.quote import DRAWS, Done, PartPrice, Terms, quote, settled
from pegwood.pricing.quote.figures import drawn_figure, figure_of
from pegwood.pricing.spread import Triangular, spread_of, total
from pricing.small_job import (
    PARTS,
    TERMS,
    camera,
    causes,
    euro,
    every_job,
    minutes,
    owner_pays,
    posterior,
)

SLOW = Case(answers={"slow": (0.0, 1.0)})
NAMES = ("worn", "dirty", "weak")


def small_quote(case=SLOW, terms=TERMS, seed=3, draws=40_000, **more):
    return quote(causes(), camera(), case, terms, parts=PARTS, draws=draws, seed=seed, **more)


def spread_out(likely):
    return Minutes(low=likely / 2, likely=likely, high=3 * likely)


def moments(chances):
    mean = sum(value * p for value, p in chances.items())
    return mean, sum((value - mean) ** 2 * p for value, p in chances.items())


@pytest.mark.parametrize("slow", [None, True, False])
def test_every_price_comes_as_often_as_going_through_all_jobs_says(slow):
    case = Case() if slow is None else Case(answers={"slow": (1.0 - slow, float(slow))})
    found = small_quote(case).jobs
    expected = every_job(slow)
    cells, counts = np.unique(np.round(found.raw), return_counts=True)
    by_price: dict[float, float] = {}
    for (cents, _), p in expected.items():
        by_price[cents] = by_price.get(cents, 0.0) + p
    assert set(cells) <= set(by_price)
    seen = dict(zip(cells, counts, strict=True))
    large = [cents for cents, p in by_price.items() if p * len(found) >= 5]
    statistic = sum((seen.get(c, 0) - by_price[c] * len(found)) ** 2 / by_price[c] for c in large)
    # level 1 in 10,000 with a fixed seed
    assert statistic / len(found) < chi2.ppf(1 - 1e-4, len(large) - 1)


def test_mean_and_figures_are_within_what_draws_allow():
    price, exact = small_quote().price, owner_pays(every_job(True))
    mean, variance = moments(exact)
    assert price.mean == pytest.approx(mean, abs=4 * math.sqrt(variance / price.draws))
    for figure, p in ((price.usual, 0.5), (price.not_more_than, 0.8), (price.worst, 0.95)):
        below = sum(chance for paid, chance in exact.items() if paid < figure.exact - 0.5)
        upto = sum(chance for paid, chance in exact.items() if paid < figure.exact + 0.5)
        by = 4 * math.sqrt(p * (1 - p) / price.draws)
        assert below - by <= p <= upto + by


def chances_of(slow):
    """The chance of each fault, going through all cameras."""
    cells = posterior(slow)
    return {name: sum(p for cell, p in cells.items() if cell[n]) for n, name in enumerate(NAMES)}


def test_what_is_less_likely_than_a_price_covers_is_left_out_and_told():
    """The gear is worn in three of ten, less than is covered: nobody mends that, and the rest is as exact."""
    chances = chances_of(True)
    left = [name for name in NAMES if chances[name] < 0.35]
    assert left == ["worn"]
    price, whole = small_quote(covers=0.35).price, small_quote().price
    mean, variance = moments(owner_pays(every_job(True, left)))
    assert price.mean == pytest.approx(mean, abs=4 * math.sqrt(variance / price.draws))
    assert whole.beyond.faults == ()
    ((fault, chance),) = price.beyond.faults
    assert (fault, price.beyond.chance) == ("worn", chance)
    assert chance == pytest.approx(chances["worn"], abs=4 * math.sqrt(0.21 / 40_000))
    more, spread = moments(owner_pays(every_job(True)))
    assert price.beyond.mean == pytest.approx(more - mean, abs=4 * math.sqrt((spread + variance) / 2_000))


def test_what_was_found_is_covered_whatever_is():
    found = Case(rulings={"worn": True})
    assert "worn" not in dict(small_quote(found, covers=1.0).price.beyond.faults)


def test_the_wait_is_that_for_the_part_that_comes_last():
    wait, jobs = small_quote().price.wait, every_job(True)
    chance = sum(p for (_, days), p in jobs.items() if days)
    assert wait.chance == pytest.approx(chance, abs=4 * math.sqrt(chance / 40_000))
    assert (wait.usual_days, wait.worst_days) == (0.0, 10.0)


def test_figures_are_told_in_steps_and_hold():
    price = small_quote(terms=replace(TERMS, round_to=500)).price
    for figure in (price.not_more_than, price.worst):
        assert figure.money.minor % 500 == 0
        assert 0 <= figure.money.minor - figure.exact < 500
    assert abs(price.usual.money.minor - price.usual.exact) <= 250


def test_rounding_is_up_for_what_is_promised_and_to_the_nearest_for_what_is_usual():
    assert figure_of(1250.2, 0.8, "EUR", 1).money == Money(1251, "EUR")
    assert figure_of(1250.0000000001, 0.8, "EUR", 1).money == Money(1250, "EUR")
    assert figure_of(1250.5, 0.5, "EUR", 1).money == Money(1251, "EUR")
    assert figure_of(1249, 0.5, "EUR", 500).money == Money(1000, "EUR")


def test_the_same_seed_gives_the_same_price_to_the_last_digit():
    one, same, other = (small_quote(seed=seed, draws=2000).price for seed in (5, 5, 6))
    assert one == same
    assert one != other


def test_a_strip_down_that_faults_share_is_paid_once():
    known = {"worn": True, "dirty": True, "weak": True}
    construction = camera()
    lid = replace(construction.parts["lid"].ways[0], risks=())
    parts = {**construction.parts, "lid": replace(construction.parts["lid"], ways=(lid,))}
    found = quote(
        causes(), replace(construction, parts=parts), Case(rulings=known), TERMS, draws=200, seed=1
    ).jobs
    # all four parts once there and back, whatever was tried: 2 x (4 + 6 + 2 + 3); the rest is mends, in fives
    fives = (found.minutes - 20 - 30 - 20) / 5
    np.testing.assert_allclose(fives, np.round(fives), atol=1e-6)
    assert found.minutes.min() == pytest.approx(20 + 30 + 20 + 10 + 5)


def test_what_is_done_counts_and_what_is_off_only_goes_back():
    known = dict.fromkeys(("worn", "weak"), False) | {"dirty": True}
    done = Done(minutes=31.0, parts=euro(9), off=frozenset({"lid", "gear"}))
    found = quote(causes(), camera(), Case(rulings=known), TERMS, done=done, draws=4000, seed=2).jobs
    least = 20 + 31 + 4 + 2 + 10  # the lid and the gear go back; nothing more comes off
    assert found.minutes.min() == pytest.approx(least)
    assert found.raw.min() == pytest.approx(100 * least + 200 + 100 + 900)


def test_what_is_off_and_never_goes_back_takes_no_time():
    """The lid goes back in 4 minutes, the bridge in 6; of both, only the lid does."""
    nothing_wrong = Case(rulings=dict.fromkeys(NAMES, False))
    both, lid = (
        small_quote(nothing_wrong, draws=10, done=Done(off=frozenset({"lid", "bridge"}), back=back)).jobs
        for back in (None, frozenset({"lid"}))
    )
    assert both.minutes - lid.minutes == pytest.approx(6)
    with pytest.raises(ValueError, match="is not off"):
        Done(back=frozenset({"lid"}))


def test_a_minimum_that_tax_makes_a_cent_too_much_is_no_step_more():
    """35.00 with 21 % in it: 28.93 without, which with 21 % is 35.005."""
    terms = Terms(per_hour=euro(1), minimum=Money(2893, "EUR"), tax=Fraction(21, 100), round_to=100)
    price = small_quote(Case(rulings=dict.fromkeys(NAMES, False)), terms, draws=100).price
    assert price.not_more_than.money == euro(35)


def test_the_minimum_is_paid_by_a_camera_with_nothing_wrong():
    sound = Case(rulings=dict.fromkeys(("worn", "dirty", "weak"), False))
    price = small_quote(sound, draws=100).price
    assert price.usual.money == price.worst.money == euro(36)  # 30 and a fifth
    assert price.drivers == ()
    assert price.looks == ()


def exact_shares():
    """Covariances of each fault's part with the price, by going through every job with weights."""
    rows = []
    for (worn, dirty, weak), p in posterior(True).items():
        for broken, p_broken in ((True, 0.25), (False, 0.75)) if worn and not weak else ((False, 1.0),):
            spring = weak or broken
            cleanings = [(n, 0.8 * 0.2 ** (n - 1)) for n in range(1, 40)] if dirty else [(0, 1.0)]
            springs = [((5.0, 1, 0), 0.4), ((35.0, 2, 1), 0.6)] if spring else [((0.0, 0, 0), 1.0)]
            anything = worn or dirty or spring
            hurts = ((15.0, 0.1), (0.0, 0.9)) if anything else ((0.0, 1.0),)
            for (n, p_n), ((took, tries, new), p_spring), (hurt, p_hurt) in itertools.product(
                cleanings, springs, hurts
            ):
                lid = 2 * (4 + hurt) / max(1, worn + dirty + spring)
                gear = 4 / max(1, worn + dirty)
                of = {
                    "worn": worn * (100 * (20 + lid + gear) + 100 + 1200),
                    "dirty": dirty * (100 * (10 * n + lid + gear) + 100 * n),
                    "weak": spring * (100 * (took + lid + 18) + 100 * tries + 3000 * new),
                }
                raw = sum(of.values()) + 2200
                of["the minimum charge"] = max(3000 - raw, 0)
                rows.append((p * p_broken * p_n * p_spring * p_hurt, of, max(raw, 3000)))
    mean = sum(p * net for p, _, net in rows)
    variance = sum(p * (net - mean) ** 2 for p, _, net in rows)
    return {name: sum(p * of[name] * (net - mean) for p, of, net in rows) / variance for name in rows[0][1]}


def test_shares_by_fault_are_covariances_and_come_to_one():
    price, exact = small_quote().price, exact_shares()
    assert math.fsum(exact.values()) == pytest.approx(1, abs=1e-9)
    assert math.fsum(one.share for one in price.drivers) == pytest.approx(1, abs=1e-6)
    found = {one.fault or one.name: one.share for one in price.drivers}
    for name, share in exact.items():
        assert found[name] == pytest.approx(share, abs=0.02)  # some 4 standard errors of 40,000 draws


def test_the_look_that_narrows_most_takes_away_what_going_through_its_answers_says():
    found = {one.sign: one for one in small_quote(Case()).price.looks}
    whole = owner_pays(every_job())
    mean, variance = moments(whole)
    yes = sum(
        p * (1 - 0.95 * (0.3 if weak else 1) * (0.5 if dirty else 1))
        for (_, dirty, weak), p in posterior().items()
    )
    between = sum(
        p * (moments(owner_pays(every_job(slow)))[0] - mean) ** 2
        for slow, p in ((True, yes), (False, 1 - yes))
    )
    assert found["slow"].share == pytest.approx(between / variance, abs=0.03)
    assert list(found) == sorted(found, key=lambda sign: -found[sign].share)


def test_a_look_that_was_taken_or_that_nobody_could_answer_is_not_proposed():
    looks = small_quote(replace(SLOW, unanswered=frozenset({"slips"}))).price.looks
    assert looks == ()


@pytest.mark.parametrize("shape", ["lognormal", "triangular", "pert", "gamma"])
def test_draws_of_certain_work_agree_with_the_convolution(shape):
    terms = replace(TERMS, shape=shape, hand=0.0, every_job=spread_out(20.0), minimum=None)
    certain = dict.fromkeys(("dirty", "weak"), False) | {"worn": True}
    parts = {
        one.id: replace(one, ways=(replace(one.ways[0], risks=()),))
        for one in camera(spread_out).parts.values()
    }
    of = causes(spread_out)
    plain = replace(of.faults["worn"].mends[0], breaks=())
    of = replace(of, faults={**of.faults, "worn": replace(of.faults["worn"], mends=(plain,))})
    there_and_back = [
        Minutes(low=2 * one.low, likely=2 * one.likely, high=2 * one.high)
        for one in (spread_out(4.0), spread_out(2.0))
    ]
    exact = settled([*there_and_back, spread_out(20.0)], terms, parts_minor=1200, mends=1)
    found = quote(
        of,
        replace(camera(spread_out), parts=parts),
        Case(rulings=certain),
        terms,
        parts=PARTS,
        draws=40_000,
        seed=9,
    ).price
    for name in ("usual", "not_more_than", "worst"):
        drawn, sure = getattr(found, name), getattr(exact, name)
        assert drawn.exact == pytest.approx(sure.exact, abs=4 * drawn.u + exact.off)
        assert drawn.u > 0
        assert sure.u == 0


def test_the_uncertainty_of_a_figure_is_what_repeating_it_shows():
    # decisions 6: the 80 % point of five triangles by 10,000 draws has a standard deviation of 0.37 min
    tasks = [(10, 15, 30), (20, 30, 60), (5, 10, 40), (15, 20, 25), (30, 45, 120)]
    rng = np.random.default_rng(8)
    told, found = [], []
    for _ in range(60):
        sums = np.sort(sum(rng.triangular(*task, 10_000) for task in tasks))
        figure = drawn_figure(sums, 0.8, "EUR", 1)
        told.append(figure.u)
        found.append(figure.exact)
    assert np.mean(told) == pytest.approx(0.37, abs=0.04)
    assert np.std(found) == pytest.approx(0.37, abs=0.11)  # of 60: a tenth either way, three times that
    exact = float(total([Triangular(*task) for task in tasks]).quantile(0.8))
    assert np.mean(found) == pytest.approx(exact, abs=4 * 0.37 / math.sqrt(60))


def test_steps_that_share_the_hand_spread_wider_than_each_by_itself():
    certain = Case(rulings={"worn": True, "dirty": True, "weak": True})
    of, built = causes(spread_out), camera(spread_out)
    widths = []
    for hand in (0.0, 0.6):
        terms = replace(TERMS, hand=hand)
        minutes_of = quote(of, built, certain, terms, draws=20_000, seed=4).jobs.minutes
        widths.append(float(np.std(minutes_of)))
    assert widths[1] > 1.1 * widths[0]


def test_settled_work_by_a_hand_is_refused():
    with pytest.raises(ValueError, match="not independent"):
        settled([minutes(3.0)], TERMS)


def test_settled_work_costs_what_the_convolution_of_its_minutes_does():
    terms = replace(TERMS, hand=0.0)
    steps = [Minutes(low=10, likely=15, high=30), Minutes(low=20, likely=30, high=60)]
    sum_of = total([spread_of(one) for one in (minutes(20.0), *steps)])
    found = settled(steps, terms, parts_minor=1200, mends=1)
    expected = (float(sum_of.quantile(0.8)) * 100 + 1200 + 200 + 100) * 1.2
    assert found.not_more_than.exact == pytest.approx(expected)
    assert found.not_more_than.money.minor == math.ceil(expected)
    assert found.off == pytest.approx(sum_of.off * 120)


def test_a_part_without_a_price_is_told_with_how_often_it_is_needed():
    found = quote(causes(), camera(), SLOW, TERMS, parts={}, draws=20_000, seed=1).price
    worn = sum(p for (is_worn, _, _), p in posterior(True).items() if is_worn)
    spring = sum(p for (_, days), p in every_job(True).items() if days)
    needed = dict(found.unpriced)
    assert needed["gear"] == pytest.approx(worn, abs=0.015)
    assert needed["spring"] == pytest.approx(spring, abs=0.015)


def test_a_fault_that_no_mend_is_known_of_is_told():
    of = causes()
    faults = {**of.faults, "dirty": replace(of.faults["dirty"], mends=())}
    found = quote(replace(of, faults=faults), camera(), Case(), TERMS, draws=2000, seed=1).price
    assert dict(found.no_mend)["dirty"] == pytest.approx(0.5, abs=0.05)


@pytest.mark.parametrize("draws", [1, 50])
def test_a_family_of_which_nothing_is_known_costs_what_every_job_does(draws):
    nothing = replace(causes(), faults={}, signs={})
    price = quote(nothing, camera(), Case(), replace(TERMS, minimum=None), draws=draws).price
    assert price.worst.money == Money(2640, "EUR")  # 20 minutes at 1, 2 of consumables, a fifth of tax


def test_a_fault_of_what_never_comes_off_needs_no_way_in():
    of = causes()
    body = replace(of, faults={one.id: replace(one, part="body") for one in of.faults.values()})
    known = dict.fromkeys(("worn", "weak"), False) | {"dirty": True}
    found = quote(body, camera(), Case(rulings=known), TERMS, draws=500, seed=2).jobs
    assert found.minutes.min() == pytest.approx(20 + 10)


def test_the_json_is_plain_and_says_what_it_rests_on():
    told = json.loads(json.dumps(small_quote(draws=2000).price.to_json()))
    assert {"usual", "not_more_than", "worst", "currency", "drivers", "draws", "seed"} <= told.keys()
    assert told["usual"] <= told["not_more_than"] <= told["worst"]
    assert (told["currency"], told["draws"], told["seed"], told["shape"]) == ("EUR", 2000, 3, "lognormal")
    assert all(one["source"] and one["mark"] for one in told["assumptions"])
    assert any("lognormal" in one["says"] for one in told["assumptions"])


def test_the_shares_that_are_told_still_come_to_one():
    price = small_quote().price
    told = price.to_json(most=2)["drivers"]
    assert [one["fault"] for one in told][2:] == ["all others"]
    assert sum(one["share"] for one in told) == pytest.approx(1, abs=2e-4)


def test_the_chance_to_pass_an_agreed_sum_is_what_going_through_all_jobs_says():
    found = small_quote()
    for agreed in (euro(40), euro(90), euro(150)):
        exact = sum(p for paid, p in owner_pays(every_job(True)).items() if paid > agreed.minor + 0.1)
        by = 4 * math.sqrt(max(exact * (1 - exact), 1e-5) / 40_000)
        assert found.chance_above(agreed) == pytest.approx(exact, abs=by)
    with pytest.raises(ValueError, match="Expected one currency"):
        found.chance_above(Money(1, "GBP"))


def test_the_points_of_the_chart_are_those_of_the_figures():
    found = small_quote()
    points = dict(found.points())
    assert points[0.8] == found.price.not_more_than.exact
    assert list(points.values()) == sorted(points.values())


def test_ten_thousand_draws_are_the_usual_number():
    assert quote(causes(), camera(), SLOW, TERMS).price.draws == DRAWS == 10_000


@pytest.mark.parametrize(
    "make",
    [
        lambda: Terms(per_hour=euro(60), minimum=Money(1, "GBP")),
        lambda: Terms(per_hour=euro(-1)),
        lambda: Terms(per_hour=euro(60), tax=Fraction(3, 2)),
        lambda: Terms(per_hour=euro(60), hand=1.0),
        lambda: Terms(per_hour=euro(60), back=math.nan),
        lambda: Terms(per_hour=euro(60), round_to=0),
        lambda: Terms(per_hour=euro(60), shape="normal"),
        lambda: PartPrice(low=euro(3), likely=euro(2), high=euro(4)),
        lambda: PartPrice(low=euro(3), likely=Money(400, "GBP"), high=euro(5)),
        lambda: Done(minutes=-1),
        lambda: small_quote(done=Done(off=frozenset({"bellows"}))),
        lambda: quote(causes(), camera(), SLOW, TERMS, parts={"gear": PartPrice.known(Money(1, "GBP"))}),
    ],
)
def test_terms_that_cannot_be_are_refused(make):
    with pytest.raises(ValueError, match=r"Expected|expected|no part|rates are in"):
        make()
