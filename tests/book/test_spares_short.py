"""Which parts jobs need, and what to look for; expected figures are put together here by hand."""

from __future__ import annotations

from datetime import timedelta

import pytest

from book.cast import BENNO, BY, FOLDER, MONDAY
from pegwood.book import arriving, leaving
from pegwood.book.families import construction_of
from pegwood.book.models import Job
from pegwood.book.refusal import Refused
from pegwood.book.spares import taking
from pegwood.book.spares.ageing import ageing_of, chance_good
from pegwood.book.spares.needs import needs_of, supplied
from pegwood.book.spares.putting import SpareDetails, measure_spare, put_on_shelf, say_worth
from pegwood.book.spares.short import before_any, short_parts
from pegwood.book.stripping.back import let_part_wait
from pegwood.book.stripping.off import OffDetails, log_off
from pegwood.book.weighing.about import the_causes
from pegwood.book.weighing.mending import log_mend
from pegwood.book.weighing.ruling import rule
from pegwood.book.workshop import change_settings
from pegwood.pricing.money import Money

FAMILY = "folding-roll-front-cell"
PART = "folding.bellows"
YEAR = timedelta(days=365.25)


@pytest.fixture
def torn(arrived) -> str:
    """A fault of the job's camera whose only mend takes a part."""
    causes = the_causes(arrived)
    return next(
        one.id for one in causes.faults.values() if len(one.mends) == 1 and len(one.mends[0].parts) == 1
    )


def part_of(job: Job, fault: str) -> str:
    return the_causes(job).faults[fault].mends[0].parts[0]


def need(job: Job, part: str):
    return next((one for one in needs_of(job, 0.0) if one.part == part), None)


def test_a_fault_that_was_found_needs_its_part_for_sure(arrived, torn):
    part = part_of(arrived, torn)
    before = need(arrived, part)
    rule(arrived, torn, True, by=BY)
    now = need(arrived, part)
    assert before is None or before.chance < 1
    assert now.chance == pytest.approx(1.0)
    assert now.by[0][0] == the_causes(arrived).faults[torn].name


def test_what_was_put_in_or_mended_is_needed_no_more(arrived, torn):
    part = part_of(arrived, torn)
    rule(arrived, torn, True, by=BY)
    spare = put_on_shelf(SpareDetails(name=part, family=FAMILY, part=part), 2, by=BY)
    used = taking.use(spare, arrived, by=BY)
    assert need(arrived, part) is None
    taking.undo(used, by=BY)
    assert need(arrived, part).chance == pytest.approx(1.0)
    log_mend(arrived, torn, the_causes(arrived).faults[torn].mends[0].name, by=BY)
    again = need(arrived, part)
    assert again is None or again.chance < 0.5


def test_a_part_that_waits_for_a_spare_is_needed_whatever_the_family_knows(arrived):
    row = log_off(arrived, OffDetails(name="a plate nobody knows"), by=BY)
    let_part_wait(row, "spare", by=BY)
    spare = put_on_shelf(SpareDetails(name="A plate nobody knows", place="tin 1"), by=BY)
    (first, *_) = supplied(arrived, needs_of(arrived))
    assert (first.need.name, first.need.chance, first.need.waits) == ("a plate nobody knows", 1.0, True)
    assert first.best.spare == spare
    taking.reserve(spare, arrived, by=BY)
    (first, *_) = supplied(arrived, needs_of(arrived))
    assert [one.spare for one in first.held] == [spare]


@pytest.fixture
def history(db, torn, arrived):
    """Ten cameras in two years before, all gone; four of them needed the part."""
    part = part_of(arrived, torn)
    spare = put_on_shelf(SpareDetails(name="it", family=FAMILY, part=part), 4, by=BY)
    for n in range(10):
        job = arriving.take_in(BENNO, FOLDER, by=BY, at=MONDAY - 2 * YEAR + n * timedelta(days=60))
        if n < 4:
            taking.use(spare, job, by=BY)
        leaving.send_back_unmended(job, "so it teaches nothing", by=BY)
    return part


