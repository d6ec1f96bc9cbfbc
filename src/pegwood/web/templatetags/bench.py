"""Tags and filters of the bench: each a line or two over a tested pure function."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from django import forms, template
from django.template import Context
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from pegwood.book.models import Job
from pegwood.book.models.bench import GRADES
from pegwood.book.states import Standing, WaitingFor
from pegwood.pricing.money import Money
from pegwood.web import next_step as steps
from pegwood.web import words
from pegwood.web.local import locale

register = template.Library()
PARTS = "bench/parts/"


# --- filters ----------------------------------------------------------------------------------------


@register.filter
def money(amount: Money | None) -> str:
    """{{ job.price|money }}: €145.00; empty for None."""
    return "" if amount is None else words.money(amount, locale())


@register.filter
def minor(amount: float, currency: str) -> str:
    """{{ one.owner|minor:currency }}: an average of money in minor units, rounded to the whole one."""
    return words.money(Money(round(amount), currency), locale())


@register.filter
def typed(amount: Money) -> str:
    """{{ price|typed }}: 1,234.50 as it is typed into a field."""
    return amount.figure(locale())


@register.filter
def day(value: date | None) -> str:
    """{{ job.promised_on|day }}: 3 May 2024."""
    return "" if value is None else words.day(value, locale())


@register.filter
def moment(value: datetime | None) -> str:
    """{{ entry.at|moment }}: 3 May 2024, 14:05 in the workshop's own time."""
    return "" if value is None else words.moment(value, _zone(), locale())


@register.filter
def away(value: date | None) -> str:
    """{{ job.promised_on|away }}: tomorrow, in 3 days, 2 weeks ago."""
    return "" if value is None else words.away(value, timezone.localdate())


@register.filter
def ago(value: datetime | None) -> str:
    """{{ entry.at|ago }}: 3 days ago."""
    return "" if value is None else words.ago(value, timezone.now())


@register.filter
def minutes(value: int | None) -> str:
    """{{ work.minutes|minutes }}: 1 h 20 min; empty for None."""
    return "" if value is None else words.minutes(value)


@register.filter
def glued(figure: str) -> str:
    """{{ it.effective|glued }}: the ± stays with its figure, and that with its unit, where a line breaks."""
    value, sign, rest = figure.partition(" ± ")
    return f"{value} ±\u00a0{rest.replace(' ', chr(0xA0))}" if sign else figure


@register.filter
def marked(excerpt: str) -> SafeString:
    """{{ hit.excerpt|marked }}: what was looked for in <mark>."""
    return format_html_join("", "{}", ((_hit(is_hit, text),) for is_hit, text in words.hits(excerpt)))


def _hit(is_hit: bool, text: str) -> str | SafeString:
    return format_html("<mark>{}</mark>", text) if is_hit else text


@register.filter
def grade(value: int | None) -> SafeString:
    """{{ finding.grade|grade }}: five notches, and the grade's word."""
    if value is None:
        return SafeString("")
    notches = SafeString("".join(f"<i{' class=on' if n <= value else ''}></i>" for n in range(1, 6)))
    return format_html(
        '<span class="grade" aria-hidden="true">{}</span> <span>{} {}</span>', notches, value, GRADES[value]
    )


# --- shapes -----------------------------------------------------------------------------------------


@register.inclusion_tag(PARTS + "_verdict.html")
def verdict(word: str) -> dict[str, Any]:
    """{% verdict "within" %}: shape, word and colour together."""
    shape = words.shape(word)
    return {"kind": shape.kind, "shape": shape.shape, "word": word or "no limit given"}


@register.inclusion_tag(PARTS + "_tag.html")
def job_tag(job: Job) -> dict[str, Any]:
    """{% job_tag job %}: the tag at the top of a job's page. The job comes with owner and camera."""
    agreed = job.agreed_up_to
    return {
        "job": job,
        "price": money(job.price),
        "under_price": f"agreed up to {money(agreed)}" if agreed is not None else "told, not agreed",
        "promise": _promise(job),
        "comeback_of": job.comeback_of.number if job.comeback_of else None,
    }


@register.inclusion_tag(PARTS + "_tag_small.html")
def small_tag(job: Job, then: str = "", excerpt: str = "", stands: bool = False) -> dict[str, Any]:
    """{% small_tag job then="next: price it" %}: the job in a list. The job comes with owner and camera."""
    return {
        "job": job,
        "price": money(job.price),
        "promise": "" if job.is_over else _promise(job),
        "late": job.is_late(timezone.localdate()),
        "left": day(timezone.localtime(job.gone_home_at).date()) if job.gone_home_at else "",
        "then": then,
        "excerpt": excerpt,
        "stands": stands,
    }


