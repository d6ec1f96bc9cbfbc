"""What the trade knows: one box that understands plain words, and what is told with how it is known."""

from __future__ import annotations

import re
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.views.decorators.http import require_safe
from django.views.decorators.vary import vary_on_headers

from pegwood.book.trade_tables import tables
from pegwood.trade.answers import FIRST, Answer, Statement
from pegwood.trade.asking import EXAMPLES, ask
from pegwood.trade.grounds import Ground, Grounds, joined
from pegwood.trade.names import UnknownWord
from pegwood.trade.reference import Reference

LONGEST_QUESTION = 200
#: A question up to so long is offered again with a word replaced; of a longer one only the word.
LONGEST_OFFERED = 60


@dataclass(frozen=True)
class Line:
    """A line of an answer with the numbers of its sources in the list below it."""

    told: Statement
    numbers: tuple[int, ...]


@dataclass(frozen=True)
class Part:
    """A section of an answer."""

    title: str
    lines: tuple[Line, ...]


@dataclass(frozen=True)
class Shown:
    """An answer as the page lays it out; `sources` are numbered from one."""

    answer: Answer
    headline: Line
    cautions: tuple[Line, ...]
    parts: tuple[Part, ...]
    sources: Grounds
    first: str = FIRST

    @property
    def pictograms(self) -> tuple[str, ...]:
        """The GHS symbols its lines name, each once."""
        lines = [*self.cautions, *(line for part in self.parts for line in part.lines)]
        return tuple(sorted({line.told.pictogram for line in lines if line.told.pictogram}))


@dataclass(frozen=True)
class TradePage:
    """
    What was asked, and the answer or why there is none.

    `instead` are questions with a word that no table knows replaced by the nearest ones; `slip` is an error
    in an own table.
    """

    question: str
    shown: Shown | None
    refused: str = ""
    instead: tuple[str, ...] = ()
    slip: str = ""
    examples: tuple[str, ...] = EXAMPLES


@require_safe
@vary_on_headers("HX-Request")  # or the browser's own button brings back the answer without its page
def trade(request: HttpRequest) -> HttpResponse:
    """The answer to a question in plain words; to htmx only the answer, so that it follows the typing."""
    page = trade_page(request.GET.get("q", ""))
    live = getattr(request, "htmx", False)
    template = "bench/parts/_answer_live.html" if live else "bench/trade.html"
    return render(request, template, {"page": page})


def trade_page(question: str) -> TradePage:
    """What is told to a question; an own table with a slip in it is left aside, and that is said."""
    question = " ".join(question.replace("\0", "").split())[:LONGEST_QUESTION]
    if not question:
        return TradePage(question, None)
    return _told(question, *tables())


def _told(question: str, reference: Reference, slip: str) -> TradePage:
    try:
        return TradePage(question, shown(ask(reference, question)), slip=slip)
    except UnknownWord as unknown:
        instead = tuple(_instead(question, unknown.word, near) for near in unknown.nearest)
        return TradePage(question, None, refused=str(unknown), instead=instead, slip=slip)
    except ValueError as reason:
        return TradePage(question, None, refused=str(reason), slip=slip)


def _instead(question: str, word: str, near: str) -> str:
    """The question with a word replaced; where it is long or spells it otherwise, the nearest name alone."""
    if len(question) > LONGEST_OFFERED:
        return near
    replaced = re.sub(rf"(?<!\w){re.escape(word)}(?!\w)", near, question, count=1, flags=re.IGNORECASE)
    return near if replaced == question else replaced


def shown(answer: Answer) -> Shown:
    """An answer laid out, its sources numbered in the order in which its lines name them."""
    lines = [answer.headline, *answer.cautions, *(line for part in answer.sections for line in part.lines)]
    sources = joined(*(line.grounds for line in lines))
    number = {ground: place for place, ground in enumerate(sources, 1)}
    return Shown(
        answer=answer,
        headline=_line(answer.headline, number),
        cautions=tuple(_line(one, number) for one in answer.cautions),
        parts=tuple(Part(one.title, tuple(_line(x, number) for x in one.lines)) for one in answer.sections),
        sources=sources,
    )


def _line(told: Statement, number: dict[Ground, int]) -> Line:
    return Line(told, tuple(number[ground] for ground in told.grounds))


urlpatterns = [path("trade/", trade, name="trade")]
