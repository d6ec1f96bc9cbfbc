"""Several at once, on the database the book runs on: no number is left out, given twice or lost."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Barrier
from uuid import uuid4

import pytest
from django.db import connection, transaction
from pytest_django import DjangoDbBlocker

from book.billing.open_book import committed
from book.cast import BY, MONDAY
from pegwood.book.billing import clock, payments
from pegwood.book.billing.issuing import issue_bill
from pegwood.book.billing.numbers import gaps
from pegwood.book.models import Bill, Camera, Job, Owner, PriceLine
from pegwood.book.refusal import Refused
from pegwood.pricing.money import Money

HANDS = 12


@pytest.fixture
def jobs(django_db_setup: None, django_db_blocker: DjangoDbBlocker, tmp_path: Path) -> Iterator[list[Job]]:
    """Jobs that are ready and have a bill written, in a book that commits."""
    with django_db_blocker.unblock(), committed(tmp_path):
        owner = Owner.objects.create(name="Ilse Marrick", known_since=MONDAY)
        made = []
        for number in range(1, HANDS + 1):
            camera = Camera.objects.create(owner=owner, family="box")
            job = Job.objects.create(
                number=number, owner=owner, camera=camera, standing="ready", stands_since=MONDAY,
                arrived_at=MONDAY, currency="EUR", price_minor=5000, agreed_up_to_minor=5000,
            )  # fmt: skip
            PriceLine.objects.create(job=job, sheet="bill", position=1, what="cleaned", amount_minor=5000)
            made.append(job)
        yield made


class GivesUp(Exception):
    """Somebody's machine that stops in the middle."""


def at_once(deeds: list[Callable[[], object]]) -> list[object]:
    """Let each deed be done by a thread of its own, all at one moment; what each gave, or its refusal."""
    together = Barrier(len(deeds))

    def do(deed: Callable[[], object]) -> object:
        try:
            together.wait(30)
            return deed()
        except (Refused, GivesUp) as refusal:
            return refusal
        finally:
            connection.close()

    with ThreadPoolExecutor(len(deeds)) as hands:
        return list(hands.map(do, deeds))


def issues(job: Job, gives_up: bool = False) -> Callable[[], Bill]:
    def deed() -> Bill:
        with transaction.atomic():
            bill = issue_bill(job, by=BY, at=MONDAY)
            if gives_up:
                raise GivesUp
            return bill

    return deed


def test_bills_issued_at_once_are_numbered_without_a_gap_though_some_fail(jobs):
    failing = {2, 3, 7, 10}
    given = at_once([issues(job, gives_up=place in failing) for place, job in enumerate(jobs)])
    done = sorted(one.n for one in given if isinstance(one, Bill))
    assert done == list(range(1, HANDS - len(failing) + 1))
    assert gaps() == []
    assert sum(isinstance(one, GivesUp) for one in given) == len(failing)


def test_a_bill_issued_by_many_at_once_is_issued_once(jobs):
    given = at_once([issues(jobs[0])] * 6)
    assert sum(isinstance(one, Bill) for one in given) == 1
    assert (Bill.objects.count(), gaps()) == (1, [])


def test_a_payment_sent_many_times_at_once_is_booked_once(jobs):
    issue_bill(jobs[0], by=BY, at=MONDAY)
    ticket = uuid4()

    def pays() -> Job:
        return payments.record_payment(jobs[0], Money(700, "EUR"), "cash", by=BY, ticket=ticket)

    at_once([pays] * 6)
    assert Job.objects.get(pk=jobs[0].pk).paid_minor == 700
    assert payments.not_adding_up() == []


def test_payments_made_at_once_all_count(jobs):
    issue_bill(jobs[0], by=BY, at=MONDAY)

    def pays() -> Job:
        return payments.record_payment(jobs[0], Money(700, "EUR"), "cash", by=BY)

    at_once([pays] * 6)
    assert Job.objects.get(pk=jobs[0].pk).paid_minor == 4200


def test_a_clock_stopped_by_many_at_once_counts_once(jobs):
    jobs[0].standing = "on the bench"
    jobs[0].save()
    clock.start(jobs[0], by=BY, at=MONDAY)
    at_once([lambda: clock.stop(jobs[0], by=BY, at=MONDAY)] * 6)
    assert jobs[0].clock_entries.count() == 1
