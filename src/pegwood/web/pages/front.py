"""The front page: what needs me next. And all jobs of one standing, page by page."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.core.paginator import Page, Paginator
from django.db.models import Count, F, QuerySet, Window
from django.db.models.functions import RowNumber
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.utils import timezone
from django.utils.text import slugify
from django.views.decorators.http import require_safe

from pegwood.book.billing.owing import not_paid
from pegwood.book.models import Job
from pegwood.book.states import OVER, Standing
from pegwood.book.workshop import Workshop
from pegwood.web.facts import facts, with_facts
from pegwood.web.next_step import Step, next_step

MOST_HUNG = 9
A_PAGE = 48
LATE = "late"
NOT_PAID = "not-paid"
MOST_URGENT_FIRST = (F("promised_on").asc(nulls_last=True), F("stands_since").asc(), F("pk").asc())

#: Where open jobs stand, from the top of the board to its foot: the gauge, and what is laid by.
OPEN = {
    Standing.ARRIVED: "to be looked over",
    Standing.LOOKED_OVER: "to be priced",
    Standing.PRICED: "the owner is asked",
    Standing.AGREED: "to be begun",
    Standing.ON_THE_BENCH: "in your hands",
    Standing.WAITING: "laid by",
    Standing.PROVING: "being measured",
    Standing.READY: "to be fetched",
}
#: What is taken up first where nothing is late: what is open on the bench, then what is nearest to it.
FIRST = (
    Standing.PROVING,
    Standing.ON_THE_BENCH,
    Standing.AGREED,
    Standing.LOOKED_OVER,
    Standing.ARRIVED,
    Standing.PRICED,
    Standing.READY,
    Standing.WAITING,
)


@dataclass(frozen=True)
class Hung:
    """A job as it hangs on the board: its tag, and what comes next."""

    job: Job
    step: Step

    @property
    def then(self) -> str:
        if self.job.stands in OVER:
            return self.step.sentence if self.step.do.page == "payment" else ""
        return f"next: {self.step.sentence}" if self.step.yours else self.step.sentence


@dataclass(frozen=True)
class Group:
    """The jobs that stand at one place: those shown, and how many there are."""

    word: str
    says: str
    slug: str
    count: int
    hung: tuple[Hung, ...] = ()

    @property
    def more(self) -> int:
        return self.count - len(self.hung)


@dataclass(frozen=True)
class FrontPage:
    """
    The board: the one job to take up first, what is late, what stands where.

    `over` are the jobs that are over, word and slug of each list; nobody waits for them to be counted.
    """

    first: Hung | None
    late: Group
    groups: tuple[Group, ...]
    over: tuple[tuple[str, str], ...]
    open_count: int


@dataclass(frozen=True)
class StandingPage:
    """All jobs that stand at one place."""

    word: str
    says: str
    count: int
    hung: tuple[Hung, ...]
    sheet: Page[int]


@require_safe
def front(request: HttpRequest) -> HttpResponse:
    """What needs me next."""
    page = front_page(request.workshop, timezone.localdate())  # type: ignore[attr-defined]
    return render(request, "bench/front.html", {"page": page})


@require_safe
def standing(request: HttpRequest, slug: str) -> HttpResponse:
    """All jobs that stand at one place, the most urgent first; those that are over, the latest first."""
    today = timezone.localdate()
    word = next((s for s in Standing if slugify(s) == slug), None)
    if slug == LATE:
        jobs, says = _late(today), "promised for a day that is past"
    elif slug == NOT_PAID:
        jobs, says = not_paid(), "gone home, and something of the bill is open"
    elif word is not None:
        jobs, says = Job.objects.filter(standing=word), OPEN.get(word, "")
    else:
        raise Http404("A job stands at none such place.")
    latest = jobs.order_by("-stands_since", "-pk").values_list("pk", flat=True)
    ids = latest if word in OVER or slug == NOT_PAID else _urgent(jobs)
    sheet = Paginator(ids, A_PAGE).get_page(request.GET.get("page"))
    page = StandingPage(
        word=word or slug.replace("-", " "),
        says=says,
        count=sheet.paginator.count,
        hung=tuple(_hung(list(sheet.object_list), request.workshop)),  # type: ignore[attr-defined]
        sheet=sheet,
    )
    return render(request, "bench/standing.html", {"page": page})


def front_page(workshop: Workshop, today: date) -> FrontPage:
    """What is open: late ones apart and first, the rest by where it stands."""
    counts = _counts(Job.objects.filter(standing__in=list(OPEN)))
    late_counts = _counts(_late(today))
    late_ids = list(_urgent(_late(today))[:MOST_HUNG])
    ids = _most_urgent_by_standing(today)
    hung = {
        one.job.pk: one for one in _hung([*late_ids, *(pk for some in ids.values() for pk in some)], workshop)
    }
    late = Group(
        LATE,
        "promised for a day that is past",
        LATE,
        sum(late_counts.values()),
        tuple(hung[pk] for pk in late_ids),
    )
    groups = tuple(
        Group(s, OPEN[s], slugify(s), counts[s] - late_counts.get(s, 0), tuple(hung[pk] for pk in ids[s]))
        for s in OPEN
        if s in ids
    )
    return FrontPage(
        first=_first(late, groups),
        late=late,
        groups=groups,
        over=(*((s, slugify(s)) for s in Standing if s in OVER), ("not paid", NOT_PAID)),
        open_count=sum(counts.get(s, 0) for s in OPEN),
    )


def _first(late: Group, groups: Iterable[Group]) -> Hung | None:
    """The one to take up first: late before all, and what the repairer can act on before what waits."""
    places = {word: place for place, word in enumerate(FIRST)}
    hung = [*late.hung, *(one for group in groups for one in group.hung)]
    if not hung:
        return None
    is_late = {one.job.pk for one in late.hung}
    return min(
        hung,
        key=lambda one: (
            not one.step.yours,
            one.job.pk not in is_late,
            one.job.promised_on or date.max,
            places[one.job.stands],
            one.job.stands_since,
        ),
    )


def _late(today: date) -> QuerySet[Job]:
    return Job.objects.filter(standing__in=list(OPEN), promised_on__lt=today)


def _most_urgent_by_standing(today: date) -> dict[Standing, list[int]]:
    """The first few of the open jobs that are not late, for each standing; one query for all."""
    place = Window(RowNumber(), partition_by=F("standing"), order_by=MOST_URGENT_FIRST)
    jobs = Job.objects.filter(standing__in=list(OPEN)).exclude(promised_on__lt=today)
    found: dict[Standing, list[int]] = {}
    rows = jobs.annotate(place=place).filter(place__lte=MOST_HUNG).order_by("standing", "place")
    for standing, pk in rows.values_list("standing", "pk"):
        found.setdefault(Standing(standing), []).append(pk)
    return found


def _urgent(jobs: QuerySet[Job]) -> QuerySet[Job, int]:
    return jobs.order_by(*MOST_URGENT_FIRST).values_list("pk", flat=True)


def _counts(jobs: QuerySet[Job]) -> dict[str, int]:
    return dict(jobs.order_by().values_list("standing").annotate(n=Count("pk")))


def _hung(ids: list[int], workshop: Workshop) -> list[Hung]:
    """The jobs with what comes next, in the order of `ids`, by one query."""
    jobs, now = with_facts(Job.objects.all()).in_bulk(ids), timezone.now()
    return [Hung(jobs[pk], next_step(facts(jobs[pk], workshop, now))) for pk in ids]


urlpatterns = [
    path("", front, name="front"),
    path("jobs/<slug:slug>/", standing, name="standing"),
]
