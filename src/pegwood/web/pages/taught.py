"""What the bench taught the ear: to be seen, and taken back."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods

from pegwood.book.families import construction_of, families, family
from pegwood.book.hearing import teach, unteach
from pegwood.book.models import TaughtWord
from pegwood.book.refusal import Refused
from pegwood.web.bench_request import CANNOT, go_to, who, whole_number
from pegwood.web.forms.taught import TaughtForm


@dataclass(frozen=True)
class Word:
    """A taught word in words: what is said, what is meant, and where it holds."""

    word: TaughtWord
    meant: str
    holds: str


@dataclass(frozen=True)
class TaughtPage:
    """All that was taught, and a line to teach another."""

    words: list[Word]
    form: TaughtForm
    refused: str = ""


@require_http_methods(["GET", "HEAD", "POST"])
def taught(request: HttpRequest) -> HttpResponse:
    """The bench's own words; one is taught or taken back."""
    form = TaughtForm()
    if request.method == "POST":
        if "unteach" in request.POST:
            pk = whole_number(request.POST["unteach"])
            word = get_object_or_404(TaughtWord.everything, pk=-1 if pk is None else pk)
            unteach(word, by=who(request))
            messages.info(request, f"'{word.said}' means again what it means to everybody.")
            return go_to(request, reverse("taught"))
        form = TaughtForm(request.POST)
        if form.is_valid():
            try:
                given = form.cleaned_data
                word = teach(
                    given["kind"], given["said"], given["meant"], family=given["family"], by=who(request)
                )
            except Refused as refused:
                form.add_error("said", str(refused))
            else:
                messages.success(request, f"'{word.said}' is known from the next hearing on.")
                return go_to(request, reverse("taught"))
    page = TaughtPage([_in_words(word) for word in TaughtWord.objects.all()], form)
    return render(
        request, "bench/taught.html", {"page": page, "form": form}, status=CANNOT if form.errors else 200
    )


def _in_words(word: TaughtWord) -> Word:
    if word.kind != TaughtWord.Kind.PART:
        return Word(word, word.meant, "every kind of camera")
    construction = construction_of(word.family)
    part = construction.parts.get(word.meant) if construction else None
    holds = family(word.family).name if word.family in families() else word.family
    return Word(word, part.name if part else word.meant, holds)


urlpatterns = [path("workshop/words/", taught, name="taught")]
