"""
What a job of the book may cost.

The distribution itself is held against exact values in `tests/pricing`; here it is what the book makes of a
job: rates and tax as the workshop states them, spares that lie there, what is done, what was agreed.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from book.cast import BENNO, BY, ILSE
from pegwood.anatomy.parts import Minutes
from pegwood.book import agreeing, arriving, looking, moving
from pegwood.book.agreeing import Line
from pegwood.book.arriving import CameraDetails
from pegwood.book.benchwork import log_work
from pegwood.book.billing import clock
from pegwood.book.billing.done import lines_done
from pegwood.book.billing.sums import chosen_of
from pegwood.book.looking import FindingDetails
from pegwood.book.models import CameraWorth, DiaryEntry, Job, PartCost
from pegwood.book.quoting.alarm import alarm_of, covers_of, is_watched, passed
from pegwood.book.quoting.lines import WHICH, figure_of, offer_lines, why_dearer
from pegwood.book.quoting.parts import Cost, say_cost
from pegwood.book.quoting.quoted import basis_of, reckoned_with
from pegwood.book.quoting.terms import reckoned, terms_of
from pegwood.book.quoting.worths import advice, say_worths, worths_of
from pegwood.book.refusal import Refused
from pegwood.book.spares import taking
from pegwood.book.spares.putting import SpareDetails, put_on_shelf
from pegwood.book.spares.used import charged
from pegwood.book.weighing.about import the_causes
from pegwood.book.weighing.mending import log_mend
from pegwood.book.weighing.ruling import rule
from pegwood.book.weighing.telling import tell_one
from pegwood.book.workshop import change_settings, workshop
from pegwood.pricing.agreed import Reach
from pegwood.pricing.money import Money
from pegwood.pricing.sensible import Worths
from pegwood.pricing.tax import TaxRate, add_up

#: The kind of camera with the fewest faults.
FAMILY = "box"
BOX = CameraDetails(family=FAMILY, maker="Vorrin", model="Satchel")
#: Enough for what is asked of them here; the page draws 10,000.
DRAWS = 1000


def euros(amount: float) -> Money:
    return Money(round(100 * amount), "EUR")


@pytest.fixture
def job(db: None) -> Job:
    """A camera of which something is known, in a workshop that charges 60 an hour for all there may be."""
    change_settings({"hourly_rate": 6000, "price_covers": 0}, by=BY)
    job = arriving.take_in(ILSE, BOX, by=BY)
    tell_one(job, "unused-long", True, by=BY)
    looking.note_finding(job, FindingDetails(part="case", condition="scuffed"), by=BY)
    return moving.look_over(job, by=BY)


@pytest.fixture
def torn(job: Job) -> str:
    """A fault of its camera whose only mend takes one part, found to be there."""
    causes = the_causes(job)
    fault = next(
        one.id for one in causes.faults.values() if len(one.mends) == 1 and len(one.mends[0].parts) == 1
    )
    rule(job, fault, True, by=BY)
    return fault


def part_of(job: Job, fault: str) -> str:
    return the_causes(job).faults[fault].mends[0].parts[0]


def spare(job: Job, fault: str, **more):
    name = basis_of(job).construction.parts[part_of(job, fault)].name
    return put_on_shelf(SpareDetails(name=name, part=part_of(job, fault), family=FAMILY, **more), 1, by=BY)


# --- what nothing can be reckoned of ---------------------------------------------------------------------


def test_without_an_hourly_rate_minutes_make_no_price(job):
    change_settings({"hourly_rate": 0}, by=BY)
    with pytest.raises(Refused, match="No hourly rate"):
        basis_of(job)


def test_a_job_kept_in_other_money_than_the_rates_is_refused(job):
    change_settings({"currency": "CHF"}, by=BY)
    with pytest.raises(Refused, match="kept in EUR, the workshop's rates are in CHF"):
        basis_of(job)


def test_of_a_camera_nobody_told_anything_of_no_price_is_guessed(job):
    fresh = arriving.take_in(BENNO, BOX, by=BY)
    with pytest.raises(Refused, match="Nothing is told or seen"):
        basis_of(fresh).quoted(draws=DRAWS)


# --- terms -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("prices", ["gross", "net"])
def test_what_a_sum_is_reckoned_as_comes_to_what_its_own_tax_makes_of_it(job, prices):
    """The tax by hand: 21 % on labour, 9 % on parts; the terms put the 21 % on everything."""
    change_settings({"prices_are": prices, "tax_labour": "21", "tax_part": "9"}, by=BY)
    shop = workshop()
    part = reckoned(euros(100), "part", shop)
    owner_pays = {"gross": 10_000, "net": 10_900}[prices]
    assert float(part.minor * Fraction(121, 100)) == pytest.approx(owner_pays, abs=1)
    terms = terms_of(job, shop)
    assert float(terms.per_hour.minor * Fraction(121, 100)) == pytest.approx(
        {"gross": 6000, "net": 7260}[prices], abs=1
    )
    assert terms.tax == Fraction(21, 100)


def test_a_percent_on_parts_is_charged(job):
    change_settings({"part_markup": 25}, by=BY)
    assert charged(euros(40), workshop()) == euros(50)


def test_minutes_of_every_job_come_in_their_order(job):
    with pytest.raises(Refused, match="in this order"):
        change_settings({"job_minutes_low": 90}, by=BY)


# --- parts -----------------------------------------------------------------------------------------------


def test_a_part_nobody_gave_a_price_for_is_told_and_counts_as_nothing(job, torn):
    found = basis_of(job).quoted(draws=DRAWS)
    assert dict(found.price.unpriced)[part_of(job, torn)] == pytest.approx(1.0)


def test_a_part_from_the_shelf_costs_what_it_cost_and_is_not_waited_for(job, torn):
    part = part_of(job, torn)
    say_cost(
        FAMILY, part,
        Cost(low=euros(50), likely=euros(60), high=euros(90), source="a guess", wait_days=(5, 9, 20)), by=BY,
    )  # fmt: skip
    told = basis_of(job).parts[part]
    assert (told.price.likely, told.price.wait_days, told.source) == (euros(60), (5, 9, 20), "a guess")
    spare(job, torn, cost=euros(12), place="drawer 3")
    here = basis_of(job).parts[part]
    assert (here.price.high, here.price.wait_days) == (euros(12), None)
    assert "drawer 3" in here.source


def test_a_spare_kept_for_another_job_is_not_counted_on(job, torn):
    kept = spare(job, torn, cost=euros(12))
    other = arriving.take_in(BENNO, BOX, by=BY)
    taking.reserve(kept, other, by=BY)
    assert part_of(job, torn) not in basis_of(job).parts
    assert part_of(job, torn) in basis_of(other).parts


def test_a_spare_that_is_in_it_is_paid_once(job, torn):
    one = spare(job, torn, cost=euros(12))
    taking.use(one, job, by=BY)
    basis = basis_of(job)
    assert basis.done.parts == euros(12)
    assert basis.parts[part_of(job, torn)].price.high == euros(0)


def test_who_says_what_a_part_costs_has_to_be_told(job, torn):
    cost = Cost(low=euros(1), likely=euros(2), high=euros(3), source=" ")
    with pytest.raises(Refused, match="Who says"):
        say_cost(FAMILY, part_of(job, torn), cost, by=BY)
    assert not PartCost.objects.exists()


def test_a_part_that_costs_more_than_any_does_is_a_slip(job, torn):
    slip = Money(10**15, "EUR")
    with pytest.raises(Refused, match="No part costs that much"):
        say_cost(
            FAMILY, part_of(job, torn), Cost(low=slip, likely=slip, high=slip, source="a list"), by=BY
        )  # fmt: skip


@pytest.mark.parametrize(
    ("sums", "wait", "why"),
    [((3, 2, 4), None, "in this order"), ((1, 2, 3), (5, 4, 9), "days"), ((1, 2, 3), (-1, 4, 9), "days")],
)
def test_figures_in_no_order_are_refused(job, torn, sums, wait, why):
    low, likely, high = map(euros, sums)
    with pytest.raises(Refused, match=why):
        say_cost(
            FAMILY, part_of(job, torn),
            Cost(low=low, likely=likely, high=high, source="a list", wait_days=wait), by=BY,
        )  # fmt: skip


def test_what_a_part_cost_before_stays_in_the_diary(job, torn):
    for amount in (10, 14):
        sums = euros(amount)
        say_cost(FAMILY, part_of(job, torn), Cost(low=sums, likely=sums, high=sums, source="a list"), by=BY)
    last = DiaryEntry.objects.filter(what="said what a part costs").last()
    assert (last.old["likely_minor"], last.new["likely_minor"]) == (1000, 1400)
    assert PartCost.objects.count() == 1


# --- the price, and an offer out of it -------------------------------------------------------------------


def test_what_is_not_likely_is_left_out_and_told_unless_all_is_to_be_covered(job, torn):
    basis = basis_of(job)
    whole = basis.quoted(draws=DRAWS)
    change_settings({"price_covers": 50}, by=BY)
    likely = basis_of(job).quoted(draws=DRAWS)
    chances = dict(zip(whole.work.faults, whole.cameras.there.mean(axis=0).tolist(), strict=True))
    assert {fault for fault, _ in likely.price.beyond.faults} == {
        fault for fault, chance in chances.items() if 0 < chance < 0.5
    }
    assert torn not in dict(likely.price.beyond.faults)
    assert likely.price.mean < whole.price.mean
    assert basis_of(job).quoted(draws=DRAWS, covers=0.0).price == whole.price


def test_the_price_is_the_same_till_something_is_told(job, torn):
    first, again = (basis_of(job).quoted(draws=DRAWS).price for _ in range(2))
    assert first == again
    assert basis_of(job).quoted(draws=DRAWS, seed=99).price != first


def test_minutes_on_the_clock_are_in_the_price(job, torn):
    before = basis_of(job)
    clock.correct(job, 120, "forgotten all afternoon", by=BY)
    after = basis_of(job)
    assert after.done.minutes == 120
    assert after.quoted(draws=DRAWS).jobs.minutes.min() > 120
    # 20, 35, 60 min of every job: half of it, the looking over, is among those 120
    assert (before.terms.every_job, after.terms.every_job) == (
        Minutes(low=20, likely=35, high=60), Minutes(low=10, likely=17.5, high=30)
    )  # fmt: skip
    assert not before.assumptions
    assert "Work has begun" in after.assumptions[0][0]


def test_what_was_done_and_used_makes_the_lines_of_a_bill(job, torn):
    change_settings({"part_markup": 50}, by=BY)
    log_work(job, "blades cleaned", minutes=40, by=BY)
    log_work(job, "spring renewed", minutes=20, by=BY)
    taking.use(spare(job, torn, cost=euros(12)), job, by=BY)
    taking.use(put_on_shelf(SpareDetails(name="red window"), 2, by=BY), job, 2, by=BY)
    done = [(line.what, line.kind, line.minutes, line.amount) for line in lines_done(job, workshop())]
    part = basis_of(job).construction.parts[part_of(job, torn)].name
    by_name = sorted([(part, "part", None, euros(18)), ("red window, 2 of it", "part", None, None)])
    assert done == [("blades cleaned", "labour", 40, None), ("spring renewed", "labour", 20, None), *by_name]
    clock.correct(job, 75, "by the clock", by=BY)
    assert lines_done(job, workshop())[0] == Line(what="blades cleaned; spring renewed", minutes=75)


def test_the_lines_of_what_was_done_hold_what_the_workshops_terms_add(job):
    """An hour at 60, the bench's 12, 3.50 used up: 75.50, and 24.50 up to the least of 100."""
    terms = {"bench_per_hour": 1200, "consumables": 350, "minimum_charge": 10_000}
    change_settings(terms, by=BY)
    assert lines_done(job, workshop())[0].what == "Used up"
    clock.correct(job, 60, "by the clock", by=BY)
    _, *more = [(line.kind, line.amount) for line in lines_done(job, workshop())]
    assert more == [("labour", euros(12)), ("other", euros(3.5)), ("labour", euros(24.5))]


