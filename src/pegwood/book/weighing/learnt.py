"""What the closed jobs of the book teach of faults, signs and mends; what others handed on comes to it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime

from django.conf import settings
from django.db import transaction
from django.db.models import Count, Exists, Max, OuterRef, QuerySet
from django.db.models.functions import Coalesce
from django.utils import timezone

from pegwood.anatomy.construction import Construction
from pegwood.book import diary
from pegwood.book.families import known
from pegwood.book.models import FaultRuling, Job, LessonLeftOut, MendDone, SignAnswer, StripDown, TakenOff
from pegwood.book.refusal import Refused
from pegwood.book.states import OVER, Standing
from pegwood.book.trade_tables import tables
from pegwood.book.weighing.case import case_of
from pegwood.book.workshop import workshop
from pegwood.causes.family_net import FamilyCauses, family_causes
from pegwood.causes.learning import (
    Learned,
    Lesson,
    Shared,
    Weights,
    learn,
    lesson,
    read_shared,
    written,
)
from pegwood.causes.learning import MendDone as Tried
from pegwood.causes.own_knowledge import HANDED_ON, KnownCauses, knowledge_in
from pegwood.trade.reference import stamped, text_of
from pegwood.trade.typed_toml import TableError

#: How much a job of another workshop counts for against one here, [1] (practice: other hands, other cameras).
ELSEWHERE = 0.5


def known_causes() -> KnownCauses:
    """All knowledge: what came and the workshop's own; a broken file is left aside, and that is told."""
    return knowledge_in(settings.WORKSHOP.root, known(), tables()[0])


def weights() -> Weights:
    """How much the starting knowledge counts against the workshop's own jobs."""
    return Weights(start=float(workshop().knowledge_counts_as))


# --- the lessons ---------------------------------------------------------------------------------------


def teaching() -> QuerySet[Job]:
    """Jobs that are over and of which something was weighed, whether their lesson is left out or not."""
    of = OuterRef("pk")
    weighed = (
        Exists(SignAnswer.objects.filter(job=of))
        | Exists(FaultRuling.objects.filter(job=of))
        | Exists(MendDone.objects.filter(job=of, work__struck_out=False))
    )
    return Job.objects.filter(weighed, standing__in=OVER).order_by("number")


def lessons(today: date) -> list[Lesson]:
    """
    What the closed jobs teach, without those left out; the key of each is its job's number.

    Of a camera that went home, a fault of a part that was taken off and met there counts as not there where
    nobody said that it is, no finding speaks for it, no mend was tried on it, and the signs do not hold it
    likelier than not. A bench that says only what is there would else teach too much of every fault. Of a
    part that stayed in, silence says nothing.

    Parameters
    ----------
    today : date
        Mends still inside their guarantee have not held yet.
    """
    jobs = (
        teaching()
        .filter(lesson_left_out__isnull=True)
        .prefetch_related("mends_done__work", "taken_off", "comebacks")
    )
    found = []
    for job in jobs.select_related("camera", "strip_down", "comeback_of"):
        causes = as_filed(family_of(job))
        if causes is not None:
            found.append(replace(_weighed(job, causes), mends=_mends(job, today)))
    return found


def family_of(job: Job) -> str:
    """What a job was weighed as: as it was taken apart, or else as it was taken in."""
    strip_down: StripDown | None = getattr(job, "strip_down", None)
    return strip_down.family if strip_down else job.camera.family


#: By job: when it was closed, what was known, and its lesson but for how its mends held.
_weighed_jobs: dict[int, tuple[datetime, FamilyCauses, Lesson]] = {}


def _weighed(job: Job, causes: FamilyCauses) -> Lesson:
    """A closed job is weighed once: nothing of it changes any more."""
    before = _weighed_jobs.get(job.pk)
    if before is None or before[0] != job.stands_since or before[1] is not causes:
        case = case_of(job, causes, as_found=True)  # what is seen after a mend tells of the mend
        comeback_of = str(job.comeback_of.number) if job.comeback_of else ""
        in_hand = _in_hand(job, causes)
        found = lesson(causes, str(job.number), case, comeback_of=comeback_of, in_hand=in_hand)
        before = _weighed_jobs[job.pk] = job.stands_since, causes, found
    return before[2]


def _in_hand(job: Job, causes: FamilyCauses) -> list[str]:
    """Faults of parts that the repairer held before the camera went home, and tried no mend on."""
    if job.standing != Standing.GONE_HOME:
        return []  # sent back unmended: nobody need have looked any further
    held = {row.part for row in job.taken_off.all() if row.met == TakenOff.Met.THERE and row.part}
    tried = {one.fault for one in job.mends_done.all() if not one.work.struck_out}
    return [one.id for one in causes.faults.values() if one.part in held and one.id not in tried]


def _mends(job: Job, today: date) -> tuple[Tried, ...]:
    tried = []
    for one in job.mends_done.all():
        if not one.work.struck_out:
            held, through = _held(job, one, today)
            minutes = float(one.work.minutes) if one.work.minutes else None
            tried.append(Tried(fault=one.fault, mend=one.mend, minutes=minutes, held=held, through=through))
    return tuple(tried)


def _held(job: Job, mend: MendDone, today: date) -> tuple[bool | None, float]:
    """
    Whether a mend has held to the end of the guarantee, and how far through it that is so far.

    Of a camera that came back under guarantee nobody saw how it would have gone on: it counts as far as it
    went. Whether the mend failed the comeback's own lesson says.
    """
    if not mend.worked:
        return False, 0.0
    if job.standing != Standing.GONE_HOME or job.guarantee_until is None or job.gone_home_at is None:
        return None, 0.0  # nobody would hear of it
    zone = workshop().zone
    back = min((one.arrived_at.astimezone(zone).date() for one in job.comebacks.all()), default=None)
    if back is None and job.guarantee_until <= today:
        return True, 1.0
    went = job.gone_home_at.astimezone(zone).date()
    whole = (job.guarantee_until - went).days
    until = today if back is None else min(back, today)
    return None, min(1.0, max(0.0, (until - went).days / whole)) if whole else 0.0


