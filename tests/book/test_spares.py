"""The shelf: what lies there is what moved, and of one part nobody takes more than there is."""

from __future__ import annotations

import random
from datetime import date

import pytest
from django.db import DatabaseError, IntegrityError, transaction

from book.cast import BENNO, BY, MONDAY, REFLEX
from pegwood.book import arriving, leaving
from pegwood.book.models import DiaryEntry, Donor, Job, SpareMove
from pegwood.book.refusal import Refused
from pegwood.book.spares import taking
from pegwood.book.spares.donors import (
    DonorDetails,
    donor_from,
    is_in_it,
    keep_donor,
    let_donor_go,
    not_in_it,
    still_in,
    take_out,
)
from pegwood.book.spares.finding import find_spares
from pegwood.book.spares.fitting import Fitting, say_fits, spares_for, strike_out_fit
from pegwood.book.spares.moves import Count, count_of
from pegwood.book.spares.putting import (
    SpareDetails,
    amend_spare,
    measure_spare,
    put_more,
    put_on_shelf,
    say_worth,
    strike_out_measure,
)
from pegwood.book.stripping.off import OffDetails, log_off
from pegwood.pricing.money import Money

CELL = SpareDetails(name="front cell", family="folding-roll-front-cell", place="drawer 3", grade=1)
EUR = "EUR"


@pytest.fixture
def cell(db):
    return put_on_shelf(CELL, 2, by=BY, at=MONDAY)


@pytest.fixture
def other(db) -> Job:
    return arriving.take_in(BENNO, REFLEX, by=BY, at=MONDAY)


def counts(spare) -> tuple[int, int]:
    found = count_of(spare)
    return found.lies, found.held


# --- put in, reserved, used, given back, written off ---------------------------------------------------


def test_a_spare_is_put_in_under_its_familys_own_part(cell):
    assert (cell.part, cell.place, cell.grade) == ("focus.front-cell", "drawer 3", 1)
    assert counts(cell) == (2, 0)
    entry = DiaryEntry.objects.get(what="put on the shelf")
    assert (entry.text, entry.new["how_many"], entry.new["place"]) == ("front cell", 2, "drawer 3")


def test_what_is_reserved_is_there_and_nobody_elses(cell, arrived, other):
    taking.reserve(cell, arrived, 2, by=BY)
    assert counts(cell) == (2, 2)
    with pytest.raises(Refused, match=f"reserved for job {arrived.number}"):
        taking.use(cell, other, by=BY)
    taking.use(cell, arrived, by=BY)
    assert counts(cell) == (1, 1)


def test_let_go_is_free_again(cell, arrived, other):
    taking.reserve(cell, arrived, 2, by=BY)
    taking.let_go(cell, arrived, by=BY)
    taking.use(cell, other, 2, by=BY)
    assert counts(cell) == (0, 0)
    with pytest.raises(Refused, match="No front cell is reserved"):
        taking.let_go(cell, arrived, by=BY)


def test_what_a_job_did_not_need_comes_back_and_no_more(cell, arrived):
    taking.use(cell, arrived, by=BY)
    with pytest.raises(Refused, match="has 1 of front cell, so 2 cannot come back"):
        taking.give_back(cell, arrived, 2, by=BY)
    taking.give_back(cell, arrived, by=BY)
    assert counts(cell) == (2, 0)


def test_written_off_needs_its_reason(cell):
    with pytest.raises(Refused, match="Why is it written off"):
        taking.write_off(cell, 1, " ", by=BY)
    taking.write_off(cell, 1, "dropped", by=BY)
    assert counts(cell) == (1, 0)


def test_counting_sets_the_book_right(cell, arrived):
    taking.reserve(cell, arrived, by=BY)
    assert taking.recount(cell, 2, by=BY) is None
    assert taking.recount(cell, 5, by=BY).lies == 3
    with pytest.raises(Refused, match="1 of front cell are reserved"):
        taking.recount(cell, 0, by=BY)


@pytest.mark.parametrize("count", [0, -1, 1000])
def test_a_count_that_cannot_be_is_refused(cell, arrived, count):
    for move in (taking.reserve, taking.use, taking.give_back):
        with pytest.raises(Refused, match="cannot be"):
            move(cell, arrived, count, by=BY)
    assert counts(cell) == (2, 0)


