"""Taking a camera in at the counter, with one thumb, over a line that may drop."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from urllib.parse import urlencode
from uuid import UUID, uuid4

from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.db import IntegrityError
from django.db.models import Count, Q
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import path, reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from pegwood.book.arriving import come_back, take_in
from pegwood.book.drafts import add_draft_photo, begun, drop_draft, drop_draft_photo, find_draft, save_draft
from pegwood.book.families import families, family
from pegwood.book.files.pictures import LARGEST_FILE
from pegwood.book.looking import add_photo
from pegwood.book.models import Camera, Draft, Job, Owner, Photo, StoredFile
from pegwood.book.refusal import Refused
from pegwood.book.states import Standing
from pegwood.web.bench_request import CANNOT, content_of, go_to, is_live, who, whole_number
from pegwood.web.forms.take_in import TakeInForm, from_kept, to_keep
from pegwood.web.pages.photos import jpeg

FORM = "take-in"
MOST_SUGGESTED = 6
MOST_BEGUN = 8
#: What an address may say beforehand: the job it is a comeback of, or whose camera it is.
TOLD = ("comeback", "owner")
#: A single letter finds half the town.
SHORTEST_NAME = 2


@dataclass(frozen=True)
class Begun:
    """A take-in that somebody has begun and not finished."""

    ticket: UUID
    says: str
    photos: int
    changed_at: datetime


@dataclass(frozen=True)
class OwnerChoice:
    """Who it may be: owners already in the book that fit what was typed, and the one that was chosen."""

    owners: Sequence[Owner]
    chosen: str


@dataclass(frozen=True)
class CameraChoice:
    """Cameras of a known owner that were here before and are not here now."""

    cameras: list[Camera]
    chosen: str


@dataclass(frozen=True)
class Kind:
    """A kind of camera on its tile: what it is first, and what tells it from others."""

    slug: str
    name: str
    first: str
    rest: str


@dataclass(frozen=True)
class TakeInPage:
    """The page at the counter."""

    ticket: UUID
    form: TakeInForm
    kinds: list[Kind]
    owner_choice: OwnerChoice
    camera_choice: CameraChoice
    photos: list[dict[str, str]]
    begun: list[Begun]
    comeback: Job | None
    answered: bool
    kept_at: datetime | None
    largest_photo_mb: int = LARGEST_FILE // 1024**2


@require_safe
def begin(request: HttpRequest) -> HttpResponse:
    """A fresh ticket for a fresh form. Nothing is stored until something is typed."""
    onward = reverse("take_in", args=[uuid4()])
    told = urlencode({name: key for name in TOLD if (key := whole_number(request.GET.get(name, "")))})
    return HttpResponseRedirect(f"{onward}?{told}" if told else onward)


@require_http_methods(["GET", "HEAD", "POST"])
def take_in_page(request: HttpRequest, ticket: UUID) -> HttpResponse:
    """The form; and the camera taken in when it is sent."""
    if already := Job.objects.filter(ticket=ticket).first():
        return go_to(request, reverse("job", args=[already.number]))
    if request.method != "POST":
        return _show(request, ticket, TakeInForm(initial=_kept(request, ticket), today=timezone.localdate()))
    return _take(request, ticket)


def _take(request: HttpRequest, ticket: UUID) -> HttpResponse:
    amiss = _keep_photos(ticket, request.FILES.getlist("photos"))
    _keep_typed(request, ticket)
    if request.POST.get("do") == "later":
        for reason in amiss:
            messages.warning(request, reason)
        messages.info(request, "Put aside. It waits on the take-in page.")
        return go_to(request, reverse("front"))
    form = TakeInForm(request.POST, today=timezone.localdate())
    if request.POST.get("do") == "look":
        return _show(request, ticket, _unchecked(request), looked_for=True)
    if form.is_valid() and not amiss and not _ask_who(form):
        try:
            job = _enter(form, ticket, who(request))
        except Refused as refused:
            amiss = [str(refused)]
        else:
            messages.success(request, f"Taken in. Write {job.number} on its tag.")
            return go_to(request, reverse("job", args=[job.number]))
    for reason in amiss:
        form.add_error(None, reason)
    return _show(request, ticket, form, status=CANNOT)


def _enter(form: TakeInForm, ticket: UUID, by: str) -> Job:
    """Job, photographs and the end of the draft, all or nothing."""
    told: dict[str, Any] = {
        "by": by,
        "story": form.cleaned_data["story"],
        "accessories": form.came_with,
        "promised_on": form.promised,
        "photos": _files(find_draft(ticket)),
        "ticket": ticket,
    }
    try:
        if number := form.cleaned_data["comeback"]:
            return come_back(_gone_home(number), **told)
        return take_in(form.who, form.what, **told)
    except IntegrityError:
        # The same form, sent twice, at the same moment: the first has won.
        return Job.objects.get(ticket=ticket)


def _gone_home(number: int) -> Job:
    old = Job.objects.filter(number=number).first()
    if old is None:
        raise Refused(f"There is no job {number} that this could be a comeback of.")
    return old


def _files(draft: Draft | None) -> list[StoredFile]:
    hashes = _hashes(draft)
    files = StoredFile.objects.in_bulk(hashes)
    return [files[sha256] for sha256 in hashes]


def _ask_who(form: TakeInForm) -> bool:
    """Whether somebody of that very name is known and nobody said yet if it is the same person."""
    if form.cleaned_data["owner"] or form.cleaned_data["comeback"]:
        return False
    if not Owner.objects.filter(name__iexact=form.cleaned_data["name"]).exists():
        return False
    form.add_error("name", "Somebody of that name is in the book. Tap whether it is the same person.")
    return True


@require_POST
def keep_draft(request: HttpRequest, ticket: UUID) -> HttpResponse:
    """What has been typed so far, sent by the page itself every now and then."""
    _keep_typed(request, ticket)
    return HttpResponse(status=204)


@require_POST
def keep_draft_photo(request: HttpRequest, ticket: UUID) -> HttpResponse:
    """One photograph, as soon as it was taken."""
    files = request.FILES.getlist("photos")
    if not files:
        return _said("No photograph came along. Take or choose one.")
    job = Job.objects.filter(ticket=ticket).first()
    try:
        if job is not None:  # it was slower than the form it belongs to
            for file in files:
                add_photo(job, content_of(file), name=file.name or "", by=who(request))
            return HttpResponse(status=204)
        kept = [add_draft_photo(ticket, FORM, content_of(file), file.name or "") for file in files]
    except Refused as refused:
        return _said(str(refused))
    photos = [{"sha256": file.sha256, "name": file.name} for file in kept]
    return render(request, "bench/parts/draft_photos.html", {"ticket": ticket, "photos": photos})


@require_safe
def draft_photo(_request: HttpRequest, ticket: UUID, sha256: str) -> HttpResponse:
    """A photograph that waits for its job, small; a page that is slow may ask once the job has it."""
    if sha256 in _hashes(find_draft(ticket)):
        return jpeg(get_object_or_404(StoredFile, pk=sha256))
    if photo := Photo.objects.filter(job__ticket=ticket, file_id=sha256).select_related("file").first():
        return jpeg(photo.file)
    raise Http404


@require_POST
def leave_photo_out(request: HttpRequest, ticket: UUID, sha256: str) -> HttpResponse:
    """A photograph taken by mistake; what was typed is kept along the way."""
    _keep_typed(request, ticket)
    drop_draft_photo(ticket, sha256)
    if is_live(request):
        return HttpResponse("")
    return HttpResponseRedirect(reverse("take_in", args=[ticket]) + "#photos")


@require_POST
def give_up(request: HttpRequest, ticket: UUID) -> HttpResponse:
    """Throw a begun form away."""
    drop_draft(ticket)
    messages.info(request, "Thrown away. Nothing was taken in.")
    return go_to(request, reverse("front"))


@require_safe
def owners_like(request: HttpRequest) -> HttpResponse:
    """Owners in the book that fit what is being typed."""
    choice = _owner_choice(request.GET.get("name", ""), request.GET.get("owner", ""))
    return render(request, "bench/parts/owner_choice.html", {"owner_choice": choice})


@require_safe
def cameras_of(request: HttpRequest) -> HttpResponse:
    """Cameras of the owner who was just chosen."""
    choice = _camera_choice(request.GET.get("owner", ""), "")
    return render(request, "bench/parts/camera_choice.html", {"camera_choice": choice})


def _show(
    request: HttpRequest, ticket: UUID, form: TakeInForm, *, status: int = 200, looked_for: bool = False
) -> HttpResponse:
    draft = find_draft(ticket)
    comeback = str(form["comeback"].value() or "")
    owner, name = str(form["owner"].value() or ""), str(form["name"].value() or "")
    page = TakeInPage(
        ticket=ticket,
        form=form,
        kinds=kinds(),
        owner_choice=_owner_choice(name, owner),
        camera_choice=_camera_choice(owner, str(form["camera"].value() or "")),
        photos=list(draft.photos) if draft else [],
        begun=_begun(ticket),
        comeback=_job_or_none(comeback),
        answered=form.is_bound or looked_for,
        kept_at=draft.changed_at if draft else None,
    )
    return render(request, "bench/take_in.html", {"page": page, "form": form}, status=status)


def kinds() -> list[Kind]:
    """Every kind of camera, its name cut at the first comma."""
    cut = [(kind, *kind.name.partition(", ")) for kind in families().values()]
    return [Kind(kind.slug, kind.name, first, rest) for kind, first, _comma, rest in cut]


def _owner_choice(name: str, chosen: str) -> OwnerChoice:
    name = name.strip()
    here_before = Owner.objects.annotate(visits=Count("jobs"))
    owners: list[Any] = []
    if len(name) >= SHORTEST_NAME:
        fits = Q(name__icontains=name) | Q(phone__icontains=name)
        found = list(Owner.objects.filter(fits).values_list("pk", flat=True)[:MOST_SUGGESTED])
        owners = list(here_before.filter(pk__in=found))
    key = whole_number(chosen)
    if key and all(owner.pk != key for owner in owners):
        owners = [*here_before.filter(pk=key), *owners]
    return OwnerChoice(owners, chosen)


def _camera_choice(owner: str, chosen: str) -> CameraChoice:
    key = whole_number(owner)
    if key is None:
        return CameraChoice([], chosen)
    still_here = Job.objects.filter(owner_id=key).exclude(
        standing__in=[Standing.GONE_HOME, Standing.SENT_BACK]
    )
    cameras = Camera.objects.filter(owner_id=key).exclude(pk__in=still_here.values("camera_id"))
    return CameraChoice(list(cameras.order_by("-pk")[:MOST_SUGGESTED]), chosen)


def _begun(ticket: UUID) -> list[Begun]:
    drafts = [draft for draft in begun(FORM)[: MOST_BEGUN + 1] if draft.ticket != ticket]
    done = set(Job.objects.filter(ticket__in=[d.ticket for d in drafts]).values_list("ticket", flat=True))
    return [
        Begun(draft.ticket, _what_was_begun(draft.fields), len(draft.photos), draft.changed_at)
        for draft in drafts
        if draft.ticket not in done
    ][:MOST_BEGUN]


def _what_was_begun(fields: dict[str, str]) -> str:
    named = f"{fields.get('maker', '')} {fields.get('model', '')}".strip()
    what = named or (family(fields["family"]).name if fields.get("family") else "")
    return ", ".join(filter(None, [what, fields.get("name", "")])) or "no name and no camera yet"


def _kept(request: HttpRequest, ticket: UUID) -> dict[str, Any]:
    draft = find_draft(ticket)
    kept = from_kept(draft.fields) if draft else {}
    for name in TOLD:
        if key := whole_number(request.GET.get(name, "")):
            kept.setdefault(name, key)
    return kept


def _unchecked(request: HttpRequest) -> TakeInForm:
    """The form as typed, without a word about what is still missing."""
    return TakeInForm(initial=from_kept(to_keep(request.POST)), today=timezone.localdate())


def _keep_typed(request: HttpRequest, ticket: UUID) -> None:
    typed = to_keep(request.POST)
    if typed and not Job.objects.filter(ticket=ticket).exists():
        save_draft(ticket, FORM, typed)


def _keep_photos(ticket: UUID, files: Iterable[UploadedFile[Any]]) -> list[str]:
    """Photographs that came along with the form; what is wrong with those that cannot be kept."""
    amiss = []
    for file in files:
        try:
            add_draft_photo(ticket, FORM, content_of(file), file.name or "")
        except Refused as refused:
            amiss.append(str(refused))
    return amiss


def _hashes(draft: Draft | None) -> list[str]:
    return [photo["sha256"] for photo in draft.photos] if draft else []


def _job_or_none(number: str) -> Job | None:
    key = whole_number(number)
    return Job.objects.select_related("owner", "camera").filter(number=key).first() if key else None


def _said(reason: str) -> HttpResponse:
    """A refusal to the page's own script, as plain text."""
    return HttpResponse(reason, status=CANNOT, content_type="text/plain; charset=utf-8")


urlpatterns = [
    path("take-in/", begin, name="take_in"),
    path("take-in/owners/", owners_like, name="take_in_owners"),
    path("take-in/cameras/", cameras_of, name="take_in_cameras"),
    path("take-in/<uuid:ticket>/", take_in_page, name="take_in"),
    path("take-in/<uuid:ticket>/draft/", keep_draft, name="take_in_draft"),
    path("take-in/<uuid:ticket>/photo/", keep_draft_photo, name="take_in_photo"),
    path("take-in/<uuid:ticket>/photo/<str:sha256>.jpg", draft_photo, name="take_in_photo_small"),
    path("take-in/<uuid:ticket>/photo/<str:sha256>/drop/", leave_photo_out, name="take_in_photo_drop"),
    path("take-in/<uuid:ticket>/give-up/", give_up, name="take_in_give_up"),
]
