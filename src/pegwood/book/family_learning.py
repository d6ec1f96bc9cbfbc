"""Families of the workshop's own, learned from strip-downs in the book."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction
from django.utils import timezone
from django.utils.text import slugify

from pegwood.anatomy.bench_log import TakenOff as Step
from pegwood.anatomy.construction import Construction
from pegwood.anatomy.learning.draft import DraftFamily, draft
from pegwood.anatomy.learning.draft_file import relearned
from pegwood.anatomy.learning.naming import in_words_of, part_called
from pegwood.anatomy.learning.precedence import Pair, precedence
from pegwood.book import diary
from pegwood.book.arriving import CAMERA_FIELDS, CameraDetails, amend_camera
from pegwood.book.families import construction_of, families, known
from pegwood.book.family_files import FamilyFile, checked, family_file, in_place, told
from pegwood.book.models import DiaryEntry, Job, TakenOff
from pegwood.book.moving import locked
from pegwood.book.refusal import Refused
from pegwood.book.stripping.record import as_log, steps_of
from pegwood.book.stripping.way_in import begun, strip_down_of
from pegwood.book.trade_tables import tables
from pegwood.trade.names import plain
from pegwood.trade.typed_toml import TableError

LEARNED = "learned a family"
#: As `StripDown.family` holds it.
LONGEST_SLUG = 60
LONGEST_NAME = 80


@dataclass(frozen=True, kw_only=True)
class LearnedFile:
    """What was written: the family, its file's name, and what does not go together, a line each."""

    construction: Construction
    stem: str
    contradictions: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Taught:
    """
    What the jobs that a family was learned from say.

    Attributes
    ----------
    jobs : tuple of int
        Their numbers.
    evidence : mapping of (first, then) to str
        By the file's ids: why the one comes off before the other.
    contradictions : tuple of str
        What was told, seen or written by a person and does not go together.
    """

    jobs: tuple[int, ...]
    evidence: dict[Pair, str]
    contradictions: tuple[str, ...]


def can_teach(job: Job) -> bool:
    """Whether a family can be made of a job's strip-down: something is off, and no family that came fits."""
    family = construction_of(strip_down_of(job).family)
    is_own = family is None or family.ground.own
    return is_own and TakenOff.objects.filter(job=job).exists()


def teachable() -> list[Job]:
    """All such jobs, the latest first."""
    came = [one.id for one in known().constructions.values() if not one.ground.own]
    jobs = Job.objects.filter(pk__in=TakenOff.objects.values("job")).exclude(strip_down__family__in=came)
    return list(jobs.select_related("camera", "owner", "strip_down").order_by("-number"))


def learned_from(family: str) -> tuple[int, ...]:
    """Numbers of the jobs that a family was learned from, by the diary."""
    latest = DiaryEntry.objects.filter(job=None, what=LEARNED, new__family=family).order_by("-pk").first()
    return tuple(latest.new["jobs"]) if latest and latest.new else ()


def drafted(jobs: Iterable[Job], family: str, name: str, known_as: Construction | None = None) -> DraftFamily:
    """
    A draft from jobs' strip-downs, the oldest first.

    Parameters
    ----------
    jobs : iterable of Job
    family, name : str
        The draft's id and name.
    known_as : Construction, optional
        The family so far: what it knows is called as it calls it.

    Raises
    ------
    Refused
        If nothing came off in any of them.
    """
    logs = _logs(jobs, known_as)
    try:
        return draft(logs, family, name, tables()[0])
    except ValueError as reason:
        said = str(reason)
        raise Refused(said[:1].upper() + said[1:]) from None


def _logs(jobs: Iterable[Job], known_as: Construction | None) -> list[tuple[Step, ...]]:
    logs = [as_log(steps_of(job)) for job in sorted(jobs, key=lambda one: one.number)]
    return [in_words_of(known_as, log) for log in logs] if known_as else logs


def slug_for(name: str) -> str:
    """
    The id and file name of a new family.

    Raises
    ------
    Refused
        If the name gives none, or one that is taken, by a broken file too.
    """
    if not name.strip() or len(name.strip()) > LONGEST_NAME:
        raise Refused(f"Give the family a name of up to {LONGEST_NAME} characters, such as 'Half-frame 35'.")
    slug = slugify(name)[:LONGEST_SLUG].strip("-_")
    if not slug:
        raise Refused(f"{name.strip()!r} has no letter a file can be called by. Use some of a to z, 0 to 9.")
    if there := family_file(slug):
        amiss = f" It is broken ({there.slip}): mend it first." if there.slip else " Learn into it instead."
        raise Refused(f"There is {there.told} already.{amiss} Or choose another name.")
    if slug in known().constructions or slug in families():
        raise Refused(f"{slug!r} is a kind of camera already. Choose another name.")
    return slug