def test_a_mended_fault_is_not_mended_again(job, torn):
    before = basis_of(job).quoted(draws=DRAWS)
    log_mend(job, torn, the_causes(job).faults[torn].mends[0].name, minutes=30, worked=True, by=BY)
    after = basis_of(job).quoted(draws=DRAWS)
    place = before.work.faults.index(torn)
    assert before.jobs.shares.there[:, place].all()
    assert not after.jobs.shares.there[:, place].any()


@pytest.mark.parametrize("prices", ["gross", "net"])
@pytest.mark.parametrize("which", WHICH)
def test_the_lines_of_an_offer_come_to_the_figure(job, torn, prices, which):
    """Added up by the rules of tax alone, which tests of their own hold to worked examples."""
    change_settings({"prices_are": prices, "tax_labour": "21", "tax_part": "9"}, by=BY)
    spare(job, torn, cost=euros(12.34))
    basis = basis_of(job)
    found = basis.quoted(draws=DRAWS)
    lines = offer_lines(basis, found, which)
    assert [line.kind for line in lines] == ["labour", "part"]
    rates = {"labour": TaxRate.parse("21"), "part": TaxRate.parse("9")}
    chosen = chosen_of(workshop())
    sums = add_up(
        [(line.amount, rates[line.kind]) for line in lines], "EUR",
        prices=chosen.prices, rounding=chosen.rounding,
    )  # fmt: skip
    assert abs(sums.gross.minor - figure_of(found, which).money.minor) <= (0 if prices == "gross" else 1)