@register.inclusion_tag(PARTS + "_gauge.html")
def job_gauge(job: Job) -> dict[str, Any]:
    """{% job_gauge job %}: where it stands. A job that left the usual way is looked up in its diary."""
    came_from = job.came_from or _left_from(job)
    return {
        "marks": steps.gauge(
            job.stands,
            Standing(came_from) if came_from else None,
            WaitingFor(job.waiting_for) if job.waiting_for else None,
        )
    }


@register.inclusion_tag(PARTS + "_next.html", takes_context=True)
def next_thing(context: Context, step: steps.Step, job: Job, live: bool = False) -> dict[str, Any]:
    """
    {% next_thing step job %}: the sentence, the filled button, the quiet ones.

    With `live=True` it is part of an answer to htmx and takes the place of the one on the page.
    """
    acts = [_act(act, job, quiet=True) for act in reversed(step.others)]
    return {
        "step": step,
        "live": live,
        "acts": [*acts, _act(step.do, job, quiet=False)],
        "csrf_token": context.get("csrf_token"),
    }


@register.inclusion_tag(PARTS + "_field.html")
def field(bound: forms.BoundField, more: str = "") -> dict[str, Any]:
    """{% field form.name %} or {% field form.name "wide" %}: label, help, widget and error, tied together."""
    return {"field": bound, "more": more}


@register.inclusion_tag(PARTS + "_refused.html")
def refused(what: forms.BaseForm | str | None) -> dict[str, Any]:
    """{% refused form %} or {% refused "text" %}: why not, in one line; nothing if there is nothing amiss."""
    if isinstance(what, forms.BaseForm):
        return {"lines": _amiss(what)}
    return {"lines": [what] if what else []}


def _amiss(form: forms.BaseForm) -> list[str]:
    lines = [str(line) for line in form.non_field_errors()]
    # a label may be a question, and the line ends with a stop of its own
    wrong = [str(form[name].label).rstrip("?") for name in form.errors if name in form.fields]
    return lines or ([f"Look again at: {', '.join(wrong)}."] if wrong else [])


@register.simple_block_tag
def section(
    content: str, title: str, id: str = "", more: str = "", link: str = "", link_words: str = ""
) -> str:
    """{% section "Findings" id="findings" %}…{% endsection %}: a sheet with its heading."""
    return render_to_string(
        PARTS + "_section.html",
        {"content": content, "title": title, "id": id, "more": more, "link": link, "link_words": link_words},
    )


@register.simple_block_tag
def caution(content: str, about: str = "Caution:") -> SafeString:
    """{% caution "Naphtha:" %}flash point below 0 °C …{% endcaution %}: stands at the work."""
    return format_html('<p class="caution" role="note"><b>{}</b> {}</p>', about, content)


# --- what they are made of --------------------------------------------------------------------------


def _zone() -> ZoneInfo:
    zone = timezone.get_current_timezone()
    return zone if isinstance(zone, ZoneInfo) else ZoneInfo("UTC")


def _promise(job: Job) -> str:
    return words.promise(job.promised_on, timezone.localdate(), locale(), is_over=job.is_over)


def _left_from(job: Job) -> str:
    if job.stands not in {Standing.SENT_BACK, Standing.KEPT}:
        return ""
    last = job.diary.filter(new__standing=job.standing).order_by("-pk").first()
    before = str((last.old or {}).get("standing", "")) if last else ""
    return before if before in list(Standing) and before != Standing.WAITING else ""


def _act(act: steps.Act, job: Job, *, quiet: bool) -> dict[str, Any]:
    moves = act.move is not None
    url = reverse("move", args=[job.number]) if moves else page_address(act.page, job.number)
    return {"label": act.label, "move": act.move, "url": url, "quiet": quiet}


def page_address(page: str, number: int) -> str:
    """The address of a page a step leads to: "price", "price#yes", "#work", "comeback", "front"."""
    if page == "front":
        return reverse("front")
    if page == "comeback":
        return f"{reverse('take_in')}?{urlencode({'comeback': number})}"
    name, mark, place = page.partition("#")
    return reverse(name or "job", args=[number]) + mark + place
