"""The shelf in the random walk: spares put in, held, used, given back, written off, counted; slips undone."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from hypothesis.stateful import invariant

from book.cast import BY
from book.random_walk.desk import GOT, Desk, Told, euros
from book.random_walk.plain_shelf import Lying, Moved
from book.random_walk.stops import CameTo
from pegwood.book import agreeing
from pegwood.book.agreeing import Line
from pegwood.book.billing.issuing import issue_bill
from pegwood.book.models import Bill, DiaryEntry, Spare, SpareMove
from pegwood.book.spares import taking
from pegwood.book.spares.putting import SpareDetails, amend_spare, put_more, put_on_shelf

MOST_COST = 4_000
#: What the diary says of each kind of move.
IN_THE_DIARY = (
    *("put on the shelf", "reserved a spare", "let go of a spare", "used a spare", "gave a spare back"),
    *("wrote a spare off", "counted a spare", "undid a move of the shelf"),
)
AT_THE_SHELF = (
    *("reserve", "reserve", "reserve", "use", "use", "use", "give_back", "let_go"),
    *("undo_a_move", "undo_a_move", "write_off", "put_more", "recount", "get_dearer", "buy"),
    *("bill_what_was_used", "bill_what_was_used"),
)


class Shelf(Desk):
    def __init__(self) -> None:
        super().__init__()
        self.lying: dict[int, Lying] = {}
        self.moves: dict[int, Moved] = {}
        #: By bill: its lines for parts, as they should stand on it for good.
        self.parts_on: dict[int, Counter[tuple[str, int]]] = {}
        for count, cost in ((6, 150), (3, 2500)):
            self.buy(Told(which=0, other=0, count=count, amounts=[cost], kill=0))

    def spare(self, told: Told) -> Spare:
        return Spare.objects.get(pk=list(self.lying)[told.other % len(self.lying)])

    def over(self) -> set[int]:
        return {job for job, due in self.expected.items() if due.over}

    def has_moved(self, row: SpareMove, move: Moved) -> None:
        self.moves[row.pk] = move
        self.lying[move.spare] = self.lying[move.spare].after(move)
        GOT[f"spares {row.kind}"] += abs(move.lies or move.held)

    def moves_it(
        self, deed: Callable[[], SpareMove | None], move: Moved, told: Told, *, may: bool = True
    ) -> SpareMove | None:
        """Let the book do it. It must be refused where it cannot be, and only there."""
        may = may and self.lying[move.spare].after(move).can_be(self.over())
        row = self.do(deed, told)
        if self.came_to is CameTo.STOPPED:
            return None
        assert (self.came_to is CameTo.DONE) == may, move
        if not may or not (move.lies or move.held):
            return None
        assert isinstance(row, SpareMove)
        self.has_moved(row, move)
        return row

    def reserve(self, told: Told) -> None:
        spare, job = self.spare(told), self.job(told)
        move = Moved(spare.pk, held=told.count, job=job.pk)
        may = not self.due(told).over
        self.moves_it(lambda: taking.reserve(spare, job, told.count, by=BY), move, told, may=may)

    def let_go(self, told: Told) -> None:
        spare, job = self.spare(told), self.job(told)
        held = self.lying[spare.pk].held[job.pk]
        move = Moved(spare.pk, held=-held, job=job.pk)
        self.moves_it(lambda: taking.let_go(spare, job, by=BY), move, told, may=held > 0)

    def use(self, told: Told) -> None:
        spare, job = self.spare(told), self.job(told)
        own = min(told.count, self.lying[spare.pk].held[job.pk])
        move = Moved(spare.pk, lies=-told.count, held=-own, job=job.pk)
        may = not self.due(told).over
        self.moves_it(lambda: taking.use(spare, job, told.count, by=BY), move, told, may=may)

    def give_back(self, told: Told) -> None:
        spare, job = self.spare(told), self.job(told)
        move = Moved(spare.pk, lies=told.count, job=job.pk)
        self.moves_it(lambda: taking.give_back(spare, job, told.count, by=BY), move, told)

    def write_off(self, told: Told) -> None:
        spare = self.spare(told)
        move = Moved(spare.pk, lies=-told.count)
        self.moves_it(lambda: taking.write_off(spare, told.count, "broke", by=BY), move, told)

    def put_more(self, told: Told) -> None:
        spare = self.spare(told)
        move = Moved(spare.pk, lies=told.count)
        self.moves_it(lambda: put_more(spare, told.count, by=BY), move, told)

    def recount(self, told: Told) -> None:
        spare, found = self.spare(told), told.amount % 6
        move = Moved(spare.pk, lies=found - self.lying[spare.pk].lies)
        self.moves_it(lambda: taking.recount(spare, found, by=BY), move, told)

    def get_dearer(self, told: Told) -> None:
        spare, cost = self.spare(told), told.amount % MOST_COST
        details = SpareDetails(name=spare.name, family=spare.family, part=spare.part, cost=euros(cost))
        if self.do(lambda: amend_spare(spare, details, by=BY), told):
            self.lying[spare.pk].cost = cost

    def buy(self, told: Told) -> None:
        cost = told.amount % MOST_COST
        details = SpareDetails(name=f"spring {len(self.lying)}", cost=euros(cost))
        spare = self.do(lambda: put_on_shelf(details, told.count, by=BY), told)
        if spare:
            self.came_new(spare, told.count, cost)

    def came_new(self, spare: Spare, count: int, cost: int | None) -> None:
        self.lying[spare.pk] = Lying(spare.name, cost)
        self.has_moved(spare.moves.get(), Moved(spare.pk, lies=count))

    def undo_a_move(self, told: Told) -> None:
        pk = list(self.moves)[-1 - told.other % min(5, len(self.moves))]  # some are undone twice
        self.undo(SpareMove.objects.get(pk=pk), told)

    def undo(self, row: SpareMove, told: Told) -> bool:
        move = self.moves[row.pk]
        if self.moves_it(lambda: taking.undo(row, by=BY), move.back, told, may=not move.settled) is None:
            return False
        self.moves[row.pk] = replace(move, settled=True)
        return True

    def ended(self, told: Told) -> None:
        """All that was held for a job is free again once it is over."""
        super().ended(told)
        job = self.jobs[told.which].pk
        for spare, there in self.lying.items():
            if there.held[job]:
                row = SpareMove.objects.filter(spare=spare, job=job, kind="let go").latest("pk")
                self.has_moved(row, Moved(spare, held=-there.held[job], job=job))

    def bill_what_was_used(self, told: Told) -> None:
        """A bill with a line for the work and one for each spare in the camera, at what they cost."""
        job = self.job(told)
        if not any(one.used[job.pk] for one in self.lying.values()):
            self.use(replace(told, count=1, kill=0))
        parts = Counter(
            (one.name, one.used[job.pk] * one.cost)
            for one in self.lying.values()
            if one.cost and one.used[job.pk]
        )
        sheet = [Line(what=name, kind="part", amount=euros(minor)) for name, minor in parts]
        sheet.append(Line(what="work", amount=euros(told.amount)))
        if not self.do(lambda: agreeing.write_bill(job, sheet, by=BY), replace(told, kill=0)):
            return
        bill = self.do(lambda: issue_bill(job, by=BY), told)
        self.came(told, bill)
        if bill:
            self.parts_on[bill.pk] = parts
            GOT["bills with spares"] += bool(parts)

    @invariant()
    def the_shelf_is_as_it_should_be(self) -> None:
        rows = list(SpareMove.objects.values_list("spare", "kind", "lies", "held", "job"))
        assert len(rows) == len(self.moves)
        assert DiaryEntry.objects.filter(what__in=IN_THE_DIARY).count() == len(rows)
        for spare, there in self.lying.items():
            self.spare_is_as_it_should_be(there, [row[1:] for row in rows if row[0] == spare])
        counted = {one.pk: (one.lies, one.free, one.cost_minor) for one in Spare.objects.counted()}
        assert counted == {pk: (one.lies, one.free, one.cost) for pk, one in self.lying.items()}

    def spare_is_as_it_should_be(self, there: Lying, rows: list[tuple[Any, ...]]) -> None:
        held, used = Counter[int](), Counter[int]()
        for _, lies, more, job in rows:
            if job is not None:
                held[job] += more
                used[job] -= lies
        assert held == there.held
        assert used == there.used
        assert min(there.lies, there.free, *held.values(), *used.values(), 0) == 0
        put_in = sum(lies for _, lies, _, job in rows if lies > 0 and job is None)
        assert used.total() <= put_in, "no more can be used than ever was put in"

    def bill_adds_up(self, bill: Bill) -> None:
        super().bill_adds_up(bill)
        if bill.pk in self.parts_on:
            parts = [line for line in bill.lines.all() if line.kind == "part"]
            assert Counter((line.what, line.amount_minor) for line in parts) == self.parts_on[bill.pk]
