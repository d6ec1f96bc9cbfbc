"""What is sensible, and what each way of being paid may lose, against every job gone through by hand."""

from __future__ import annotations

import itertools
import json
import math
from dataclasses import replace

import pytest

from pegwood.causes.case import Case
from pegwood.pricing.money import Money
from pegwood.pricing.quote import quote
from pegwood.pricing.sensible import (
    Worths,
    by_the_hour,
    fixed,
    fixed_for_chance,
    fixed_with_margin,
    sensible,
    which_can_stay,
)
from pricing.small_job import PARTS, TERMS, camera, causes, euro, every_job, minutes, owner_pays, posterior

#: An hour costs the bench 42, where it charges 60.
OWN = replace(TERMS, own_per_hour=euro(42))
DRAWS = 40_000


@pytest.fixture(scope="module")
def quoted():
    slow = Case(answers={"slow": (0.0, 1.0)})
    return quote(causes(), camera(), slow, OWN, parts=PARTS, draws=DRAWS, seed=12)


def own_costs(left=()):
    """By (own cost, net price): chance. Minutes are what is left of the rates' sum at 1 a minute."""
    found: dict[tuple[float, float], float] = {}
    for (worn, dirty, weak), p in posterior(True).items():
        worn, dirty, weak = worn and "worn" not in left, dirty and "dirty" not in left, weak
        for broken, p_b in ((True, 0.25), (False, 0.75)) if worn and not weak else ((False, 1.0),):
            spring = (weak and "weak" not in left) or broken
            cleanings = [(n, 0.8 * 0.2 ** (n - 1)) for n in range(1, 40)] if dirty else [(0, 1.0)]
            springs = [((5.0, 1, 0), 0.4), ((35.0, 2, 1), 0.6)] if spring else [((0.0, 0, 0), 1.0)]
            off = 8 * (worn or dirty or spring) + 4 * (worn or dirty) + 18 * spring
            hurts = ((30.0, 0.1), (0.0, 0.9)) if off else ((0.0, 1.0),)
            for (n, p_n), ((took, tries, new), p_s), (hurt, p_h) in itertools.product(
                cleanings, springs, hurts
            ):
                took_all = 20 + off + hurt + 20 * worn + 10 * n + took
                goods = 200 + 100 * (worn + n + tries) + 1200 * worn + 3000 * new
                cell = took_all * 70 + goods, max(took_all * 100 + goods, 3000)
                found[cell] = found.get(cell, 0.0) + p * p_b * p_n * p_s * p_h
    return found


def mean_of(chances, of):
    """Mean, and four standard errors of a mean of `DRAWS` draws."""
    mean = sum(of(*cell) * p for cell, p in chances.items())
    variance = sum((of(*cell) - mean) ** 2 * p for cell, p in chances.items())
    return mean, 4 * math.sqrt(variance / DRAWS) + 1e-6


def test_a_fixed_price_loses_what_going_through_all_jobs_says(quoted):
    found, jobs = fixed(quoted.jobs, euro(90)), own_costs()
    net = 9000 / 1.2
    chance, by = mean_of(jobs, lambda cost, _: float(cost > net + 0.1))
    assert 0.02 < chance < 0.98
    assert found.bench.chance == pytest.approx(chance, abs=by)
    loss, by = mean_of(jobs, lambda cost, _: max(cost - net, 0))
    assert found.bench.expected == pytest.approx(loss, abs=by)
    assert found.bench.when == pytest.approx(found.bench.expected / found.bench.chance)
    assert 4 * found.bench.u == pytest.approx(by, rel=0.1)
    kept, by = mean_of(jobs, lambda cost, _: net - cost)
    assert found.bench_keeps == pytest.approx(kept, abs=by)
    over, by = mean_of(jobs, lambda _, price: max(9000 - 1.2 * price, 0))
    assert found.owner.expected == pytest.approx(over, abs=by)
    assert found.owner_pays == 9000


def test_hours_with_a_cap_lose_what_going_through_all_jobs_says(quoted):
    found, jobs = by_the_hour(quoted.jobs, euro(80)), own_costs()
    paid, by = mean_of(jobs, lambda _, price: min(1.2 * price, 8000))
    assert found.owner_pays == pytest.approx(paid, abs=by)
    chance, by = mean_of(jobs, lambda cost, price: float(cost > min(price, 8000 / 1.2) + 0.1))
    assert found.bench.chance == pytest.approx(chance, abs=by)
    loss, by = mean_of(jobs, lambda cost, price: max(cost - min(price, 8000 / 1.2), 0))
    assert found.bench.expected == pytest.approx(loss, abs=by)
    assert found.owner.chance == 0  # nobody pays more than the hours