def test_a_job_that_ends_lets_go_of_what_was_reserved_for_it(cell, arrived):
    taking.reserve(cell, arrived, by=BY)
    taking.use(cell, arrived, by=BY)
    taking.reserve(cell, arrived, by=BY)
    leaving.send_back_unmended(arrived, "too far gone", by=BY)
    assert counts(cell) == (1, 0)
    with pytest.raises(Refused, match="is over"):
        taking.use(cell, arrived, by=BY)
    taking.give_back(cell, arrived, by=BY)  # it came out again before the camera went


# --- counter-entries ----------------------------------------------------------------------------------


def test_a_slip_is_undone_once_by_its_counter_entry(cell, arrived):
    used = taking.use(cell, arrived, by=BY)
    back = taking.undo(used, by=BY)
    assert counts(cell) == (2, 0)
    assert (back.undoes, back.lies, back.kind) == (used, 1, "undone")
    for wrong, why in ((used, "undone already"), (back, "counter-entry itself")):
        with pytest.raises(Refused, match=why):
            taking.undo(wrong, by=BY)


def test_nothing_is_undone_that_moved_on_since(cell, arrived):
    put = cell.moves.get()
    taking.use(cell, arrived, by=BY)
    with pytest.raises(Refused, match="moved on since"):
        taking.undo(put, by=BY)


def test_what_was_let_go_when_a_job_ended_is_not_reserved_for_it_again(cell, arrived):
    taking.reserve(cell, arrived, by=BY)
    leaving.send_back_unmended(arrived, "no", by=BY)
    with pytest.raises(Refused, match="is over"):
        taking.undo(cell.moves.last(), by=BY)


def test_the_database_itself_refuses_to_rewrite_what_moved_or_to_overdraw(cell):
    for wrong in (
        lambda: SpareMove.objects.update(lies=9),
        lambda: SpareMove.objects.all().delete(),
        lambda: SpareMove.objects.create(spare=cell, kind="used", lies=-3, at=MONDAY, by=BY),
        lambda: SpareMove.objects.create(spare=cell, kind="put in", held=1, at=MONDAY, by=BY),
    ):
        with pytest.raises((DatabaseError, IntegrityError)), transaction.atomic():
            wrong()
    assert counts(cell) == (2, 0)


def test_many_steps_at_random_come_to_what_a_plain_count_beside_them_comes_to(cell, arrived, other):
    """The plain count knows only what may be done, and what each step does."""
    rng = random.Random(7)
    lies, held, used = 2, {arrived: 0, other: 0}, {arrived: 0, other: 0}
    for _ in range(200):
        job, n = rng.choice([arrived, other]), rng.choice([1, 1, 2])
        free = lies - sum(held.values())
        step = rng.choice(["put", "hold", "go", "use", "back", "off"])
        try:
            if step == "put":
                put_more(cell, n, by=BY)
            elif step == "hold":
                taking.reserve(cell, job, n, by=BY)
            elif step == "go":
                taking.let_go(cell, job, by=BY)
            elif step == "use":
                taking.use(cell, job, n, by=BY)
            elif step == "back":
                taking.give_back(cell, job, n, by=BY)
            else:
                taking.write_off(cell, n, "broke", by=BY)
        except Refused:
            may = {"hold": free >= n, "use": free + held[job] >= n, "off": free >= n}
            may |= {"put": True, "go": held[job] > 0, "back": used[job] >= n}
            assert not may[step], step
        else:
            lies += {"put": n, "back": n, "use": -n, "off": -n}.get(step, 0)
            used[job] += {"use": n, "back": -n}.get(step, 0)
            held[job] += {"hold": n, "go": -held[job], "use": -min(held[job], n)}.get(step, 0)
        assert count_of(cell) == Count(lies, sum(held.values()))


# --- what is known of a spare --------------------------------------------------------------------------


def test_a_cost_a_grade_and_a_place_can_be_corrected(cell):
    changed = SpareDetails(
        name="front cell", family=CELL.family, place="tin 2", cost=Money(1250, EUR), grade=2
    )
    amended = amend_spare(cell, changed, by=BY)
    assert (amended.cost, amended.place) == (Money(1250, EUR), "tin 2")
    entry = DiaryEntry.objects.get(what="amended a spare")
    assert (entry.old["place"], entry.new["place"]) == ("drawer 3", "tin 2")


