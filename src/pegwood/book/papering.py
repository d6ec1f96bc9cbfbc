"""Papers are filed as they were made."""

from __future__ import annotations

import io
from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from pegwood.book import diary
from pegwood.book.files.store import keep
from pegwood.book.models import Job, Paper, StoredFile
from pegwood.book.moving import locked

LARGEST_PAPER = 200 * 1024**2


def next_number(job: Job, kind: str) -> str:
    """The number the next paper of that kind will bear: the job's, the kind, and which making of it."""
    return f"{job.number}-{kind}-{job.papers.filter(kind=kind).count() + 1}"


def file_paper(
    job: Job,
    kind: str,
    number: str,
    content: dict[str, Any],
    pdf: bytes,
    *,
    by: str,
    pictures: Iterable[str] = (),
    at: datetime | None = None,
) -> Paper:
    """
    File a paper: the content it was made from and the very bytes that were handed over.

    Parameters
    ----------
    pictures : iterable of str
        SHA-256 of the stored pictures that are printed on it; they are kept as long as the paper is.

    Raises
    ------
    Refused
        If the store cannot take it.
    django.db.IntegrityError
        If another paper bears that number: two were made at once.
    """
    at = at or timezone.now()
    file = keep(
        io.BytesIO(pdf), name=f"{number}.pdf", media_type="application/pdf", at_most=LARGEST_PAPER, at=at
    )
    with transaction.atomic():
        paper = Paper.objects.create(
            job=locked(job), kind=kind, number=number, content=content, file=file, at=at, by=by
        )
        paper.pictures.set(StoredFile.objects.filter(sha256__in=pictures))
        diary.write(job, by=by, at=at, what="made a paper", text=number, new={"sha256": file.sha256})
    return paper
