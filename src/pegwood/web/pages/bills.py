"""Bills to be paid, money to give back, cameras nobody fetches; the bookkeeper's table; minutes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.core.paginator import Page, Paginator
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.urls import path, reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from pegwood.book.billing.listing import bills_csv
from pegwood.book.billing.minutes import Minutes, latest_minutes
from pegwood.book.billing.owing import Unfetched, balance, live_bill, not_paid, to_give_back, unfetched
from pegwood.book.models import Bill, Job
from pegwood.pricing.money import Money
from pegwood.web import charts
from pegwood.web.pages.chart_library import library_url, scheme

A_PAGE = 48
MOST_OPEN = 100
MOST_MINUTES = 30
#: With one job a chart tells nothing that its line in the table does not.
LEAST_CHARTED = 2


@dataclass(frozen=True)
class Open:
    """A job on which money is open: what, and since when it is due."""

    job: Job
    amount: Money
    bill: Bill | None
    late: bool


@dataclass(frozen=True, kw_only=True)
class BillsPage:
    """What is open, and the bills that were issued, the latest first."""

    open: tuple[Open, ...]
    give_back: tuple[Open, ...]
    open_count: int
    unfetched: tuple[Unfetched, ...]
    unfetched_terms: str
    sheet: Page[Bill]
    first: date | None
    last: date | None
    amiss: str


@dataclass(frozen=True, kw_only=True)
class MinutesPage:
    """Minutes estimated and real, job by job; the longest of them, for the bars; where the chart is got."""

    jobs: tuple[Minutes, ...]
    longest: int
    chart_url: str
    height: int
    library_url: str


@require_safe
def bills(request: HttpRequest) -> HttpResponse:
    """What is open, and what was issued."""
    shop = request.workshop  # type: ignore[attr-defined]
    now = timezone.now()
    today = now.astimezone(shop.zone).date()
    open_jobs = not_paid().select_related("owner", "camera")
    shown = _open(list(open_jobs.order_by("stands_since")[:MOST_OPEN]), today)
    back = to_give_back().select_related("owner", "camera").order_by("pk")[:MOST_OPEN]
    issued = Bill.objects.select_related("job", "corrects").order_by("-issued_at", "-pk")
    page = BillsPage(
        open=tuple(sorted(shown, key=lambda one: not one.late)),
        give_back=tuple(_open(list(back), today)),
        open_count=open_jobs.count(),
        unfetched=tuple(unfetched(shop, now)),
        unfetched_terms=shop.unfetched_terms,
        sheet=Paginator(issued, A_PAGE).get_page(request.GET.get("page")),
        first=date(today.year, 1, 1),
        last=today,
        amiss="",
    )
    return render(request, "bench/bills.html", {"page": page})


@require_safe
def bills_table(request: HttpRequest) -> HttpResponse:
    """The bills of some days as CSV."""
    first, last = _day(request.GET.get("first")), _day(request.GET.get("last"))
    answer = HttpResponse(bills_csv(first, last), content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = 'attachment; filename="bills.csv"'
    return answer


@require_safe
def minutes(request: HttpRequest) -> HttpResponse:
    """Minutes as they were estimated and as they came out."""
    jobs = tuple(latest_minutes(MOST_MINUTES))
    longest = max((max(one.estimated, one.real) for one in jobs), default=0)
    page = MinutesPage(
        jobs=jobs,
        longest=longest,
        chart_url=reverse("minutes_chart") if len(jobs) >= LEAST_CHARTED else "",
        height=charts.MINUTES_HEIGHT,
        library_url=library_url(),
    )
    return render(request, "bench/minutes.html", {"page": page})


@require_safe
def minutes_chart(request: HttpRequest) -> HttpResponse:
    """What the chart of minutes is drawn from; with no job, its line alone."""
    jobs = [
        charts.JobMinutes(
            number=one.job.number, estimated=one.estimated, real=one.real, by_clock=one.by_clock
        )
        for one in latest_minutes(MOST_MINUTES)
    ]
    return JsonResponse(charts.estimated_and_real(jobs, scheme(request)))


def _open(jobs: list[Job], today: date) -> list[Open]:
    found = []
    for job in jobs:
        amount = balance(job)
        if amount is not None and amount:
            bill = live_bill(job)
            late = bill is not None and bill.due_on < today and amount.minor > 0
            found.append(Open(job, amount if amount.minor > 0 else -amount, bill, late))
    return found


def _day(text: str | None) -> date | None:
    """A day; none, and so no bound, where it is no day."""
    try:
        return date.fromisoformat(text or "")
    except ValueError:
        return None


urlpatterns = [
    path("bills/", bills, name="bills"),
    path("bills/table.csv", bills_table, name="bills_table"),
    path("bills/minutes/", minutes, name="minutes"),
    path("bills/minutes/chart.json", minutes_chart, name="minutes_chart"),
]