def test_hours_without_a_cap_lose_nothing(quoted):
    found = by_the_hour(quoted.jobs)
    assert found.sum is None
    assert (found.bench.chance, found.bench.when, found.owner.chance) == (0, 0, 0)


def test_an_hour_costs_the_bench_what_it_charges_where_nothing_is_said():
    slow = Case(answers={"slow": (0.0, 1.0)})
    jobs = quote(causes(), camera(), slow, TERMS, parts=PARTS, draws=4000, seed=1).jobs
    assert by_the_hour(jobs).bench_keeps == pytest.approx(float((jobs.net - jobs.raw).mean()), abs=1e-6)


def test_a_margin_is_on_top_of_the_average_job(quoted):
    mean = sum(paid * p for paid, p in owner_pays(every_job(True)).items())
    assert fixed_with_margin(quoted.jobs, 0.15).minor == pytest.approx(1.15 * mean, rel=0.01)


def test_the_lowest_fixed_price_for_a_chance_of_loss_keeps_to_it(quoted):
    price = fixed_for_chance(quoted.jobs, 0.2)
    assert fixed(quoted.jobs, price).bench.chance <= 0.2
    assert fixed(quoted.jobs, price - euro(0.05)).bench.chance > 0.2
    exact = sum(p for (cost, _), p in own_costs().items() if 1.2 * cost > price.minor + 0.1)
    assert exact == pytest.approx(fixed(quoted.jobs, price).bench.chance, abs=0.01)


WORTHS = Worths(
    mended=euro(180),
    unmended=euro(70),
    stays={"dirty": euro(8), "worn": euro(90)},
    cleaned=euro(90),
    clean=minutes(30.0),
    as_found=euro(60),
    for_parts=euro(75),
    paid_for_parts=euro(50),
)


def test_what_is_on_top_of_a_parts_cost_stays_with_the_bench():
    """Every camera needs the gear of 12: a quarter on top of its cost is 2.40 of them."""
    case, terms = Case(rulings={"worn": True, "dirty": False, "weak": False}), replace(TERMS, part_costs=0.8)
    plain, more = (
        quote(causes(), camera(), case, one, parts=PARTS, draws=500, seed=1).jobs for one in (TERMS, terms)
    )
    gear_only = plain.parts == 1200  # where the mend broke the spring it needs that, too
    assert 0.5 < gear_only.mean() < 1
    assert (plain.own_cost - more.own_cost)[gear_only] == pytest.approx(240)


def test_owner_and_bench_have_of_mending_what_going_through_all_jobs_says(quoted):
    options = {one.kind: one for one in sensible(quoted, WORTHS).options}
    jobs, found = own_costs(), options["mend"]
    owner, by = mean_of(jobs, lambda _, price: 18000 - 1.2 * price)
    assert found.owner == pytest.approx(owner, abs=by)
    bench, by = mean_of(jobs, lambda cost, price: price - cost)
    assert found.bench == pytest.approx(bench, abs=by)
    worse, by = mean_of(jobs, lambda _, price: float(18000 - 1.2 * price < 7000 - 0.1))
    assert found.owner_worse == pytest.approx(worse, abs=by)


def test_the_ways_without_mending_are_the_repairers_own_figures(quoted):
    options = {one.kind: one for one in sensible(quoted, WORTHS).options}
    # 30 minutes and the 20 of every job at 1 a minute, 2 of consumables: above the minimum; a fifth of tax
    assert options["clean and return"].owner == pytest.approx(9000 - 1.2 * 5200)
    assert options["clean and return"].bench == pytest.approx(50 * 30)
    assert (options["keep for parts"].owner, options["keep for parts"].bench) == (5000, 2500)
    assert (options["sell as found"].owner, options["sell as found"].bench) == (6000, 0)
    assert options["sell as found"].owner_worse == 1.0  # as it is it is worth 70