# --- what they teach -----------------------------------------------------------------------------------

#: By the family's id: its construction, the knowledge, and what was put together of both.
_filed: dict[str, tuple[Construction, object, FamilyCauses]] = {}
#: By the family's id: what it rests on, and what was learned.
_learnt: dict[str, tuple[object, Learned]] = {}
_lessons: list[tuple[object, list[Lesson]]] = []
_shared: list[tuple[object, SharedFiles]] = []


def as_filed(family: str) -> FamilyCauses | None:
    """Faults and signs as the files have them, before any lesson; None where nobody described the family."""
    construction = known().constructions.get(family)
    if construction is None:
        return None
    knowledge = known_causes().knowledge
    before = _filed.get(family)
    if before is None or before[0] is not construction or before[1] is not knowledge:
        before = construction, knowledge, family_causes(construction, knowledge)
        _filed[family] = before
    return before[2]


def learnt_of(construction: Construction, today: date | None = None) -> Learned:
    """
    What is known of a family after all lessons: the same object as long as none of it changes.

    Raises
    ------
    Refused
        If the family is none of the workshop's.
    """
    filed = as_filed(construction.id)
    if filed is None:
        raise Refused(f"There is no family {construction.id!r}.")
    today = today or today_here()
    state = (filed, _state(), today, weights(), shared_files())
    before = _learnt.get(construction.id)
    if before is None or before[0] != state:
        before = state, _learn(filed, today)
        _learnt[construction.id] = before
    return before[1]


def today_here() -> date:
    """The day it is in the workshop."""
    return timezone.now().astimezone(workshop().zone).date()


def _learn(filed: FamilyCauses, today: date) -> Learned:
    told = lessons_kept(today)
    others = [as_filed(family) for family in {one.family for one in told} - {filed.family}]
    return learn(
        filed,
        told,
        families=[one for one in others if one is not None],
        elsewhere=shared_files().shared,
        weights=weights(),
    )


def lessons_kept(today: date) -> list[Lesson]:
    """As `lessons`, kept until a job that is over changes or the knowledge does."""
    state = (_state(), today, known_causes().knowledge)
    if not _lessons or _lessons[0][0] != state:
        _lessons[:] = [(state, lessons(today))]
    return _lessons[0][1]


def _state() -> tuple[object, ...]:
    """
    What changes whenever a lesson comes, goes, is left out or weighed as another family: three queries.

    The constructions are in it: a lesson of another family speaks of what that family's file knows.
    """
    family = Coalesce("strip_down__family", "camera__family")
    over = tuple(teaching().values_list("pk", "stands_since", family))
    out = LessonLeftOut.objects.aggregate(n=Count("pk"), latest=Max("pk"))
    back = Job.objects.filter(comeback_of__isnull=False).aggregate(n=Count("pk"), latest=Max("pk"))
    return over, *out.values(), *back.values(), known().constructions


@dataclass(frozen=True)
class SharedFiles:
    """What other workshops handed on, and why a file of it was left aside."""

    shared: tuple[Shared, ...]
    slips: tuple[str, ...]


def shared_files() -> SharedFiles:
    """What lies in the workshop's folder of what others learned; read again when a file changed."""
    folder = settings.WORKSHOP.root / HANDED_ON
    state = (stamped(folder), known_causes().knowledge, known().constructions)
    if _shared and _shared[0][0] == state:
        return _shared[0][1]
    paths = sorted(folder.glob("*.toml"))
    families = {one: causes for one in known().constructions if paths and (causes := as_filed(one))}
    shared, slips = [], []
    for path in paths:
        try:
            shared.append(read_shared(text_of(path), path.name, families, ELSEWHERE))
        except TableError as slip:
            slips.append(str(slip))
    _shared[:] = [(state, SharedFiles(tuple(shared), tuple(slips)))]
    return _shared[0][1]


def handed_on(today: date) -> str:
    """What the workshop's own jobs taught, as TOML for another workshop: nothing of the owners is in it."""
    told = lessons_kept(today)
    families = [as_filed(family) for family in {one.family for one in told}]
    return written(told, [one for one in families if one is not None], weights())


# --- leaving a lesson out ------------------------------------------------------------------------------


@transaction.atomic
def leave_out(job: Job, reason: str = "", *, by: str, at: datetime | None = None) -> None:
    """
    Learn nothing from a job, until `take_in_again`.

    Raises
    ------
    Refused
        If nothing was weighed of it.
    """
    at = at or timezone.now()
    job = Job.objects.select_for_update().get(pk=job.pk)
    if not teaching().filter(pk=job.pk).exists():
        raise Refused(f"Job {job.number} teaches nothing: it is not over, or nothing of it was weighed.")
    _, new = LessonLeftOut.objects.get_or_create(
        job=job, defaults={"reason": reason.strip(), "at": at, "by": by}
    )
    if new:
        diary.write(job, by=by, at=at, what="left its lesson out", text=reason.strip())


@transaction.atomic
def take_in_again(job: Job, *, by: str, at: datetime | None = None) -> None:
    """Learn from a job again whose lesson was left out."""
    at = at or timezone.now()
    job = Job.objects.select_for_update().get(pk=job.pk)
    gone, _ = LessonLeftOut.objects.filter(job=job).delete()
    if gone:
        diary.write(job, by=by, at=at, what="took its lesson in again")