@pytest.mark.parametrize(
    ("wrong", "why"),
    [
        ({"name": " "}, "What is it"),
        ({"family": "no-such"}, "no kind of camera"),
        ({"part": "no.such"}, "no part of such a camera"),
        ({"grade": 6}, "Expected 0"),
        ({"cost": Money(-1, EUR)}, "below nothing"),
        ({"good_from": 0.0}, "above 0"),
        ({"place": "x" * 121}, "longer than 120"),
    ],
)
def test_what_cannot_be_said_of_a_spare_is_refused(db, wrong, why):
    told = {"name": "front cell", "family": CELL.family, **wrong}
    with pytest.raises(Refused, match=why):
        put_on_shelf(SpareDetails(**told), by=BY)


def test_a_reading_has_its_uncertainty_and_is_struck_out_not_deleted(cell):
    with pytest.raises(Refused, match="uncertainty, above 0"):
        measure_spare(cell, "output", 41.0, 0.0, "µA", by=BY)
    with pytest.raises(Refused, match="still to come"):
        measure_spare(cell, "output", 41.0, 1.0, "µA", on=date(2031, 3, 4), by=BY, at=MONDAY)
    row = measure_spare(cell, "output", 41.0, 1.0, "µA", on=date(2031, 3, 2), by=BY, at=MONDAY)
    strike_out_measure(row, "wrong range", by=BY)
    assert not cell.measures.exists()


def test_a_spare_is_found_by_any_words_of_it(cell, db):
    put_on_shelf(SpareDetails(name="spring", place="tin 2", maker="Vorrin", model="Ferry"), by=BY)
    gone = put_on_shelf(SpareDetails(name="spring, thin"), by=BY)
    taking.write_off(gone, 1, "lost", by=BY)
    assert [one.name for one in find_spares("cell drawer")] == ["front cell"]
    assert [one.name for one in find_spares("FOLDING")] == ["front cell"]  # by its kind of camera
    assert [one.name for one in find_spares("ferry spring")] == ["spring"]
    assert [one.name for one in find_spares("spring", with_none=True)] == ["spring", "spring, thin"]
    assert [one.pk for one in find_spares(str(cell.pk))] == [cell.pk]
    assert list(find_spares("nothing\0 like it")) == []


# --- donors -------------------------------------------------------------------------------------------


@pytest.fixture
def donor(db) -> Donor:
    return keep_donor(
        DonorDetails(family=CELL.family, maker="Vorrin", model="Pocket Six", place="shelf B"),
        by=BY,
        at=MONDAY,
    )


def test_parts_come_out_of_a_donor_one_by_one(donor):
    before = {part.id for part in still_in(donor)}
    spare = take_out(donor, SpareDetails(name="front cell"), by=BY)
    assert (spare.maker, spare.family, spare.donor) == ("Vorrin", CELL.family, donor)
    assert before - {part.id for part in still_in(donor)} == {"focus.front-cell"}
    with pytest.raises(Refused, match="out of this one already: lies on the shelf"):
        take_out(donor, SpareDetails(name="front cell"), by=BY)


def test_undoing_it_puts_the_part_back_into_the_donor(donor):
    spare = take_out(donor, SpareDetails(name="front cell"), by=BY)
    taking.undo(spare.moves.get(), by=BY)
    assert counts(spare) == (0, 0)
    assert "focus.front-cell" in {part.id for part in still_in(donor)}
    take_out(donor, SpareDetails(name="front cell"), by=BY)


def test_what_is_not_in_it_is_said_and_taken_back(donor):
    row = not_in_it(donor, "focus.front-cell", reason="went with another", by=BY)
    with pytest.raises(Refused, match="went with another"):
        take_out(donor, SpareDetails(name="front cell"), by=BY)
    is_in_it(row, by=BY)
    take_out(donor, SpareDetails(name="front cell"), by=BY)


def test_a_camera_kept_for_parts_becomes_a_donor_without_what_was_missing(arrived):
    log_off(arrived, OffDetails(name="front cell", part="focus.front-cell", met="missing"), by=BY)
    with pytest.raises(Refused, match="Keep the camera for parts first"):
        donor_from(arrived, by=BY)
    leaving.keep_for_parts(arrived, "by letter", by=BY)
    donor = donor_from(arrived, by=BY)
    assert donor_from(arrived, by=BY) == donor
    assert (donor.maker, donor.job) == ("Vorrin", arrived)
    assert "focus.front-cell" not in {part.id for part in still_in(donor)}