def owner_has(left):
    """What the owner has on average with some faults left, by going through all jobs."""
    paid = sum(1.2 * price * p for (_, price), p in own_costs(left).items())
    less = sum(
        p * (WORTHS.stays["worn"].minor * (worn and "worn" in left) + 800 * (dirty and "dirty" in left))
        for (worn, dirty, _), p in posterior(True).items()
    )
    return 18000 - paid - less


def test_what_stays_is_the_best_of_all_that_can(quoted):
    every = [left for n in range(3) for left in itertools.combinations(("dirty", "worn"), n)]
    best = max(every, key=owner_has)
    assert best == ("dirty",)  # or there is nothing to choose
    assert which_can_stay(quoted, WORTHS) == best
    option = next(one for one in sensible(quoted, WORTHS).options if one.kind == "mend in part")
    assert option.left == best
    assert option.owner == pytest.approx(owner_has(best), abs=60)
    assert any("dirty" in reason for reason in option.reasons)


def test_faults_that_pay_only_together_are_found_from_the_other_end(quoted):
    # each alone saves little, since the other needs the same way in
    dear = replace(WORTHS, stays={"dirty": euro(14), "worn": euro(31)})

    def has(left):
        paid = sum(1.2 * price * p for (_, price), p in own_costs(left).items())
        return -paid - sum(
            p * (3100 * (worn and "worn" in left) + 1400 * (dirty and "dirty" in left))
            for (worn, dirty, _), p in posterior(True).items()
        )

    every = [left for n in range(3) for left in itertools.combinations(("dirty", "worn"), n)]
    found = which_can_stay(quoted, dear)
    assert has(found) >= max(map(has, every)) - 60


def test_nothing_stays_where_nothing_can(quoted):
    found = sensible(quoted, replace(WORTHS, stays={}))
    assert "mend in part" not in {one.kind for one in found.options}


def test_the_advice_names_what_is_best_for_each_and_why(quoted):
    found = sensible(quoted, WORTHS)
    assert [one.owner for one in found.options] == sorted((one.owner for one in found.options), reverse=True)
    assert found.best_for_owner.kind in found.says
    assert found.best_for_bench.bench == max(one.bench for one in found.options)
    assert all(one.reasons for one in found.options)
    told = json.loads(json.dumps(found.to_json()))
    assert told["options"][0]["kind"] == found.best_for_owner.kind
    assert told["currency"] == "EUR"


def test_an_owner_who_had_better_keep_it_is_told(quoted):
    poor = Worths(mended=euro(75), unmended=euro(70))
    found = sensible(quoted, poor)
    assert [one.kind for one in found.options] == ["mend"]
    assert "nothing beats keeping it as it is" in found.says


def test_options_within_the_draws_uncertainty_are_called_close(quoted):
    mend = next(one for one in sensible(quoted, WORTHS).options if one.kind == "mend")
    near = Worths(mended=euro(180), unmended=euro(70), as_found=Money(round(mend.owner), "EUR"))
    found = sensible(quoted, near)
    assert found.close
    assert "too close to tell apart" in found.says
    assert not sensible(quoted, replace(near, as_found=euro(5))).close


@pytest.mark.parametrize(
    "make",
    [
        lambda: replace(WORTHS, as_found=Money(1, "GBP")),
        lambda: replace(WORTHS, mended=euro(-1)),
        lambda: replace(WORTHS, clean=None),
        lambda: replace(WORTHS, for_parts=None),
    ],
)
def test_worths_that_cannot_be_are_refused(make):
    with pytest.raises(ValueError, match=r"Expected|go together"):
        make()


def test_what_does_not_fit_the_quote_is_refused(quoted):
    with pytest.raises(ValueError, match="no fault here"):
        sensible(quoted, replace(WORTHS, stays={"shutter": euro(1)}))
    with pytest.raises(ValueError, match="Expected one currency"):
        sensible(quoted, Worths(mended=Money(1, "GBP"), unmended=Money(1, "GBP")))
    with pytest.raises(ValueError, match="Expected one currency"):
        fixed(quoted.jobs, Money(1, "GBP"))
    for wrong in (0.0, 1.0):
        with pytest.raises(ValueError, match="between 0 and 1"):
            fixed_for_chance(quoted.jobs, wrong)
    with pytest.raises(ValueError, match="0 or more"):
        fixed_with_margin(quoted.jobs, -0.1)
