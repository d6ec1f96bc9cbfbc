"""Fifty benches reach for the same few spares: on SQLite here, on PostgreSQL in CI's run of this folder."""

from __future__ import annotations

from collections import Counter

import pytest

from book.cast import BENNO, BY, REFLEX
from book.shared import all_at_once, shared_book
from pegwood.book import arriving
from pegwood.book.models import Job, SpareMove
from pegwood.book.refusal import Refused
from pegwood.book.spares import taking
from pegwood.book.spares.donors import DonorDetails, keep_donor, still_in, take_out
from pegwood.book.spares.moves import Count, count_of
from pegwood.book.spares.putting import SpareDetails, put_on_shelf

TAKERS = 50


@pytest.fixture(scope="module")
def shared(django_db_setup, django_db_blocker, tmp_path_factory):
    """One book for all tests here; each has spares of its own."""
    with shared_book(django_db_blocker, tmp_path_factory.mktemp("shared")):
        yield


@pytest.fixture(scope="module")
def jobs(shared) -> list[Job]:
    return [arriving.take_in(BENNO, REFLEX, by=BY) for _ in range(5)]


def outcomes(came_to) -> Counter:
    return Counter("refused" if isinstance(one, Refused) else type(one).__name__ for one in came_to)


def test_of_fifty_that_take_the_last_one_a_single_one_gets_it(jobs):
    spare = put_on_shelf(SpareDetails(name="selenium cell"), by=BY)
    came_to = all_at_once(lambda n: taking.use(spare, jobs[n % 5], by=BY), TAKERS)
    assert outcomes(came_to) == {"SpareMove": 1, "refused": TAKERS - 1}, came_to
    assert {str(one) for one in came_to if isinstance(one, Refused)} == {
        "No selenium cell is left on the shelf."
    }
    assert count_of(spare) == Count(0, 0)


def test_of_fifty_that_reserve_use_and_write_off_seven_get_one_each(jobs):
    spare = put_on_shelf(SpareDetails(name="drive spring"), 7, by=BY)

    def take(n: int):
        if n % 3 == 0:
            return taking.reserve(spare, jobs[n % 5], by=BY)
        if n % 3 == 1:
            return taking.write_off(spare, 1, "broke", by=BY)
        return taking.use(spare, jobs[n % 5], by=BY)

    came_to = all_at_once(take, TAKERS)
    told = outcomes(came_to)
    assert set(told) == {"SpareMove", "refused"}, came_to
    count = count_of(spare)
    taken = Counter(SpareMove.objects.filter(spare=spare).values_list("kind", flat=True))
    assert count.lies == 7 - taken["used"] - taken["written off"]
    assert 0 <= count.held <= count.lies
    assert count.free == 0, "nobody went away empty-handed while one was free"


def test_of_fifty_that_take_one_part_out_of_a_donor_a_single_one_has_it(shared):
    donor = keep_donor(DonorDetails(family="box"), by=BY)
    came_to = all_at_once(lambda _: take_out(donor, SpareDetails(name="drive spring"), by=BY), TAKERS)
    assert outcomes(came_to) == {"Spare": 1, "refused": TAKERS - 1}, came_to
    assert "shutter.drive-spring" not in {part.id for part in still_in(donor)}
    assert donor.spares.count() == 1


def test_a_slip_that_fifty_undo_is_undone_once(jobs):
    spare = put_on_shelf(SpareDetails(name="shim"), 3, by=BY)
    slip = taking.use(spare, jobs[0], 2, by=BY)
    came_to = all_at_once(lambda _: taking.undo(slip, by=BY), TAKERS)
    assert outcomes(came_to) == {"SpareMove": 1, "refused": TAKERS - 1}, came_to
    assert count_of(spare) == Count(3, 0)