def make_family(jobs: Iterable[Job], name: str, *, by: str, at: datetime | None = None) -> LearnedFile:
    """
    Make a family of strip-downs: a file of the workshop's own, and the cameras and strip-downs are of it.

    Raises
    ------
    Refused
        If the name is taken, nothing came off, or a job's family came with Pegwood.
    """
    jobs = _teaching(jobs)
    slug = slug_for(name)
    found = drafted(jobs, slug, name.strip())
    return _learn(slug, found.as_toml(), jobs, found.contradictions, by=by, at=at or timezone.now())


def learn_into(stem: str, jobs: Iterable[Job], *, by: str, at: datetime | None = None) -> LearnedFile:
    """
    Let a family's file learn from more strip-downs; what a person changed in it stays.

    Raises
    ------
    Refused
        If the file is gone or broken, or as `make_family`.
    """
    file = family_file(stem)
    if file is None:
        raise Refused(f"There is no {told(stem)}.")
    if file.construction is None:
        raise Refused(f"Nothing is learned into a broken file: {file.slip}")
    family = file.construction
    before = Job.objects.filter(number__in=learned_from(family.id))
    jobs = list({job.pk: job for job in (*before, *_teaching(jobs))}.values())
    found = drafted(jobs, family.id, family.name, family)
    try:
        more = relearned(file.text, file.told, found, known().mechanisms, tables()[0])
    except TableError as slip:
        raise Refused(f"Not learned: {' '.join(str(slip).split())}") from None
    return _learn(stem, more.toml, jobs, more.contradictions, by=by, at=at or timezone.now())


def _teaching(jobs: Iterable[Job]) -> list[Job]:
    jobs = list(jobs)
    if not jobs:
        raise Refused("Choose at least one job to learn from.")
    if came := next((job for job in jobs if not can_teach(job)), None):
        raise Refused(f"Job {came.number} has no strip-down that a family of your own can be learned from.")
    return jobs


def _learn(
    stem: str, text: str, jobs: list[Job], contradictions: tuple[str, ...], *, by: str, at: datetime
) -> LearnedFile:
    try:
        family = checked(stem, text)
    except TableError as slip:
        raise Refused(f"The draft cannot be read back: {' '.join(str(slip).split())}") from None
    with in_place(stem, text), transaction.atomic():
        for job in jobs:
            _make_it_of(job, family, by=by, at=at)
        diary.write(
            None,
            by=by,
            at=at,
            what=LEARNED,
            text=f"{family.name} ({told(stem)})",
            new={"family": family.id, "jobs": sorted(job.number for job in jobs)},
        )
    return LearnedFile(construction=family, stem=stem, contradictions=contradictions)


def _make_it_of(job: Job, family: Construction, *, by: str, at: datetime) -> None:
    """
    The camera and its strip-down are of that family, and its steps are parts of it.

    The camera too: it is of that kind whenever it comes again. A job that is over learns as well: nothing of
    what was done changes.
    """
    job = locked(job)
    strip_down = begun(job)
    was = strip_down.family
    if was != family.id:
        strip_down.family = family.id
        strip_down.save(update_fields=["family"])
    linked = _link(job, family)
    if was != family.id or linked:
        diary.write(
            job,
            by=by,
            at=at,
            what="learned into a family",
            text=family.name,
            old={"family": was},
            new={"family": family.id, "steps": linked},
        )
    camera = job.camera
    if camera.family != family.id:
        details = {name: getattr(camera, name) for name in CAMERA_FIELDS} | {"family": family.id}
        amend_camera(job, CameraDetails(**details), by=by, at=at)


def _link(job: Job, family: Construction) -> list[int]:
    """Numbers of the steps that are now known to be parts of the family; one part is off once at a time."""
    linked = []
    out = set(TakenOff.objects.filter(job=job, back_at=None).exclude(part="").values_list("part", flat=True))
    for row in TakenOff.objects.filter(job=job, part=""):
        part = part_called(family, row.name)
        if part is None or (part.id in out and not row.is_back):
            continue
        row.part = part.id
        row.save(update_fields=["part"])
        linked.append(row.number)
        if not row.is_back:
            out.add(part.id)
    return linked


def taught(file: FamilyFile) -> Taught:
    """What the jobs say that a family was learned from, in its own words."""
    family = file.construction
    if family is None:
        return Taught(jobs=(), evidence={}, contradictions=())
    numbers = learned_from(family.id)
    jobs = list(Job.objects.filter(number__in=numbers))
    if not jobs:
        return Taught(jobs=numbers, evidence={}, contradictions=())
    ids = {plain(part.name): part.id for part in reversed([*family.parts.values()])}
    pairs = precedence(_logs(jobs, family)).pairs
    evidence = {
        (ids[first], ids[then]): one.says
        for (first, then), one in pairs.items()
        if first in ids and then in ids
    }
    try:
        again = relearned(
            file.text,
            file.told,
            drafted(jobs, family.id, family.name, family),
            known().mechanisms,
            tables()[0],
        ).contradictions
    except (TableError, Refused) as slip:  # somebody struck out what was learned from, or broke the file now
        again = (str(slip),)
    return Taught(jobs=numbers, evidence=evidence, contradictions=again)