def test_what_to_look_for_is_the_open_job_and_as_many_as_came_and_needed_it(arrived, torn, history):
    rule(arrived, torn, True, by=BY)
    change_settings({"last_buy_years": 3}, by=BY)
    told = next(one for one in short_parts(MONDAY) if one.part == history)
    known = construction_of(FAMILY).parts[history]
    years = 1.0 if known.scarce in ("common", "made anew") else 3.0
    assert (told.there, told.used, told.visits, told.years) == (0, 4, 10, years)
    assert told.jobs == ((arrived.number, pytest.approx(1.0)),)
    # 11 came in two years, Jeffreys' half more; of 10 that are gone 4 needed it, after half a one as likely
    # as the files have it
    prior = before_any(construction_of(FAMILY)).get(history, 0.001)
    coming = (11 + 0.5) / 2 * years
    each = (0.5 + 4) / (0.5 / max(prior, 0.001) + 10)
    assert told.expected == pytest.approx(1 + coming * each, rel=1e-3)
    assert told.runs_out == pytest.approx(1.0), "the open job alone wants one"
    assert told.worth is None
    assert told.why_so_many == "to be 90 % sure of one"


def test_the_price_worth_paying_falls_with_what_lies_there(arrived, torn, history):
    rule(arrived, torn, True, by=BY)
    say_worth(FAMILY, history, Money(8000, "EUR"), by=BY)
    worths = []
    for _ in range(4):
        told = next((one for one in short_parts(MONDAY) if one.part == history), None)
        if told is None:
            break
        assert told.worth.minor == pytest.approx(8000 * told.runs_out, abs=1)
        worths.append(told.worth.minor)
        put_on_shelf(SpareDetails(name="it", family=FAMILY, part=history), by=BY)
    assert worths[0] == 8000
    assert worths == sorted(worths, reverse=True)
    assert len(set(worths)) == len(worths)


def test_a_family_that_never_came_is_refused(arrived):
    with pytest.raises(Refused, match="was here yet"):
        short_parts(MONDAY, family="box")


def test_a_shelf_that_has_all_is_not_short(arrived, torn, history):
    put_on_shelf(SpareDetails(name="it", family=FAMILY, part=history), 40, by=BY)
    assert history not in {one.part for one in short_parts(MONDAY)}
    put_on_shelf(SpareDetails(name="worn out", family=FAMILY, part=history, grade=5), 40, by=BY)


def test_spares_past_use_do_not_count(arrived, torn, history):
    rule(arrived, torn, True, by=BY)
    put_on_shelf(SpareDetails(name="worn out", family=FAMILY, part=history, grade=5), 40, by=BY)
    assert history in {one.part for one in short_parts(MONDAY)}


def test_a_cell_that_fades_counts_by_how_likely_it_is_still_good(arrived, torn, history):
    rule(arrived, torn, True, by=BY)
    spare = put_on_shelf(SpareDetails(name="it", family=FAMILY, part=history, good_from=78.0), 1, by=BY)
    sure = next(one for one in short_parts(MONDAY) if one.part == history)
    assert sure.good == 1.0
    for days, value in ((700, 100.0), (0, 80.0)):
        day = (MONDAY - timedelta(days=days)).date()
        measure_spare(spare, "output", value, 1.0, "µA", on=day, by=BY, at=MONDAY)
    (ageing,) = ageing_of(spare.measures.all())
    assert ageing.fading.per_year == pytest.approx(1 - 0.8 ** (365.25 / 700), abs=1e-9)
    fades = next(one for one in short_parts(MONDAY) if one.part == history)
    assert fades.good < 0.5 < sure.good
    assert fades.runs_out >= sure.runs_out
    # ln 80 falls by ln(100 / 80) / 700 a day, and reaches ln 78 after 79 days (by hand)
    then = MONDAY + timedelta(days=79)
    assert chance_good(spare, spare.measures.all(), then) == pytest.approx(0.5, abs=0.02)


def test_how_many_follow_the_newsvendor_once_cost_and_worth_are_known(arrived, torn, history):
    rule(arrived, torn, True, by=BY)
    say_worth(FAMILY, history, Money(8000, "EUR"), by=BY)
    put_on_shelf(
        SpareDetails(name="it", family=FAMILY, part=history, cost=Money(7900, "EUR")), 1, by=BY
    )  # hardly worth it: none beyond what is sure
    told = next((one for one in short_parts(MONDAY) if one.part == history), None)
    assert told is None or (told.buy, told.why_so_many) == (0, "at what the last one cost")
