"""Donors in the random walk: what comes out of a camera that is kept for its parts, and goes back into it."""

from __future__ import annotations

from dataclasses import dataclass, field

from hypothesis.stateful import invariant

from book.cast import BY
from book.random_walk.desk import GOT, Told
from book.random_walk.shelf import Shelf
from book.random_walk.stops import CameTo
from pegwood.book.models import Donor, DonorPart, Spare, SpareMove
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
from pegwood.book.spares.putting import SpareDetails

#: Of a box camera's parts, the ones that are taken out here.
PARTS = {
    "body.winding-key": "winding key",
    "body.key-collar": "key collar",
    "body.back-door": "back door",
    "body.back-catch": "back catch",
}
MOST_DONORS = 5
AT_THE_DONORS = (
    *("take_out", "take_out", "take_out", "lacks_one", "has_it_after_all", "let_donor_go"),
    *("become_a_donor", "become_a_donor", "keep_another"),
)


def part_of(told: Told) -> str:
    return list(PARTS)[told.amount % len(PARTS)]


@dataclass
class StillIn:
    """What should be in a donor, of `PARTS`."""

    parts: set[str] = field(default_factory=lambda: set(PARTS))
    gone: bool = False
    job: int | None = None


class Donors(Shelf):
    def __init__(self) -> None:
        super().__init__()
        self.donors: dict[int, StillIn] = {}
        #: What came out, by the move that put it on the shelf; what was said not to be in it, by row.
        self.came_out: dict[int, tuple[int, str]] = {}
        self.missing_rows: dict[int, tuple[int, str]] = {}
        self.keep_another(Told(which=0, other=0, count=1, amounts=[1], kill=0))

    def donor(self, told: Told) -> Donor:
        return Donor.everything.get(pk=list(self.donors)[told.other % len(self.donors)])

    def came_as(self, *, may: bool) -> bool:
        """Whether it is done; it must be refused where it cannot be, and only there."""
        if self.came_to is CameTo.STOPPED:
            return False
        assert (self.came_to is CameTo.DONE) == may
        return may

    def keep_another(self, told: Told) -> None:
        if len(self.donors) < MOST_DONORS:
            donor = self.do(lambda: keep_donor(DonorDetails(family="box"), by=BY), told)
            if donor:
                self.donors[donor.pk] = StillIn()

    def become_a_donor(self, told: Told) -> None:
        """There is one donor of a job at most, however often it is asked for."""
        job = self.job(told)
        before = [pk for pk, one in self.donors.items() if one.job == job.pk]
        donor = self.do(lambda: donor_from(job, by=BY), told)
        if self.came_as(may=bool(before) or job.standing == "kept for parts"):
            assert before in ([], [donor.pk])
            self.donors.setdefault(donor.pk, StillIn(job=job.pk))
            GOT["jobs that became donors"] += not before

    def take_out(self, told: Told) -> None:
        donor, part = self.donor(told), part_of(told)
        there = self.donors[donor.pk]
        details = SpareDetails(name=PARTS[part], part=part)
        spare = self.do(lambda: take_out(donor, details, by=BY), told)
        if self.came_as(may=not there.gone and part in there.parts):
            there.parts.remove(part)
            self.came_out[spare.moves.get().pk] = donor.pk, part
            self.came_new(spare, 1, None)
            GOT["parts out of donors"] += 1

    def lacks_one(self, told: Told) -> None:
        donor, part = self.donor(told), part_of(told)
        there = self.donors[donor.pk]
        row = self.do(lambda: not_in_it(donor, part, reason="broken", by=BY), told)
        if self.came_as(may=not there.gone and part in there.parts):
            there.parts.remove(part)
            self.missing_rows[row.pk] = donor.pk, part

    def has_it_after_all(self, told: Told) -> None:
        donor, part = self.donor(told), part_of(told)
        there = self.donors[donor.pk]
        row = DonorPart.objects.filter(donor=donor, part=part).first()
        if row is None:
            assert part in there.parts
            return
        self.do(lambda: is_in_it(row, by=BY), told)
        if self.came_as(may=not there.gone and row.pk in self.missing_rows):
            assert self.missing_rows.pop(row.pk) == (donor.pk, part)
            there.parts.add(part)

    def let_donor_go(self, told: Told) -> None:
        donor = self.donor(told)
        self.do(lambda: let_donor_go(donor, "nothing of use left", by=BY), told)
        if self.came_as(may=not self.donors[donor.pk].gone):
            self.donors[donor.pk].gone = True

    def undo(self, row: SpareMove, told: Told) -> bool:
        """What was taken out by a slip is in the donor again."""
        undone = super().undo(row, told)
        if undone and row.pk in self.came_out:
            donor, part = self.came_out.pop(row.pk)
            self.donors[donor].parts.add(part)
        return undone

    def come_back(self, told: Told) -> None:
        """A job's camera is no donor any more once the job goes on, and has all its parts then."""
        job = self.job(told)
        mine = [pk for pk, one in self.donors.items() if one.job == job.pk]
        out_of_it = any(donor in mine for donor, _ in self.came_out.values())
        super().come_back(told)
        if self.came_as(may=job.is_over and not out_of_it):
            for pk in mine:
                self.donors[pk].gone, self.donors[pk].job = True, None

    @invariant()
    def nothing_comes_out_twice(self) -> None:
        by_pk = {one.pk: one for one in Donor.everything.all()}
        assert by_pk.keys() == self.donors.keys()
        for pk, there in self.donors.items():
            assert {part.id for part in still_in(by_pk[pk])} & PARTS.keys() == there.parts
            assert by_pk[pk].struck_out == there.gone
            assert by_pk[pk].job_id == there.job
        out = Spare.objects.filter(out_of__struck_out=False).values_list("out_of__donor", "part")
        assert sorted(out) == sorted(self.came_out.values())
