"""What every page of a job begins with: the job, who acts, and the answer to a form."""

from __future__ import annotations

from typing import Any, BinaryIO, cast

from django.core.files.uploadedfile import UploadedFile
from django.forms import Form
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse
from django.shortcuts import get_object_or_404
from django_htmx.http import HttpResponseClientRedirect, HttpResponseClientRefresh

from pegwood.book.models import Job

#: The answer to a form that cannot be taken as it is: what was typed stands in it, with the reason.
CANNOT = 422


def job_numbered(number: int) -> Job:
    """The job of that number with its owner and camera, or a plain 404."""
    return get_object_or_404(Job.objects.select_related("owner", "camera"), number=number)


def who(request: HttpRequest) -> str:
    """Who acts: the name that goes into the diary."""
    return str(request.who)  # type: ignore[attr-defined]


def is_live(request: HttpRequest) -> bool:
    """Whether htmx asks, and the page around the answer stays."""
    return bool(request.htmx)  # type: ignore[attr-defined]


def go_to(request: HttpRequest, address: str) -> HttpResponse:
    """Send the browser on after a form was taken, whoever asked."""
    if is_live(request):
        page, _mark, place = address.partition("#")
        here = str(request.htmx.current_url_abs_path or "")  # type: ignore[attr-defined]
        if place and here.partition("#")[0] == page:
            # A browser would only scroll there, and show the page as it was before.
            return HttpResponseClientRefresh()
        return HttpResponseClientRedirect(address)
    return HttpResponseRedirect(address)


def wants_json(request: HttpRequest) -> bool:
    """Whether a script sent the form, and shows by itself how far that has come."""
    return request.get_preferred_type(["text/html", "application/json"]) == "application/json"


def sent_on(request: HttpRequest, address: str) -> HttpResponse:
    """Send on whoever sent a file: a script is told where to go."""
    if wants_json(request):
        return JsonResponse({"go": address}, status=201)
    return HttpResponseRedirect(address)


def refused_json(form: Form) -> JsonResponse:
    """The first refusal of a form, and its field, for a script."""
    field, (first, *_) = next(iter(form.errors.items()))
    return JsonResponse({"refused": str(first), "field": field}, status=CANNOT)


def whole_number(text: str) -> int | None:
    """A number from an address or a hidden field; None for anything that is none or is longer than a key."""
    return int(text) if text.isascii() and text.isdecimal() and len(text) <= 9 else None


def content_of(file: UploadedFile[Any]) -> BinaryIO:
    """What was sent, as the use cases read it: Django's own wrapper reads, seeks and tells like a file."""
    return cast(BinaryIO, file)
