"""
A random walk over agreements, bills and payments, with the machine stopping in the middle of deeds.

What is expected is kept beside the book in a few plain numbers. A kill is a database that fails at the n-th
statement that writes, as it would if the process ended there: the deed must leave nothing behind. CI's is a
short walk; `PEGWOOD_WALK_STEPS=10000` makes it as long as you like.
"""

from __future__ import annotations

import logging
import os
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest
from django.db import connection, transaction
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule, run_state_machine_as_test

from book.cast import BY, MONDAY
from pegwood.book import agreeing, leaving, moving
from pegwood.book.agreeing import Line
from pegwood.book.billing import owing, payments
from pegwood.book.billing.answers import offer_again
from pegwood.book.billing.issuing import Off, credit, issue_bill
from pegwood.book.billing.numbers import gaps
from pegwood.book.models import Bill, Camera, Job, Offer, Owner, Payment
from pegwood.book.refusal import Refused
from pegwood.book.workshop import change_settings
from pegwood.pricing.money import Money

pytestmark = [pytest.mark.slow, pytest.mark.django_db]
STEPS = int(os.environ.get("PEGWOOD_WALK_STEPS", "400"))
A_WALK = 50
#: So that a short walk gets somewhere.
BEGIN = ("ready", "ready", "looked over")
MOST_JOBS = 8
JOBS = len(BEGIN)
AMOUNTS = st.integers(1, 20_000)
LINES = st.lists(st.integers(1, 15_000), min_size=1, max_size=3)
MOVES = ("call_ready", "prove", "put_on_bench", "back_to_bench")
WHICH = st.integers(0, JOBS - 1)
#: After how many statements that write the machine stops; 0 lets the deed be done.
KILL = st.sampled_from([0, 0, 0, 0, 0, 0, 0, 0, 1, 2, 3, 4, 5, 7, 9])


#: How far the walk got: one that gets nowhere has shown nothing.
GOT: Counter[str] = Counter()


class Stopped(Exception):
    """The machine stopped."""


class Stops:
    """Fails at the n-th statement that writes."""

    def __init__(self, after: int) -> None:
        self.left = after

    def __call__(self, execute: Callable[..., Any], sql: str, *rest: Any) -> Any:
        if sql.lstrip()[:6].upper() in {"INSERT", "UPDATE", "DELETE"}:
            self.left -= 1
            if self.left == 0:
                raise Stopped
        return execute(sql, *rest)


@dataclass
class Expected:
    """What should stand in the book of one job, in minor units."""

    asked: int = 0
    paid: int = 0


def euros(minor: int) -> Money:
    return Money(minor, "EUR")


