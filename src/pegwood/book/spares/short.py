"""
What to look for: parts that will be wanted and are not there.

Wanted is what open jobs are likely to need, one job at a time, and what cameras still to come will. Only a
part that a closed job needed is expected to be wanted again: as often as jobs of that kind did so far, with
how often the knowledge of faults says that such a camera does as a weak beginning. How many cameras come is
not known either, only how many did.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db.models import Sum

from pegwood.anatomy.construction import Construction
from pegwood.book.families import construction_of
from pegwood.book.models import Job, MendDone, PartWorth, SpareMeasure, SpareMove
from pegwood.book.refusal import Refused
from pegwood.book.spares.ageing import chance_good
from pegwood.book.spares.fitting import fitting, on_the_shelf, rows
from pegwood.book.spares.needs import needed
from pegwood.book.states import OVER
from pegwood.book.weighing.about import causes_of
from pegwood.book.weighing.learnt import known_causes
from pegwood.book.workshop import workshop
from pegwood.causes.case import Case
from pegwood.causes.family_net import FamilyCauses, family_causes
from pegwood.causes.needed import parts_needed
from pegwood.pricing.money import Money
from pegwood.pricing.stock import (
    Counts,
    Rate,
    demanded,
    demanded_by_visits,
    newsvendor,
    runs_out,
    worth_of_the_next,
)

#: A part that can be had is made up within a year; what cannot, is bought for good (setting last_buy_years).
AHEAD_YEARS = 1.0
TO_BE_HAD = ("common", "made anew")
#: With no figures for what it costs to be without, so sure one wants to be (practice).
SURE = 0.9
#: What is less likely to run out is not told, [1] (practice).
TOLD_FROM = 0.2
#: A chance that an open job needs a part, below which nobody looks for it yet, [1] (practice).
WORTH_A_LOOK = 0.1
#: Of a part that no knowledge speaks of: how often a camera needs it, before any did (a guess; practice).
RARE = 1e-3
YEAR = timedelta(days=365.25)


@dataclass(frozen=True, kw_only=True)
class ShortPart:
    """
    A part to look for.

    Attributes
    ----------
    family, family_name, part, name, scarce : str
    there : int
        On the shelf: what fits, or may.
    good : float
        How many of these will still be good, on average.
    jobs : tuple of (int, float)
        Open jobs that may need it, and how likely, [1].
    used : int
        Closed jobs that needed one, of `visits` that were here.
    visits : int
    years : float
        How far ahead it is reckoned, [years].
    expected : float
        How many will be wanted, on average.
    runs_out : float
        Chance that more are wanted than there are good ones, [1].
    buy : int
        How many to look for.
    why_so_many : str
        What that rests on, in words.
    worth : Money or None
        What one more is worth today: the price worth paying. None where nobody said what one is worth when a
        job needs it.
    said : Money or None
        What somebody said that one is worth when a job needs it.
    """

    family: str
    family_name: str
    part: str
    name: str
    scarce: str
    there: int
    good: float
    jobs: tuple[tuple[int, float], ...]
    used: int
    visits: int
    years: float
    expected: float
    runs_out: float
    buy: int
    why_so_many: str
    worth: Money | None
    said: Money | None


@dataclass(frozen=True)
class _Past:
    """What the book tells of one kind of camera."""

    came: int
    closed: int
    used: Mapping[str, int]


def short_parts(now: datetime, *, family: str = "") -> tuple[ShortPart, ...]:
    """
    What to look for, what is most likely to be missed first.

    Parameters
    ----------
    now : datetime
    family : str
        Only of this kind of camera, by slug; empty for all.
    """
    past, years_here = _past(now)
    if family and family not in past:
        raise Refused(f"No camera of the kind {family!r} was here yet, so nothing is wanted for it.")
    open_jobs = _open_jobs(family)
    shelf, table = on_the_shelf(), rows()
    worth = {(row.family, row.part): row.worth for row in PartWorth.objects.all()}
    readings = _readings(shelf)
    found = []
    for kind in [family] if family else sorted(past):
        construction = construction_of(kind)
        if construction is None:
            continue
        of_kind = _Kind(construction, past[kind], years_here, workshop().last_buy_years)
        needs = of_kind.needs(open_jobs.get(kind, []))
        for part, jobs in of_kind.candidates(needs):
            # a spare that may fit counts as one: whether it does is tried before another is bought
            fits = fitting(shelf, table, kind, part)
            found.append(of_kind.told(part, jobs, [one.spare for one in fits], readings, worth, now))
    told = [one for one in found if one.runs_out >= TOLD_FROM]
    return tuple(sorted(told, key=_most_missed))


def _most_missed(one: ShortPart) -> tuple[float, ...]:
    """By what one more is worth where that is known, by how likely it is missed else."""
    return (-one.worth.minor if one.worth else 0.0, -one.runs_out, -one.expected)


class _Kind:
    """One kind of camera: its knowledge, its past, and what is to be expected of it."""

    def __init__(self, construction: Construction, past: _Past, years_here: float, last_buy: int) -> None:
        self.construction, self.past, self.last_buy = construction, past, float(last_buy)
        self.causes = causes_of(construction)
        # Jeffreys' prior counts for half a visit (memory)
        self.visits = Rate(past.came + 0.5, years_here)
        self._coming: dict[float, Counts] = {}

    def needs(self, jobs: Iterable[Job]) -> Mapping[str, list[tuple[int, float]]]:
        """By part: open jobs that may need it, and how likely."""
        found: dict[str, list[tuple[int, float]]] = defaultdict(list)
        for job in jobs:
            for one in needed(job, self.construction, self.causes, WORTH_A_LOOK):
                if one.part:
                    found[one.part].append((job.number, one.chance))
        return found

    def candidates(
        self, needs: Mapping[str, list[tuple[int, float]]]
    ) -> Iterable[tuple[str, tuple[tuple[int, float], ...]]]:
        """Parts that are worth a look, and the open jobs that may need each."""
        for part in self.construction.parts:
            if part in needs or self.past.used.get(part):
                yield part, tuple(sorted(needs.get(part, ()), key=lambda one: -one[1]))

    def years(self, part: str) -> float:
        return AHEAD_YEARS if self.construction.parts[part].scarce in TO_BE_HAD else self.last_buy

    def coming(self, years: float) -> Counts:
        if years not in self._coming:
            self._coming[years] = demanded(self.visits, years)
        return self._coming[years]

    def wanted(self, part: str, jobs: Iterable[tuple[int, float]]) -> Counts:
        """How many will be wanted, open jobs and those to come together."""
        now = Counts.of_chances(chance for _, chance in jobs)
        used = self.past.used.get(part, 0)
        if not used:
            return now
        each = Rate.about(max(before_any(self.construction).get(part, 0.0), RARE))
        each = each.seen(used, self.past.closed)
        return now.and_(demanded_by_visits(self.coming(self.years(part)), each))

    def told(
        self,
        part: str,
        jobs: tuple[tuple[int, float], ...],
        spares: list[Any],
        readings: Mapping[int, list[SpareMeasure]],
        worth: Mapping[tuple[str, str], Money],
        now: datetime,
    ) -> ShortPart:
        known = self.construction.parts[part]
        years = self.years(part)
        wanted = self.wanted(part, jobs)
        half_way = now + years / 2 * YEAR  # when the middle one of those to come is wanted
        good = [
            chance
            for spare in spares
            for chance in [chance_good(spare, readings.get(spare.pk, []), half_way)] * spare.lies
        ]
        there = Counts.of_chances(good)
        said = worth.get((self.construction.id, part))
        buy, why = _how_many(wanted, round(there.mean), said, _usual_cost(spares))
        return ShortPart(
            family=self.construction.id,
            family_name=self.construction.name,
            part=part,
            name=known.name,
            scarce=known.scarce,
            there=len(good),
            good=there.mean,
            jobs=jobs,
            used=self.past.used.get(part, 0),
            visits=self.past.closed,
            years=years,
            expected=wanted.mean,
            runs_out=runs_out(wanted, there),
            buy=buy,
            why_so_many=why,
            worth=said and Money(round(worth_of_the_next(wanted, there, said.minor)), said.currency),
            said=said,
        )


def _how_many(wanted: Counts, there: int, said: Money | None, cost: Money | None) -> tuple[int, str]:
    """How many more, and what that rests on."""
    if (
        said is not None
        and cost is not None
        and cost.currency == said.currency
        and said.minor > cost.minor > 0
    ):
        kept = newsvendor(wanted, short=said.minor - cost.minor, left=cost.minor)
        return max(0, int(kept.stock) - there), "at what the last one cost"
    return max(0, wanted.smallest(SURE) - there), f"to be {100 * SURE:.0f} % sure of one"


def _usual_cost(spares: Iterable[Any]) -> Money | None:
    """What the last one that was bought cost."""
    bought = [spare for spare in spares if spare.cost_minor]
    return max(bought, key=lambda one: one.at).cost if bought else None


def _past(now: datetime) -> tuple[dict[str, _Past], float]:
    """By kind of camera: how many came and what they needed; and for how long this book has been kept."""
    first = Job.objects.order_by("arrived_at").values_list("arrived_at", flat=True).first()
    years = max((now - first) / YEAR, 1 / 12) if first else 1.0
    came = Counter(Job.objects.order_by().values_list("camera__family", flat=True))
    closed = Counter(
        Job.objects.order_by().filter(standing__in=OVER).values_list("camera__family", flat=True)
    )
    used: dict[str, set[tuple[str, int]]] = defaultdict(set)
    moves = SpareMove.objects.filter(job__standing__in=OVER).order_by()
    for kind, for_part, part, job, lies in (
        moves.values_list("job__camera__family", "for_part", "spare__part", "job")
        .annotate(sum=Sum("lies"))
        .values_list("job__camera__family", "for_part", "spare__part", "job", "sum")
    ):
        if lies < 0:
            used[kind].add((for_part or part, job))
    for kind, parts in _by_mends().items():
        used[kind] |= parts
    return {
        kind: _Past(number, closed[kind], Counter(part for part, _ in used[kind] if part))
        for kind, number in came.items()
    }, years


def _by_mends() -> dict[str, set[tuple[str, int]]]:
    """By kind of camera: parts that mends took, and in which job, whether from the shelf or not."""
    found: dict[str, set[tuple[str, int]]] = defaultdict(set)
    mends = MendDone.objects.filter(job__standing__in=OVER, work__struck_out=False).order_by()
    taken: dict[tuple[str, str, str], tuple[str, ...]] = {}
    for kind, fault, mend, job in mends.values_list("job__camera__family", "fault", "mend", "job"):
        key = (kind, fault, mend)
        if key not in taken:
            taken[key] = _parts_of_mend(kind, fault, mend)
        found[kind].update((part, job) for part in taken[key])
    return found


def _parts_of_mend(kind: str, fault: str, mend: str) -> tuple[str, ...]:
    construction = construction_of(kind)
    known = None if construction is None else causes_of(construction).faults.get(fault)
    return next((one.parts for one in known.mends if one.name == mend), ()) if known else ()


def _open_jobs(family: str) -> dict[str, list[Job]]:
    jobs = Job.objects.exclude(standing__in=OVER).select_related("camera", "owner").order_by("number")
    found: dict[str, list[Job]] = defaultdict(list)
    for job in jobs.filter(camera__family=family) if family else jobs:
        found[job.camera.family].append(job)
    return found


def _readings(spares: Iterable[Any]) -> dict[int, list[SpareMeasure]]:
    found: dict[int, list[SpareMeasure]] = defaultdict(list)
    for row in SpareMeasure.objects.filter(spare__in=[spare.pk for spare in spares]):
        found[row.spare_id].append(row)
    return found


#: By family: the construction and what was known of it, as files have them, and what followed.
_before: dict[str, tuple[Construction, object, Mapping[str, float]]] = {}


def before_any(construction: Construction) -> Mapping[str, float]:
    """
    How likely a camera of unknown history needs each part, [1]: as files have it, not as jobs taught, since
    those are counted by themselves.
    """
    knowledge = known_causes().knowledge
    kept = _before.get(construction.id)
    if kept is None or kept[0] is not construction or kept[1] is not knowledge:
        causes: FamilyCauses = family_causes(construction, knowledge)
        found = {one.part: one.chance for one in parts_needed(causes, Case(), RARE)}
        kept = _before[construction.id] = construction, knowledge, found
    return kept[2]
