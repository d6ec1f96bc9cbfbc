"""Strip-downs of the demo: the plan followed at a pace of its own, with what was noted and kept. Invented."""

from __future__ import annotations

import random
from datetime import datetime, timedelta

from pegwood.anatomy.bench_log import Written
from pegwood.anatomy.comes_away import comes_away_with
from pegwood.anatomy.part_names import find_part
from pegwood.anatomy.parts import Part, Way
from pegwood.anatomy.planning.plan import plan
from pegwood.book.families import construction_of
from pegwood.book.models import Job, TakenOff
from pegwood.book.stripping.back import log_back
from pegwood.book.stripping.kept import KeptDetails
from pegwood.book.stripping.off import OffDetails, log_off
from pegwood.book.stripping.pockets import next_pocket
from pegwood.book.stripping.way_in import Aim, begun, take_aim
from pegwood.demo.world import StripEntry

#: Steps are written down one after the other; what each took is told with it.
WRITTEN = timedelta(seconds=1)
#: What somebody would write down for each kind of note.
SAID = {
    "scribe": "line across both, at twelve o'clock",
    "count turns": "2 1/4 turns until it is free",
    "start thread": "dot to dot, third start",
    "which way round": "dot outwards",
    "measure": "written on the tray sheet",
}


def strip_down(job: Job, entry: StripEntry, seed: int, *, by: str, at: datetime) -> None:
    """
    Take a camera apart as planned, step by step, and put some of it back.

    Raises
    ------
    ValueError
        If no family describes such cameras, or a part is not in it.
    """
    rng = random.Random(seed)
    construction = construction_of(job.camera.family)
    if construction is None:
        raise ValueError(f"no family {job.camera.family!r} is known.")
    reach = tuple(find_part(construction, name).id for name in entry.reach)
    take_aim(job, Aim(reach=reach), by=by, at=at)
    found = plan(construction, reach, with_alternatives=False)
    rows: list[TakenOff] = []
    for step in found.steps[: entry.steps or None]:
        minutes = round(step.way.minutes.likely * entry.pace * rng.lognormvariate(0.0, 0.35), 1)
        at += WRITTEN
        details = _details(step.part, step.way, next_pocket(job, begun(job)), minutes, rng)
        rows.append(log_off(job, details, by=by, at=at))
    going_back = rows if entry.all_back else rows[len(rows) - entry.back :]
    for row in reversed(going_back):
        at += WRITTEN
        log_back(row, by=by, at=at)


def _details(part: Part, way: Way, pocket: tuple[int, int], minutes: float, rng: random.Random) -> OffDetails:
    shims = {shim.place: round(rng.uniform(shim.low_mm, shim.high_mm), 2) for shim in part.shims}
    kept = tuple(
        KeptDetails(
            kind=one.kind,
            what=one.what,
            place=one.place,
            side=one.side,
            count=one.count,
            thread=one.thread,
            head=one.head,
            length_mm=one.length_mm,
            thickness_mm=max(0.01, shims[one.place]) if one.kind == "shim" else None,
            as_family=one.kind == "screw" and one.length_mm is not None,
        )
        for one in comes_away_with(part)
    )
    notes = tuple(Written(kind=note.kind, says=SAID[note.kind]) for note in way.before if note.kind in SAID)
    return OffDetails(
        part=part.id,
        name=part.name,
        way=way.name,
        side=way.side,
        tool=way.tool,
        notes=notes,
        kept=kept,
        pocket=pocket,
        minutes=max(0.1, minutes),
    )