def test_a_jobs_donor_that_was_let_go_is_not_made_a_second_time(arrived):
    leaving.keep_for_parts(arrived, "by letter", by=BY)
    donor = donor_from(arrived, by=BY)
    let_donor_go(donor, "nothing of use left", by=BY)
    assert donor_from(arrived, by=BY) == donor
    assert not Donor.objects.exists()


def test_a_camera_kept_by_a_slip_goes_on_only_with_all_its_parts_and_is_no_donor_then(arrived):
    leaving.keep_for_parts(arrived, "by letter", by=BY)
    donor = donor_from(arrived, by=BY)
    spare = take_out(donor, SpareDetails(name="front cell"), by=BY)
    with pytest.raises(Refused, match="its front cell lies on the shelf"):
        leaving.take_back(arrived, "wrong camera", by=BY)
    taking.undo(spare.moves.get(), by=BY)
    leaving.take_back(arrived, "wrong camera", by=BY)
    with pytest.raises(Refused, match="is gone"):
        take_out(donor, SpareDetails(name="front cell"), by=BY)
    leaving.keep_for_parts(arrived, "by letter", by=BY)
    assert donor_from(arrived, by=BY) != donor, "kept after all, it is a donor anew"


def test_a_donor_that_is_gone_gives_nothing_and_its_spares_stay(donor):
    spare = take_out(donor, SpareDetails(name="front cell"), by=BY)
    with pytest.raises(Refused, match="Where does it go"):
        let_donor_go(donor, "", by=BY)
    let_donor_go(donor, "nothing of use left", by=BY)
    with pytest.raises(Refused, match="is gone"):
        take_out(donor, SpareDetails(name="bellows"), by=BY)
    assert counts(spare) == (1, 0)


# --- what fits ----------------------------------------------------------------------------------------


def test_what_surely_fits_comes_first_and_the_table_says_who_says_so(db):
    put_on_shelf(SpareDetails(name="front cell", family=CELL.family, maker="Tessaly", model="Duo"), by=BY)
    same = put_on_shelf(
        SpareDetails(name="front cell", family=CELL.family, maker="Vorrin", model="Pocket Six"), by=BY
    )
    box = put_on_shelf(SpareDetails(name="drive spring", family="box"), by=BY)
    past = put_on_shelf(SpareDetails(name="front cell", family=CELL.family, grade=5), by=BY)
    row = say_fits(
        Fitting(
            family="box", part=box.part, to_family=CELL.family, to_part="focus.front-cell",
            source="tried on job 41", both_ways=False,
        ),
        by=BY,
    )  # fmt: skip
    fits = spares_for(CELL.family, "focus.front-cell", maker="vorrin", model="pocket  six")
    assert [one.sure for one in fits] == [0, 1, 2]
    assert fits[0].spare == same
    assert "tried on job 41 (practice)" in fits[1].how
    assert past not in [one.spare for one in fits]
    assert box not in [one.spare for one in spares_for("box", "focus.front-cell")]
    assert [one.spare for one in spares_for("box", box.part)] == [box], "it is not said both ways"
    strike_out_fit(row, "it did not", by=BY)
    assert len(spares_for(CELL.family, "focus.front-cell")) == 2


@pytest.mark.parametrize(
    ("wrong", "why"),
    [
        ({"source": " "}, "Who says that it fits"),
        ({"mark": "hearsay"}, "Expected one of"),
        ({"to_part": "no.such"}, "no part of such a camera"),
        ({"to_family": CELL.family, "to_part": "focus.front-cell"}, "the same part"),
    ],
)
def test_a_row_that_cannot_be_is_refused(db, wrong, why):
    told = {
        "family": CELL.family, "part": "focus.front-cell", "to_family": "box",
        "to_part": "shutter.drive-spring", "source": "tried", **wrong,
    }  # fmt: skip
    with pytest.raises(Refused, match=why):
        say_fits(Fitting(**told), by=BY)


def test_what_a_part_is_worth_is_said_once_and_corrected(db):
    say_worth(CELL.family, "focus.front-cell", Money(6000, EUR), by=BY)
    row = say_worth(CELL.family, "focus.front-cell", Money(7000, EUR), by=BY)
    assert row.worth == Money(7000, EUR)
    with pytest.raises(Refused, match="above nothing"):
        say_worth(CELL.family, "focus.front-cell", Money(0, EUR), by=BY)
    with pytest.raises(Refused, match="no part"):
        say_worth("box", "focus.front-cell", Money(1, EUR), by=BY)
