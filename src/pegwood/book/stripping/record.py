"""The strip-down as the pure rooms read it."""

from __future__ import annotations

from collections.abc import Iterable

from django.db.models import Prefetch

from pegwood.anatomy import bench_log
from pegwood.anatomy.bench_log import Written
from pegwood.book.models import Job, Kept, TakenOff
from pegwood.book.stripping.pockets import pocket_name


def steps_of(job: Job) -> list[TakenOff]:
    """The steps in their order, with what was kept and seen."""
    rows = TakenOff.objects.filter(job=job).prefetch_related(Prefetch("kept"), "findings", "photos")
    return list(rows)


def off_now(rows: Iterable[TakenOff]) -> frozenset[str]:
    """Parts of the family that are not in the camera now, missing ones and ones it never had among them."""
    return frozenset(row.part for row in rows if row.part and not row.is_back)


def as_log(rows: list[TakenOff]) -> tuple[bench_log.TakenOff, ...]:
    """Steps as the anatomy's log, one for one."""
    return tuple(_step(row) for row in rows)


def _step(row: TakenOff) -> bench_log.TakenOff:
    return bench_log.TakenOff(
        id=str(row.pk),
        number=row.number,
        part=row.part,
        name=row.name,
        way=row.way,
        side=row.side,
        tool=row.tool,
        minutes=None if row.seconds is None else row.seconds / 60,
        met=row.met,  # type: ignore[arg-type]
        held_to=tuple(row.held_to),
        hidden_under=tuple(row.hidden_under),
        notes=tuple(Written(kind=note["kind"], says=note["says"]) for note in row.notes),
        pocket=pocket_name(row.tray, row.pocket),
        kept=tuple(_kept(one) for one in row.kept.all()),
        awaits=row.get_awaits_display() if row.awaits else "",
        spare_is_here=row.met == TakenOff.Met.MISSING and not row.awaits,
        explained=row.explained,
        is_back=row.is_back,
    )


def _kept(row: Kept) -> bench_log.Kept:
    return bench_log.Kept(
        id=str(row.pk),
        kind=row.kind,  # type: ignore[arg-type]
        what=row.what,
        place=row.place,
        side=row.side,
        count=row.count,
        thread=row.thread,
        head=row.head,
        length_mm=row.length_mm,
        thickness_mm=row.thickness_mm,
        thickness_u_mm=row.thickness_u_mm,
        pocket=pocket_name(row.tray, row.pocket),
        back=row.back,
        explained=row.explained,
    )


def timed_logs(family: str) -> list[list[bench_log.TakenOff]]:
    """The timed steps of all strip-downs of a family, a log for each job: minutes are learned from them."""
    rows = (
        TakenOff.objects.filter(job__strip_down__family=family, seconds__isnull=False)
        .only("job_id", "number", "part", "name", "way", "seconds", "met")
        .order_by("job_id", "number")
    )
    logs: dict[int, list[bench_log.TakenOff]] = {}
    for row in rows:
        logs.setdefault(row.job_id, []).append(
            bench_log.TakenOff(
                id=str(row.pk),
                number=row.number,
                part=row.part,
                name=row.name,
                way=row.way,
                minutes=row.seconds / 60 if row.seconds else None,
                met=row.met,  # type: ignore[arg-type]
            )
        )
    return list(logs.values())