def test_the_offer_names_what_is_likely(job, torn):
    basis = basis_of(job)
    work = offer_lines(basis, basis.quoted(draws=DRAWS), "usual")[0]
    assert basis.causes.faults[torn].name in work.what
    assert work.minutes > 0


def alarm(job: Job):
    basis = basis_of(job)
    return alarm_of(job, basis, basis.quoted(draws=DRAWS, covers=covers_of(job)))


# --- the alarm -------------------------------------------------------------------------------------------


def told(job: Job, minor: int, up_to: int | None = None) -> Job:
    """A price told with what it was reckoned at, and a yes to it."""
    basis = basis_of(job)
    lines = [Line(what="put it right", amount=Money(minor, "EUR"))]
    job = agreeing.tell_price(job, lines, by=BY, reckoned=reckoned_with(basis, basis.quoted(draws=DRAWS)))
    return agreeing.record_yes(job, how="by letter", up_to=Money(up_to or minor, "EUR"), by=BY)


def test_it_rings_once_more_is_found_than_was_reckoned(job):
    usual = basis_of(job).quoted(draws=DRAWS).price.usual.money
    job = told(job, usual.minor + 2000)
    calm = alarm(job)
    assert (calm.rings, calm.reach) == (False, Reach.MAY_PASS)
    causes = the_causes(job)
    dear = sorted(
        causes.faults.values(), key=lambda one: -min((m.minutes.likely for m in one.mends), default=0)
    )
    for fault in dear[:3]:
        rule(job, fault.id, True, by=BY)
    basis = basis_of(job)
    found = basis.quoted(draws=DRAWS)
    rung = alarm_of(job, basis, found)
    assert rung.rings
    assert rung.reach is Reach.WILL_PASS
    assert rung.chance > 0.5
    assert rung.was == calm.usual
    assert dear[0].name in why_dearer(basis, found)
    assert why_dearer(basis, found).startswith("Found meanwhile: ")


