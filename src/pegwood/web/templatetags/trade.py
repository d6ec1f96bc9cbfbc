"""Tags for what the trade knows: a judgement, how a line is known, a GHS symbol."""

from __future__ import annotations

from typing import Any

from django import template
from django.templatetags.static import static
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from pegwood.book.models import Finding
from pegwood.trade.answers import Verdict
from pegwood.web import touching
from pegwood.web.pages.trade import Line

register = template.Library()

#: Shape and word say it without a colour: a ring, a triangle, a bar across, a question.
_SHAPES: dict[Verdict, tuple[str, str]] = {
    "safe": ("safe", '<circle cx="7" cy="7" r="5" fill="none" stroke="currentColor" stroke-width="2.4"/>'),
    "with care": ("care", '<path d="M7 1.5 13 12.5H1z" fill="none" stroke="currentColor" stroke-width="2"/>'),
    "never": ("never", '<path d="M2.5 2.5l9 9m0-9l-9 9" stroke="currentColor" stroke-width="3"/>'),
    "not known": (
        "unknown",
        '<path d="M1 7h12" stroke="currentColor" stroke-width="2.4" stroke-dasharray="3 2"/>',
    ),
}
GHS = {
    "GHS01": "explosive",
    "GHS02": "flammable",
    "GHS03": "feeds fire",
    "GHS04": "gas under pressure",
    "GHS05": "corrosive",
    "GHS06": "toxic",
    "GHS07": "harmful, irritant",
    "GHS08": "harms health over time",
    "GHS09": "harms water life",
}


@register.simple_tag
def judgement(verdict: Verdict) -> SafeString:
    """{% judgement "never" %}: shape and word; nothing where a line does not judge."""
    if not verdict:
        return SafeString("")
    kind, shape = _SHAPES[verdict]
    drawn = SafeString(f'<svg viewBox="0 0 14 14" aria-hidden="true">{shape}</svg>')
    return format_html('<b class="may {}">{}{}</b>', kind, drawn, verdict)


@register.simple_tag
def known(line: Line) -> SafeString:
    """{% known line %}: its mark, and the numbers of its sources."""
    own = SafeString(' <b class="mark own">own</b>') if line.told.own else ""
    numbers = format_html_join(",", "{}", ((number,) for number in line.numbers))
    return format_html(
        '<small class="known"><b class="mark {0}">{0}</b>{1} <span class="num">[{2}]</span></small>',
        line.told.mark,
        own,
        numbers,
    )


@register.inclusion_tag("bench/parts/_made_of.html")
def made_of(found: Finding) -> dict[str, Any]:
    """{% made_of finding %}: what the part is made of, and whether something may be done about it."""
    return {"found": found, "made": touching.made_of(found)}


@register.simple_tag
def ghs(symbol: str) -> SafeString:
    """{% ghs "GHS02" %}: the symbol with its word."""
    return format_html(
        '<span class="ghs-one"><img src="{}" alt="" width="64" height="64">{} '
        '<small class="dim">{}</small></span>',
        static(f"bench/ghs/{symbol}.svg"),
        GHS[symbol],
        symbol,
    )
