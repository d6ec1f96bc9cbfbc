"""
Fill an empty book with the demo's world, as a repairer would have filled it: through the use cases, day by
day.

Nothing is written past the use cases. No time of a shutter is made up: every one is read by the instrument
from a recording that the light-gate simulator made. What other instruments are shown is invented, and read by
them.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import asdict, dataclass, field
from datetime import date, datetime, time, timedelta
from functools import partial
from typing import Any
from zlib import crc32
from zoneinfo import ZoneInfo

from django.db import transaction
from django.utils import timezone

from pegwood.book import agreeing, arriving, benchwork, leaving, looking, measuring, moving, workshop
from pegwood.book.agreeing import Line
from pegwood.book.arriving import CameraDetails, OwnerDetails
from pegwood.book.looking import FindingDetails
from pegwood.book.models import Camera, Gear, Job, Owner, Spare
from pegwood.book.quoting.quoted import basis_of, reckoned_with
from pegwood.book.refusal import Refused
from pegwood.book.spares.taking import reserve
from pegwood.demo import pictures
from pegwood.demo.gauging import gauge
from pegwood.demo.hearing import dictate
from pegwood.demo.recordings import recorded
from pegwood.demo.shelf import keep, measure, put_in
from pegwood.demo.stripping import strip_down
from pegwood.demo.weighing import decide, look_at
from pegwood.demo.world import (
    DonorEntry,
    FindingEntry,
    GaugingEntry,
    JobEntry,
    LineEntry,
    NarrationEntry,
    ReadingEntry,
    RecordingsEntry,
    SpareEntry,
    StripEntry,
    WeighingEntry,
    World,
    world,
)
from pegwood.papers import make_paper
from pegwood.pricing.money import Money

Told = Callable[[float], None]
OPENS = time(9, 5)


def build(progress: Told | None = None, *, now: datetime | None = None, of: World | None = None) -> None:
    """
    Fill an empty, migrated book with the demo's world.

    All or nothing: a build that stops half-way leaves the book empty.

    Parameters
    ----------
    progress : callable, optional
        Called with the share done, from 0 to 1.
    now : datetime, optional
        When the demo is looked at; everything in it happened on the days before.
    of : World, optional
        Another world than the one that comes with Pegwood.

    Raises
    ------
    Refused
        If the book holds anything already: the demo never touches a real workshop's.
    """
    if Job.objects.exists() or Owner.objects.exists():
        raise Refused("This book holds jobs or owners already. Make the demo in an empty folder of its own.")
    with ThreadPoolExecutor(max_workers=2) as makers, transaction.atomic():
        demo = _Demo(of or world(), now or timezone.now(), makers)
        steps = sorted(demo.steps(), key=lambda step: step.at)
        for done, step in enumerate(steps, 1):
            step.do(step.at)
            if progress:
                progress(done / len(steps))


@dataclass(frozen=True, kw_only=True)
class Step:
    """Something done at a moment."""

    at: datetime
    do: Callable[[datetime], object]


@dataclass
class _Demo:
    """What the steps share: who is who in the book, by the keys of the world."""

    here: World
    now: datetime
    makers: ThreadPoolExecutor
    owners: dict[str, Owner] = field(default_factory=dict)
    cameras: dict[str, Camera] = field(default_factory=dict)
    jobs: dict[str, Job] = field(default_factory=dict)
    gear: dict[str, Gear] = field(default_factory=dict)
    spares: dict[str, Spare] = field(default_factory=dict)

    @property
    def by(self) -> str:
        return self.here.workshop.repairer

    def steps(self) -> Iterator[Step]:
        """Everything that happened, job by job; whoever wants it in order sorts it by time."""
        first = max(job.days.arrived for job in self.here.jobs) + 1
        yield Step(at=self._moment(first, 0), do=self._set_up)
        for place, job in enumerate(self.here.jobs):
            told: dict[int, int] = {}
            for day, do in _in_order(_Visit(self, job).happenings()):
                told[day] = told.get(day, -1) + 1
                yield Step(at=self._moment(day, 17 * (place % 9) + 6 * told[day]), do=do)
        for place, spare in enumerate(self.here.spares):
            yield Step(at=self._moment(spare.day, 300 + place), do=partial(self._put_in, spare))
            for one in spare.readings:
                yield Step(at=self._moment(one.day, 300 + place), do=partial(self._measure, spare, one))
            if spare.kept_for:
                yield Step(at=self._moment(1, 300 + place), do=partial(self._keep_for, spare))
        for place, donor in enumerate(self.here.donors):
            yield Step(at=self._moment(donor.day, 300 + place), do=partial(self._keep, donor))

    def _put_in(self, spare: SpareEntry, at: datetime) -> None:
        self.spares[spare.name] = put_in(spare, by=self.by, at=at)

    def _measure(self, spare: SpareEntry, reading: ReadingEntry, at: datetime) -> None:
        measure(self.spares[spare.name], reading, by=self.by, at=at)

    def _keep_for(self, spare: SpareEntry, at: datetime) -> None:
        reserve(self.spares[spare.name], self.jobs[spare.kept_for], by=self.by, at=at)

    def _keep(self, donor: DonorEntry, at: datetime) -> None:
        keep(donor, self.jobs, by=self.by, at=at)

    @property
    def today(self) -> date:
        """The day it is in the workshop."""
        return self.now.astimezone(ZoneInfo(self.here.workshop.time_zone)).date()

    def _moment(self, days_ago: int, minutes: int) -> datetime:
        """So many days before today, so many minutes after the workshop opens."""
        zone = ZoneInfo(self.here.workshop.time_zone)
        day = self.today - timedelta(days=days_ago)
        return datetime.combine(day, OPENS, zone) + timedelta(minutes=minutes)

    def _set_up(self, at: datetime) -> None:
        workshop.change_settings(asdict(self.here.workshop), by=self.by, at=at)
        for entry in self.here.gear:
            self.gear[entry.key] = benchwork.list_gear(
                entry.name,
                serial=entry.serial,
                checked_on=self.today - timedelta(days=entry.checked),
                note=entry.note,
                by=self.by,
                at=at,
            )


#: One thing that happened: how many days ago, and what.
Happening = tuple[int, Callable[[datetime], object]]


def _in_order(happenings: Iterator[Happening]) -> list[Happening]:
    """The longest ago first; on the same day, in the order they were told."""
    return sorted(happenings, key=lambda one: -one[0])


def _reckoned(job: Job) -> dict[str, Any]:
    """What a job is reckoned to come to, where anything is known of it."""
    try:
        basis = basis_of(job)
        return reckoned_with(basis, basis.quoted())
    except Refused:
        return {}


class _Visit:
    """One job of the world, told as a row of use cases."""

    def __init__(self, demo: _Demo, entry: JobEntry) -> None:
        self.demo = demo
        self.entry = entry
        self.camera = next(c for c in demo.here.cameras if c.key == entry.camera)

    @property
    def job(self) -> Job:
        """The job as it stands in the book by now."""
        return self.demo.jobs[self.entry.key]

    @property
    def by(self) -> str:
        return self.demo.by

    def happenings(self) -> Iterator[Happening]:
        """Everything on this job, in the order in which it would happen on one and the same day."""
        days = self.entry.days
        yield days.arrived, self._take_in
        for view in self.entry.photos:
            yield days.arrived, self._photo(view)
        yield days.arrived, self._paper("receipt")
        for finding in self.entry.findings:
            yield finding.day or days.looked_over or days.arrived, self._finding(finding)
        if self.entry.weighing is not None:
            yield self.entry.weighing.day, self._weighed(look_at, self.entry.weighing)
        yield from self._recordings("as found")
        yield from self._gaugings("as found")
        if days.looked_over is not None:
            yield days.looked_over, self._moved(moving.look_over)
        if days.priced is not None:
            yield days.priced, self._tell_price
            yield days.priced, self._paper("condition")
            yield days.priced, self._paper("price")
        if days.agreed is not None:
            yield days.agreed, self._record_yes
        if days.on_the_bench is not None:
            yield days.on_the_bench, self._moved(moving.put_on_bench)
        if self.entry.strip is not None:
            yield self.entry.strip.day, self._strip(self.entry.strip)
        if self.entry.narration is not None:
            yield self.entry.narration.day, self._told(self.entry.narration)
        if self.entry.weighing is not None and self.entry.weighing.decided is not None:
            yield self.entry.weighing.decided, self._weighed(decide, self.entry.weighing)
        for work in self.entry.work:
            yield work.day, self._work(work.done, work.part, work.minutes)
        if days.waiting is not None:
            yield days.waiting, self._wait
        if days.went_on is not None:
            yield days.went_on, self._moved(moving.go_on)
        if days.proving is not None:
            yield days.proving, self._moved(moving.prove)
        yield from self._recordings("as left")
        yield from self._gaugings("as left")
        for remark in self.entry.remarks:
            yield remark.day, self._remark(remark.text)
        if days.ready is not None:
            yield days.ready, self._write_bill
            yield days.ready, self._moved(moving.call_ready)
            if any(one.phase == "as left" for one in self.entry.recordings):
                yield days.ready, self._paper("certificate")
            yield days.ready, self._paper("bill")
        if days.gone_home is not None:
            yield days.gone_home, self._hand_back
            yield days.gone_home, self._paper("care")
        if days.given_up is not None:
            yield days.given_up, self._give_up

    def _moved(self, move: Callable[..., Job]) -> Callable[[datetime], object]:
        """A use case that takes the job on and returns it as it then stands."""

        def do(at: datetime) -> None:
            self._stands(move(self.job, by=self.by, at=at))

        return do

    def _stands(self, job: Job) -> None:
        self.demo.jobs[self.entry.key] = job

    # --- at the door --------------------------------------------------------------------------------

    def _take_in(self, at: datetime) -> None:
        entry, demo = self.entry, self.demo
        promised = entry.days.promised
        told: dict[str, Any] = {
            "story": entry.story,
            "accessories": entry.accessories,
            "promised_on": None if promised is None else demo.today - timedelta(days=promised),
        }
        if entry.comeback_of:
            job = arriving.come_back(demo.jobs[entry.comeback_of], by=self.by, at=at, **told)
        else:
            job = arriving.take_in(self._owner(), self._camera(), by=self.by, at=at, **told)
        self._stands(job)
        demo.owners[self.camera.owner] = job.owner
        demo.cameras[self.camera.key] = job.camera

    def _owner(self) -> Owner | OwnerDetails:
        key = self.camera.owner
        if key in self.demo.owners:
            return self.demo.owners[key]
        entry = next(o for o in self.demo.here.owners if o.key == key)
        return OwnerDetails(**_without(asdict(entry), "key"))

    def _camera(self) -> Camera | CameraDetails:
        if self.camera.key in self.demo.cameras:
            return self.demo.cameras[self.camera.key]
        return CameraDetails(**_without(asdict(self.camera), "key", "owner", "picture", "mechanism"))

    # --- seen ---------------------------------------------------------------------------------------

    def _photo(self, view: str) -> Callable[[datetime], object]:
        draw = pictures.front if view == "front" else pictures.top
        seed = _seed(self.camera.key, view)
        drawn = self.demo.makers.submit(draw, self.camera.picture, seed, self.camera.maker)

        def add(at: datetime) -> None:
            photo, name = io.BytesIO(drawn.result()), f"{self.job.number} {view}.jpg"
            caption = "from the front" if view == "front" else "from above"
            looking.add_photo(self.job, photo, name=name, caption=caption, by=self.by, at=at)

        return add

    def _finding(self, entry: FindingEntry) -> Callable[[datetime], object]:
        drawn: Future[bytes] | None = None
        if entry.picture:
            seed = _seed(self.entry.key, entry.part)
            drawn = self.demo.makers.submit(pictures.close_up, entry.picture, seed)

        def note(at: datetime) -> None:
            details = FindingDetails(**_without(asdict(entry), "picture", "day"))
            finding = looking.note_finding(self.job, details, by=self.by, at=at)
            if drawn is not None:
                looking.add_photo(
                    self.job,
                    io.BytesIO(drawn.result()),
                    name=f"{self.job.number} {entry.part}.jpg",
                    caption=entry.place or "from near",
                    finding=finding,
                    by=self.by,
                    at=at,
                )

        return note

    # --- measured -----------------------------------------------------------------------------------

    def _recordings(self, phase: str) -> Iterator[Happening]:
        for entry in self.entry.recordings:
            if entry.phase == phase:
                for marked in entry.speeds:
                    yield entry.day, self._measure(entry, marked)

    def _gaugings(self, phase: str) -> Iterator[Happening]:
        for entry in self.entry.gaugings:
            if entry.phase == phase:
                yield entry.day, self._gauged(entry)

    def _gauged(self, entry: GaugingEntry) -> Callable[[datetime], object]:
        return lambda at: gauge(self.job, entry, by=self.by, at=at)

    def _measure(self, entry: RecordingsEntry, marked: str) -> Callable[[datetime], object]:
        mechanism = next(m for m in self.demo.here.mechanisms if m.key == self.camera.mechanism)
        made = self.demo.makers.submit(
            recorded,
            self.camera.key,
            mechanism,
            entry.faults,
            marked,
            firings=entry.firings,
            container=entry.container,
            seed=_seed(self.entry.key, entry.phase, marked),
        )

        def measure(at: datetime) -> None:
            name = f"{self.job.number} {entry.phase} {marked.replace('/', '-')}.{entry.container}"
            kept = measuring.keep_recording(
                self.job,
                io.BytesIO(made.result()),
                name,
                marked=marked,
                gear=self.demo.gear[entry.gear],
                by=self.by,
                at=at,
            )
            read = measuring.read_recording(kept, by=self.by, at=at + timedelta(seconds=20))
            if read.progress == "read":
                measuring.accept_measurement(read, entry.phase, by=self.by, at=at + timedelta(seconds=50))

        return measure

    # --- told and agreed ----------------------------------------------------------------------------

    def _lines(self, entries: tuple[LineEntry, ...]) -> list[Line]:
        return [
            Line(
                what=entry.what,
                kind=entry.kind,
                minutes=entry.minutes,
                amount=None if entry.amount is None else self._money(entry.amount),
            )
            for entry in entries
        ]

    def _money(self, minor: int) -> Money:
        return Money(minor, self.demo.here.workshop.currency)

    def _tell_price(self, at: datetime) -> None:
        lines = self._lines(self.entry.price)
        # what a job came to that is done nobody is warned of any more
        reckoned = _reckoned(self.job) if self.entry.days.ready is None else {}
        self._stands(
            agreeing.tell_price(self.job, lines, note=self.entry.told, by=self.by, at=at, reckoned=reckoned)
        )

    def _record_yes(self, at: datetime) -> None:
        up_to = self.entry.agreed_up_to
        agreed = None if up_to is None else self._money(up_to)
        self._stands(
            agreeing.record_yes(self.job, how=self.entry.agreed_how, up_to=agreed, by=self.by, at=at)
        )

    # --- done ---------------------------------------------------------------------------------------

    def _work(self, done: str, part: str, minutes: int | None) -> Callable[[datetime], object]:
        return lambda at: benchwork.log_work(self.job, done, part=part, minutes=minutes, by=self.by, at=at)

    def _strip(self, entry: StripEntry) -> Callable[[datetime], object]:
        seed = _seed(self.entry.key, "strip-down")
        return lambda at: strip_down(self.job, entry, seed, by=self.by, at=at)

    def _told(self, entry: NarrationEntry) -> Callable[[datetime], object]:
        return lambda at: dictate(self.job, entry, by=self.by, at=at)

    def _weighed(self, do: Callable[..., None], entry: WeighingEntry) -> Callable[[datetime], object]:
        return lambda at: do(self.job, entry, by=self.by, at=at)

    def _remark(self, text: str) -> Callable[[datetime], object]:
        return lambda at: arriving.remark(self.job, text, by=self.by, at=at)

    def _wait(self, at: datetime) -> None:
        entry = self.entry
        self._stands(moving.let_wait(self.job, entry.waiting_for, note=entry.waiting_note, by=self.by, at=at))

    def _paper(self, kind: str) -> Callable[[datetime], object]:
        return lambda at: make_paper(self.job, kind, by=self.by, at=at)

    # --- out of the door ----------------------------------------------------------------------------

    def _write_bill(self, at: datetime) -> None:
        self.billed = agreeing.write_bill(
            self.job, self._lines(self.entry.bill or self.entry.price), by=self.by, at=at
        )

    def _hand_back(self, at: datetime) -> None:
        how = self.entry.paid_how
        self._stands(leaving.hand_back(self.job, paid=self.billed, paid_how=how, by=self.by, at=at))

    def _give_up(self, at: datetime) -> None:
        leave = (
            leaving.keep_for_parts if self.entry.stands == "kept for parts" else leaving.send_back_unmended
        )
        self._stands(leave(self.job, self.entry.gave_up, by=self.by, at=at))


def _seed(*of: str) -> int:
    return crc32(" ".join(of).encode())


def _without(fields: dict[str, Any], *names: str) -> dict[str, Any]:
    return {name: value for name, value in fields.items() if name not in names}
