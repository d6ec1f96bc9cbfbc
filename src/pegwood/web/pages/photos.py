"""Photographs of a job: taken, captioned, looked at."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django import forms
from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from pegwood.book.files.pictures import LARGEST_FILE, thumbnail
from pegwood.book.files.store import verified_path
from pegwood.book.looking import add_photo, caption_photo
from pegwood.book.models import Finding, Job, Photo, StoredFile, TakenOff
from pegwood.book.refusal import Refused
from pegwood.web.bench_request import CANNOT, content_of, go_to, is_live, job_numbered, who, whole_number
from pegwood.web.forms.fields import PlainForm, line

LARGE_PIXELS = 1600
# The address names the content: what was sent once never changes.
_FOR_GOOD = "private, max-age=31536000, immutable"


@dataclass(frozen=True)
class PhotosSection:
    """The photographs on a job card."""

    job: Job
    photos: list[Photo]
    refused: list[str]
    largest_mb: int = LARGEST_FILE // 1024**2


@dataclass(frozen=True)
class PhotoPage:
    """One photograph, large, between its neighbours."""

    photo: Photo
    before: Photo | None
    after: Photo | None
    place: int
    of: int
    form: CaptionForm


class CaptionForm(PlainForm):
    """What a photograph shows."""

    caption = forms.CharField(label="What it shows", required=False, max_length=160, widget=line())


def section(job: Job, refused: Sequence[str] = ()) -> PhotosSection:
    """What the photographs' part of a job card needs."""
    return PhotosSection(job, list(job.photos.select_related("finding")), list(refused))


@require_POST
def add(request: HttpRequest, number: int) -> HttpResponse:
    """Photographs from the camera or the disk. The good ones stay when another is refused."""
    job = job_numbered(number)
    told = request.POST.get("finding", "")
    finding = get_object_or_404(job.findings, pk=whole_number(told)) if told else None
    of = request.GET.get("step", "")
    step = get_object_or_404(job.taken_off, pk=whole_number(of)) if of else None
    added, refused = _add_all(job, request.FILES.getlist("photos"), finding, step, who(request))
    if is_live(request):
        if refused:
            return HttpResponse("\n".join(refused), status=CANNOT, content_type="text/plain; charset=utf-8")
        return render(request, "bench/parts/photo_tiles.html", {"tiles": added})
    if refused:
        shown = {"job": job, "photos": section(job, refused)}
        return render(request, "bench/photos.html", shown, status=CANNOT)
    messages.success(request, f"{len(added)} photographs added." if len(added) > 1 else "Photograph added.")
    back = reverse("finding", args=[finding.pk]) if finding else reverse("job", args=[number])
    back = reverse("strip_step", args=[step.pk]) if step else back
    return go_to(request, back + "#photos")


def _add_all(
    job: Job,
    files: Iterable[UploadedFile[Any]],
    finding: Finding | None,
    step: TakenOff | None,
    by: str,
) -> tuple[list[Photo], list[str]]:
    added, refused = [], []
    for file in files:
        try:
            name = file.name or ""
            added.append(add_photo(job, content_of(file), name=name, finding=finding, step=step, by=by))
        except Refused as reason:
            refused.append(str(reason))
    if not (added or refused):
        refused.append("No photograph came along. Take or choose one.")
    return added, refused


@require_http_methods(["GET", "HEAD", "POST"])
def look(request: HttpRequest, pk: int) -> HttpResponse:
    """One photograph, large; and what it shows."""
    photo = _photo(pk)
    if request.method != "POST":
        return _show(request, photo, CaptionForm(initial={"caption": photo.caption}))
    form = CaptionForm(request.POST)
    if form.is_valid():
        try:
            caption_photo(photo, form.cleaned_data["caption"], by=who(request))
        except Refused as reason:
            form.add_error("caption", str(reason))
        else:
            messages.success(request, "Written under the photograph.")
            return go_to(request, reverse("photo", args=[pk]))
    return _show(request, photo, form, status=CANNOT)


def _show(request: HttpRequest, photo: Photo, form: CaptionForm, *, status: int = 200) -> HttpResponse:
    row = list(photo.job.photos.all())
    place = next(place for place, other in enumerate(row) if other.pk == photo.pk)
    page = PhotoPage(
        photo=photo,
        before=row[place - 1] if place else None,
        after=row[place + 1] if place + 1 < len(row) else None,
        place=place + 1,
        of=len(row),
        form=form,
    )
    return render(request, "bench/photo.html", {"page": page, "job": photo.job, "form": form}, status=status)


@require_safe
def small(_request: HttpRequest, pk: int) -> HttpResponse:
    """The photograph as it stands on a card."""
    return jpeg(_photo(pk).file)


@require_safe
def large(_request: HttpRequest, pk: int) -> HttpResponse:
    """The photograph as it fills a screen."""
    return jpeg(_photo(pk).file, LARGE_PIXELS)


@require_safe
def original(_request: HttpRequest, pk: int) -> HttpResponse | FileResponse:
    """The very bytes that came, to be kept elsewhere: with all the camera wrote into them."""
    photo = _photo(pk)
    try:
        content = verified_path(photo.file).open("rb")
    except Refused as reason:
        return _gone(reason)
    name = photo.file.name or f"{photo.job.number}-photo-{pk}"
    answer = FileResponse(content, as_attachment=True, filename=name, content_type=photo.file.media_type)
    answer["Cache-Control"] = "private"
    return answer


def jpeg(file: StoredFile, longest_side: int | None = None) -> HttpResponse:
    """A stored photograph drawn anew as a plain JPEG, or why it cannot be."""
    try:
        content = thumbnail(file, longest_side) if longest_side else thumbnail(file)
    except Refused as reason:
        return _gone(reason)
    return HttpResponse(content, content_type="image/jpeg", headers={"Cache-Control": _FOR_GOOD})


def _gone(reason: Refused) -> HttpResponse:
    return HttpResponse(str(reason), status=410, content_type="text/plain; charset=utf-8")


def _photo(pk: int) -> Photo:
    related = Photo.objects.select_related("file", "finding", "job__owner", "job__camera")
    return get_object_or_404(related, pk=pk)


urlpatterns = [
    path("job/<int:number>/photos/", add, name="photo_add"),
    path("photo/<int:pk>/", look, name="photo"),
    path("photo/<int:pk>/small.jpg", small, name="photo_small"),
    path("photo/<int:pk>/large.jpg", large, name="photo_large"),
    path("photo/<int:pk>/original", original, name="photo_original"),
]
