"""Forms begun and not yet sent. No diary: nothing has happened yet."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import BinaryIO
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from pegwood.book.looking import keep_photo
from pegwood.book.models import Draft, StoredFile
from pegwood.book.refusal import Refused

LARGEST_FIELD = 20_000
MOST_PHOTOS = 24
KEPT_FOR = timedelta(days=30)


@transaction.atomic
def save_draft(ticket: UUID, form: str, fields: dict[str, str], *, at: datetime | None = None) -> Draft:
    """Keep what has been typed so far; photographs already taken stay with it."""
    at = at or timezone.now()
    short = {name: value[:LARGEST_FIELD] for name, value in fields.items()}
    draft, _ = Draft.objects.update_or_create(
        ticket=ticket, defaults={"form": form, "fields": short, "changed_at": at}
    )
    Draft.objects.filter(changed_at__lt=at - KEPT_FOR).delete()
    return draft


def add_draft_photo(
    ticket: UUID, form: str, content: BinaryIO, name: str, *, at: datetime | None = None
) -> StoredFile:
    """
    Keep a photograph for a form that is not sent yet.

    Raises
    ------
    Refused
        As `keep_photo`, or if the form has its fill of photographs.
    """
    at = at or timezone.now()
    file = keep_photo(content, name, at=at)
    with transaction.atomic():
        draft, _ = Draft.objects.select_for_update().get_or_create(
            ticket=ticket, defaults={"form": form, "changed_at": at}
        )
        if all(photo["sha256"] != file.sha256 for photo in draft.photos):
            if len(draft.photos) >= MOST_PHOTOS:
                raise Refused(f"{MOST_PHOTOS} photographs are enough here. Add more on the job card.")
            draft.photos = [*draft.photos, {"sha256": file.sha256, "name": file.name}]
            draft.changed_at = at
            draft.save()
    return file


@transaction.atomic
def drop_draft_photo(ticket: UUID, sha256: str) -> None:
    """Leave out a photograph taken by mistake."""
    draft = Draft.objects.select_for_update().filter(ticket=ticket).first()
    if draft is not None:
        draft.photos = [photo for photo in draft.photos if photo["sha256"] != sha256]
        draft.save()


def find_draft(ticket: UUID) -> Draft | None:
    """What has been kept under that ticket."""
    return Draft.objects.filter(ticket=ticket).first()


def begun(form: str) -> list[Draft]:
    """Forms of that kind which somebody has begun, the newest first."""
    return [draft for draft in Draft.objects.filter(form=form) if any(draft.fields.values()) or draft.photos]


def drop_draft(ticket: UUID) -> None:
    """The form was sent, or given up."""
    Draft.objects.filter(ticket=ticket).delete()
