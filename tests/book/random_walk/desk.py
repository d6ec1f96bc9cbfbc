"""The desk in the random walk: agreements, bills and payments, with a few plain numbers beside them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from django.db import transaction
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant

from book.cast import BY, MONDAY
from book.random_walk.stops import KILL, CameTo, done_or_stopped
from pegwood.book import agreeing, leaving, moving
from pegwood.book.agreeing import Line
from pegwood.book.billing import owing, payments
from pegwood.book.billing.answers import offer_again
from pegwood.book.billing.issuing import Off, credit, issue_bill
from pegwood.book.billing.numbers import gaps
from pegwood.book.models import Bill, Camera, Job, Offer, Owner, Payment
from pegwood.book.workshop import change_settings
from pegwood.pricing.money import Money

#: So that a short walk gets somewhere.
BEGIN = ("ready", "ready", "looked over")
MOST_JOBS = 8
JOBS = len(BEGIN)
#: What is done at the desk; what stands here twice is done twice as often.
AT_THE_DESK = (
    *("ask_for_money", "ask_for_money", "write", "issue", "take_off", "take_off"),
    *("go_along", "go_along", "go_along", "go_along", "go_along", "go_along", "tell", "agree", "grow"),
    *("pay", "pay", "deposit", "pay_back", "slip"),
    *("call_ready", "prove", "put_on_bench", "back_to_bench"),
    *("hand_back", "come_back", "send_back", "keep_it", "another_comes"),
)
#: What comes next where all goes well, by where a job stands.
NEXT = {
    "looked over": "tell",
    "priced": "agree",
    "agreed": "put_on_bench",
    "on the bench": "prove",
    "proving": "call_ready",
    "ready": "ask_for_money",
}


@dataclass(frozen=True)
class Told:
    """What is drawn for one deed; each takes of it what it needs."""

    #: Which job, and which of anything else.
    which: int
    other: int
    count: int
    amounts: list[int]
    kill: int

    @property
    def amount(self) -> int:
        return self.amounts[0]


TOLD = st.builds(
    Told,
    which=st.integers(0, JOBS - 1),
    other=st.integers(0, 11),
    count=st.sampled_from([1, 1, 1, 2, 3]),
    amounts=st.lists(st.integers(1, 15_000), min_size=1, max_size=3),
    kill=KILL,
)


#: How far the walk got: one that gets nowhere has shown nothing.
GOT: Counter[str] = Counter()


@dataclass
class Expected:
    """What should stand in the book of one job, in minor units, and whether it is over."""

    asked: int = 0
    paid: int = 0
    over: bool = False


def euros(minor: int) -> Money:
    return Money(minor, "EUR")


def lines(amounts: list[int]) -> list[Line]:
    """Work and parts by turns."""
    return [
        Line(what=f"line {n}", kind=("labour", "part")[n % 2], amount=euros(amount))
        for n, amount in enumerate(amounts)
    ]


class Desk(RuleBasedStateMachine):
    def __init__(self) -> None:
        super().__init__()
        self.held = transaction.atomic()
        self.held.__enter__()
        self.owner = Owner.objects.create(name="Ilse Marrick", known_since=MONDAY)
        self.expected: dict[int, Expected] = {}
        self.came_to = CameTo.DONE
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

    def do(self, deed: Callable[[], Any], told: Told) -> Any:
        """The deed's result; None where it was refused or the machine stopped: nothing may be left of it."""
        GOT["deeds"] += 1
        self.came_to, result = done_or_stopped(deed, told.kill)
        self.killed += self.came_to is CameTo.STOPPED
        return (result or True) if self.came_to is CameTo.DONE else None

    def due(self, told: Told) -> Expected:
        return self.expected[self.jobs[told.which].pk]

    def job(self, told: Told) -> Job:
        return Job.objects.get(pk=self.jobs[told.which].pk)

    @initialize(
        prices=st.sampled_from(["gross", "net"]),
        rounding=st.sampled_from(["bill", "line"]),
        labour=st.sampled_from(["", "9", "21"]),
        part=st.sampled_from(["", "5.5", "21"]),
    )
    def settle(self, prices: str, rounding: str, labour: str, part: str) -> None:
        chosen = {"prices_are": prices, "tax_rounding": rounding, "tax_labour": labour, "tax_part": part}
        change_settings({**chosen, "name": "Halm"}, by=BY)

    def ask_for_money(self, told: Told) -> None:
        self.write(replace(told, kill=0))
        self.issue(told)

    def go_along(self, told: Told) -> None:
        """What comes next, so that a walk gets somewhere."""
        getattr(self, NEXT.get(self.job(told).standing, "another_comes"))(told)

    def tell(self, told: Told) -> None:
        before = Offer.objects.count()
        done = self.do(lambda: agreeing.tell_price(self.job(told), lines(told.amounts), by=BY), told)
        assert Offer.objects.count() == before + bool(done)

    def agree(self, told: Told) -> None:
        job = self.job(told)
        up_to = euros((job.price_minor or 0) + told.amount)
        self.do(lambda: agreeing.record_yes(job, how="by telephone", up_to=up_to, by=BY), told)

    def grow(self, told: Told) -> None:
        job = self.job(told)
        new = euros((job.price_minor or 0) + told.amount)
        self.do(lambda: offer_again(job, new, "a spring too", by=BY), told)

    def call_ready(self, told: Told) -> None:
        self.do(lambda: moving.call_ready(self.job(told), by=BY), told)

    def prove(self, told: Told) -> None:
        self.do(lambda: moving.prove(self.job(told), by=BY), told)

    def put_on_bench(self, told: Told) -> None:
        self.do(lambda: moving.put_on_bench(self.job(told), by=BY), told)

    def back_to_bench(self, told: Told) -> None:
        self.do(lambda: moving.back_to_bench(self.job(told), "it sticks", by=BY), told)

    def write(self, told: Told) -> None:
        self.do(lambda: agreeing.write_bill(self.job(told), lines(told.amounts), by=BY), told)

    def another_comes(self, told: Told) -> None:
        if self.due(told).over and len(self.expected) < MOST_JOBS:
            self.jobs[told.which] = self.arrived("ready" if told.count == 1 else "looked over")

    def issue(self, told: Told) -> None:
        self.came(told, self.do(lambda: issue_bill(self.job(told), by=BY), told))

    def came(self, told: Told, bill: Any) -> None:
        if bill:
            self.issued += 1
            self.due(told).asked += bill.total_minor

    def take_off(self, told: Told) -> None:
        """The whole of a bill, or some of it."""
        bill = self.job(told).bills.filter(kind="bill").last()
        if bill is None:
            return
        kind = ("whole", "labour", "part")[told.count - 1]
        part = Off(what="off", amount=euros(told.amount % 1000 + 1), kind=kind)
        off = [] if kind == "whole" else [part]
        note = self.do(lambda: credit(bill, "wrong", off=off, by=BY), told)
        if note:
            self.credited += 1
            self.due(told).asked += note.total_minor

    def pay(self, told: Told) -> None:
        paid = euros(told.amount)
        if self.do(lambda: payments.record_payment(self.job(told), paid, "cash", by=BY), told):
            self.due(told).paid += told.amount

    def deposit(self, told: Told) -> None:
        paid = euros(told.amount)
        if self.do(lambda: payments.take_deposit(self.job(told), paid, "cash", by=BY), told):
            self.due(told).paid += told.amount

    def pay_back(self, told: Told) -> None:
        back = euros(told.amount)
        if self.do(lambda: payments.pay_back(self.job(told), back, "cash", "too much", by=BY), told):
            self.due(told).paid -= told.amount
            assert self.due(told).paid >= self.due(told).asked

    def slip(self, told: Told) -> None:
        mine = self.job(told).payments.exclude(kind=Payment.Kind.UNDONE)
        entry = mine.filter(undone_by=None).first()
        if entry and self.do(lambda: payments.undo_payment(entry, "a slip", by=BY), told):
            self.due(told).paid -= entry.amount_minor

    def hand_back(self, told: Told) -> None:
        job, paid = self.job(told), euros(told.amount)
        before = set(job.bills.values_list("pk", flat=True))
        if self.do(lambda: leaving.hand_back(job, paid=paid, paid_how="cash", by=BY), told):
            self.ended(told)
            self.due(told).paid += told.amount
            self.came(told, job.bills.exclude(pk__in=before).first())

    def come_back(self, told: Told) -> None:
        job = self.job(told)
        since = job.gone_home_at
        at_counter = (
            job.payments.filter(at__gte=since, undone_by=None).exclude(kind="undone") if since else []
        )
        gone = sum(entry.amount_minor for entry in at_counter)
        if self.do(lambda: leaving.take_back(job, "wrong tag", by=BY), told):
            self.due(told).paid -= gone
            self.due(told).over = False

    def send_back(self, told: Told) -> None:
        if self.do(lambda: leaving.send_back_unmended(self.job(told), "too far gone", by=BY), told):
            self.ended(told)

    def keep_it(self, told: Told) -> None:
        if self.do(lambda: leaving.keep_for_parts(self.job(told), "by letter", by=BY), told):
            self.ended(told)

    def ended(self, told: Told) -> None:
        self.due(told).over = True

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
            assert now[pk].is_over == due.over
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