class Workshop(RuleBasedStateMachine):
    def __init__(self) -> None:
        super().__init__()
        self.held = transaction.atomic()
        self.held.__enter__()
        self.owner = Owner.objects.create(name="Ilse Marrick", known_since=MONDAY)
        self.expected: dict[int, Expected] = {}
        self.jobs = [self.arrived(standing) for standing in BEGIN]
        self.issued = self.credited = self.killed = 0

    def arrived(self, standing: str) -> Job:
        """One more job, at some standing; agreed to unless it is only looked over."""
        minor = None if standing == "looked over" else 60_000
        job = Job.objects.create(
            number=900 + len(self.expected), owner=self.owner, standing=standing, stands_since=MONDAY,
            camera=Camera.objects.create(owner=self.owner, family="box"), arrived_at=MONDAY,
            currency="EUR", price_minor=minor, agreed_up_to_minor=minor,
        )  # fmt: skip
        self.expected[job.pk] = Expected()
        return job

    def teardown(self) -> None:
        GOT["issued"] += self.issued
        GOT["credited"] += self.credited
        GOT["killed"] += self.killed
        GOT["paid"] += sum(bool(due.paid) for due in self.expected.values())
        transaction.set_rollback(True)
        self.held.__exit__(None, None, None)

    def do(self, deed: Callable[[], Any], kill: int) -> Any:
        """The deed's result; None where it was refused or the machine stopped: nothing may be left of it."""
        GOT["deeds"] += 1
        try:
            with transaction.atomic(), connection.execute_wrapper(Stops(kill)):
                return deed() or True
        except Refused:
            return None
        except Stopped:
            self.killed += 1
            return None

    def due(self, which: int) -> Expected:
        return self.expected[self.jobs[which].pk]

    def job(self, which: int) -> Job:
        return Job.objects.get(pk=self.jobs[which].pk)

    @initialize(
        prices=st.sampled_from(["gross", "net"]),
        rounding=st.sampled_from(["bill", "line"]),
        labour=st.sampled_from(["", "9", "21"]),
        part=st.sampled_from(["", "5.5", "21"]),
    )
    def settle(self, prices: str, rounding: str, labour: str, part: str) -> None:
        chosen = {"prices_are": prices, "tax_rounding": rounding, "tax_labour": labour, "tax_part": part}
        change_settings({**chosen, "name": "Halm"}, by=BY)

    @rule(which=WHICH, amounts=LINES, kill=KILL)
    def asks_for_money(self, which: int, amounts: list[int], kill: int) -> None:
        self.write(which, amounts, 0)
        self.issue(which, kill)

    @rule(which=WHICH, amounts=LINES, kill=KILL)
    def writes_only(self, which: int, amounts: list[int], kill: int) -> None:
        self.write(which, amounts, kill)

    @rule(
        which=WHICH, what=st.sampled_from(["pay", "deposit", "give_back", "slip"]), amount=AMOUNTS, kill=KILL
    )
    def money_moves(self, which: int, what: str, amount: int, kill: int) -> None:
        getattr(self, what)(which, *([] if what == "slip" else [amount]), kill)

    @rule(which=WHICH, part=st.integers(0, 5_000), kind=st.sampled_from(["labour", "part"]), kill=KILL)
    def corrects(self, which: int, part: int, kind: str, kill: int) -> None:
        self.take_off(which, part, kind, kill)

    @rule(which=WHICH, what=st.sampled_from(MOVES), kill=KILL)
    def moves_on(self, which: int, what: str, kill: int) -> None:
        self.move(which, what, kill)

    @rule(
        which=WHICH,
        what=st.sampled_from(["hand_back", "come_back", "another_comes"]),
        amount=AMOUNTS,
        kill=KILL,
    )
    def comes_or_goes(self, which: int, what: str, amount: int, kill: int) -> None:
        getattr(self, what)(which, *({"hand_back": [amount, kill], "come_back": [kill]}.get(what, [])))

    @rule(which=WHICH, what=st.sampled_from(["tell", "agree", "grow"]), amounts=LINES, kill=KILL)
    def agrees(self, which: int, what: str, amounts: list[int], kill: int) -> None:
        getattr(self, what)(which, amounts if what == "tell" else sum(amounts), kill)

    def tell(self, which: int, amounts: list[int], kill: int) -> None:
        lines = [
            Line(what=f"line {n}", kind=("labour", "part")[n % 2], amount=euros(amount))
            for n, amount in enumerate(amounts)
        ]
        told = Offer.objects.count()
        done = self.do(lambda: agreeing.tell_price(self.job(which), lines, by=BY), kill)
        assert Offer.objects.count() == told + bool(done)

    def agree(self, which: int, more: int, kill: int) -> None:
        job = self.job(which)
        up_to = euros((job.price_minor or 0) + more)
        self.do(lambda: agreeing.record_yes(job, how="by telephone", up_to=up_to, by=BY), kill)

    def grow(self, which: int, more: int, kill: int) -> None:
        job = self.job(which)
        new = euros((job.price_minor or 0) + more)
        self.do(lambda: offer_again(job, new, "a spring too", by=BY), kill)

    def move(self, which: int, move: str, kill: int) -> None:
        reason = ["it sticks"] if move == "back_to_bench" else []
        self.do(lambda: getattr(moving, move)(self.job(which), *reason, by=BY), kill)

    def write(self, which: int, amounts: list[int], kill: int) -> None:
        lines = [
            Line(what=f"work {n}", kind=("labour", "part")[n % 2], amount=euros(amount))
            for n, amount in enumerate(amounts)
        ]
        self.do(lambda: agreeing.write_bill(self.job(which), lines, by=BY), kill)

    def another_comes(self, which: int) -> None:
        if self.job(which).is_over and len(self.expected) < MOST_JOBS:
            self.jobs[which] = self.arrived("ready")

    def issue(self, which: int, kill: int) -> None:
        self.came(which, self.do(lambda: issue_bill(self.job(which), by=BY), kill))

    def came(self, which: int, bill: Any) -> None:
        if bill:
            self.issued += 1
            self.due(which).asked += bill.total_minor

    def take_off(self, which: int, part: int, kind: str, kill: int) -> None:
        bill = self.jobs[which].bills.filter(kind="bill").last()
        if bill is None:
            return
        off = [Off(what="off", amount=euros(part), kind=kind)] if part else []
        note = self.do(lambda: credit(bill, "wrong", off=off, by=BY), kill)
        if note:
            self.credited += 1
            self.due(which).asked += note.total_minor

    def pay(self, which: int, amount: int, kill: int) -> None:
        if self.do(lambda: payments.record_payment(self.job(which), euros(amount), "cash", by=BY), kill):
            self.due(which).paid += amount

    def deposit(self, which: int, amount: int, kill: int) -> None:
        if self.do(lambda: payments.take_deposit(self.job(which), euros(amount), "cash", by=BY), kill):
            self.due(which).paid += amount

    def give_back(self, which: int, amount: int, kill: int) -> None:
        deed = lambda: payments.pay_back(self.job(which), euros(amount), "cash", "too much", by=BY)  # noqa: E731
        if self.do(deed, kill):
            self.due(which).paid -= amount
            assert self.due(which).paid >= self.due(which).asked

    def slip(self, which: int, kill: int) -> None:
        entry = self.jobs[which].payments.exclude(kind=Payment.Kind.UNDONE).filter(undone_by=None).first()
        if entry and self.do(lambda: payments.undo_payment(entry, "a slip", by=BY), kill):
            self.due(which).paid -= entry.amount_minor

    def hand_back(self, which: int, amount: int, kill: int) -> None:
        before = set(self.jobs[which].bills.values_list("pk", flat=True))
        paid = euros(amount)
        if self.do(lambda: leaving.hand_back(self.job(which), paid=paid, paid_how="cash", by=BY), kill):
            self.due(which).paid += amount
            self.came(which, self.jobs[which].bills.exclude(pk__in=before).first())

    def come_back(self, which: int, kill: int) -> None:
        job = self.job(which)
        since = job.gone_home_at
        at_counter = (
            job.payments.filter(at__gte=since, undone_by=None).exclude(kind="undone") if since else []
        )
        gone = sum(entry.amount_minor for entry in at_counter)
        if self.do(lambda: leaving.take_back(job, "wrong tag", by=BY), kill):
            self.due(which).paid -= gone

    @invariant()
    def nothing_is_lost_or_doubled(self) -> None:
        bills = list(Bill.objects.prefetch_related("lines", "credits"))
        self.numbers_have_no_gap(bills)
        self.no_cent_is_lost(bills)
        for bill in bills:
            self.bill_adds_up(bill)

    def numbers_have_no_gap(self, bills: list[Bill]) -> None:
        assert gaps() == []
        kinds = Counter(bill.kind for bill in bills)
        assert (kinds["bill"], kinds["credit"]) == (self.issued, self.credited)

    def no_cent_is_lost(self, bills: list[Bill]) -> None:
        assert payments.not_adding_up() == []
        now = {job.pk: job for job in Job.objects.all()}
        for pk, due in self.expected.items():
            mine = [bill for bill in bills if bill.job_id == pk]
            assert sum(bill.total_minor for bill in mine) == due.asked
            assert (now[pk].paid_minor or 0) == due.paid
            if mine:
                assert owing.balance(now[pk]) == euros(due.asked - due.paid)
            assert sum(not owing.taken_back(bill) for bill in mine if bill.kind == "bill") <= 1

    def bill_adds_up(self, bill: Bill) -> None:
        assert sum(line.net_minor for line in bill.lines.all()) == bill.net_minor
        assert sum(tax["tax_minor"] for tax in bill.taxes) == bill.tax_minor
        assert sum(tax["net_minor"] for tax in bill.taxes) == bill.net_minor
        if bill.kind == "bill":
            assert owing.left_of(bill).minor >= 0
            assert bill.total_minor <= (bill.agreed_up_to_minor or 0)


def test_no_cent_no_number_and_no_deed_is_lost_or_done_twice():
    walks = max(1, STEPS // A_WALK)
    run_state_machine_as_test(
        Workshop,
        settings=settings(
            max_examples=walks,
            stateful_step_count=A_WALK,
            suppress_health_check=list(HealthCheck),
        ),
    )
    logging.getLogger(__name__).info("the walk got so far: %s", dict(GOT))
    assert GOT["issued"] >= walks // 2, GOT
    assert GOT["killed"] >= walks, GOT
    assert GOT["credited"] >= walks // 4, GOT
    assert GOT["paid"] >= walks // 4, GOT