def test_who_told_less_than_was_reckoned_knew_better_until_it_grows(job):
    job = told(job, 2000)
    seen = alarm(job)
    assert (seen.reach, seen.rings, seen.is_quiet) == (Reach.WILL_PASS, False, False)


def test_it_rings_when_the_work_itself_has_passed_it(job):
    job = told(job, 2000)
    clock.correct(job, 60, "one hour at 60", by=BY)
    seen = alarm(job)
    assert (seen.reach, seen.done, seen.rings) == (Reach.PASSED, euros(60), True)
    assert passed(job).rings


def test_parts_that_were_used_pass_it_as_well(job, torn):
    job = told(job, 2000)
    assert passed(job) is None
    taking.use(spare(job, torn, cost=euros(30)), job, by=BY)
    assert passed(job).done == euros(30)


def test_what_other_rates_make_dearer_nobody_found(job):
    usual = basis_of(job).quoted(draws=DRAWS).price.usual.money
    job = told(job, usual.minor)
    change_settings({"hourly_rate": 12_000}, by=BY)
    seen = alarm(job)
    assert (seen.reach, seen.rings, seen.chance > 0.5) == (Reach.WILL_PASS, False, True)


def test_a_price_that_nobody_reckoned_is_held_against_what_is_likely_now(job):
    lines = [Line(what="put it right", amount=euros(10))]
    agreeing.tell_price(job, lines, by=BY)
    job = agreeing.record_yes(job, how="by letter", by=BY)
    assert alarm(job).rings


def test_without_a_yes_nothing_is_watched(job):
    assert not is_watched(job)
    assert alarm(job) is None
    assert passed(job) is None


# --- what it is worth ------------------------------------------------------------------------------------


def test_what_it_is_worth_is_kept_and_read_back(job, torn):
    worths = Worths(
        mended=euros(400), unmended=euros(0), cleaned=euros(90), clean=Minutes(low=10, likely=15, high=30),
        for_parts=euros(60), paid_for_parts=euros(20), stays={torn: euros(35)},
    )  # fmt: skip
    say_worths(job, worths, by=BY)
    assert worths_of(job) == worths
    say_worths(job, Worths(mended=euros(300), unmended=euros(10)), by=BY)
    assert CameraWorth.objects.count() == 1
    assert worths_of(job) == Worths(mended=euros(300), unmended=euros(10))
    assert DiaryEntry.objects.filter(what="said what it is worth").last().old["mended_minor"] == 40_000


def test_a_fault_that_is_none_of_it_cannot_stay(job):
    with pytest.raises(Refused, match="nothing that goes wrong"):
        say_worths(job, Worths(mended=euros(9), unmended=euros(1), stays={"box.no-such": euros(1)}), by=BY)


def test_a_camera_worth_little_is_not_advised_to_be_mended(job, torn):
    basis = basis_of(job)
    found = basis.quoted(draws=DRAWS)
    assert advice(basis, found) is None
    say_worths(job, Worths(mended=euros(20), unmended=euros(5), as_found=euros(15)), by=BY)
    said = advice(basis, found)
    assert said.best_for_owner.kind == "sell as found"
    say_worths(job, Worths(mended=euros(5000), unmended=euros(5), as_found=euros(15)), by=BY)
    assert advice(basis, found).best_for_owner.kind == "mend"
