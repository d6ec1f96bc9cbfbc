"""Narration comes in, as typed or as a file, and is heard: what it holds waits for a person."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, BinaryIO

from django.db import transaction
from django.utils import timezone

from pegwood.book import diary
from pegwood.book.files.store import clean_name, keep
from pegwood.book.hearing.parts import named_parts
from pegwood.book.hearing.teaching import taught_for
from pegwood.book.models import Job, Narration, SaidProposal
from pegwood.book.moving import locked_open
from pegwood.book.narration_text import LARGEST_FILE, NoText, text_of
from pegwood.book.refusal import Refused
from pegwood.book.stripping.way_in import strip_down_of
from pegwood.book.told import in_order

if TYPE_CHECKING:
    from pegwood.hearing import Heard, Line

Progress = Callable[[float], None]


def lines_from(content: bytes, name: str = "") -> tuple[Line, ...]:
    """
    The lines of a narration, from a file's bytes: plain text, SRT, WebVTT, or lines that begin with a time.

    Raises
    ------
    Refused
        If it is no text, holds no words, or is too long.
    """
    from pegwood.hearing import NotNarration, read_narration

    try:
        return read_narration(text_of(content), name=name)
    except (NotNarration, NoText) as reason:
        raise Refused(str(reason)) from None


def hear_for(
    family: str,
    lines: Sequence[Line],
    *,
    language: str = "en",
    progress: Progress | None = None,
    taught: bool = True,
) -> Heard:
    """
    What lines of narration say of a camera of a family, with what this bench taught.

    Parameters
    ----------
    taught : bool
        False where there is no book yet, and so nothing was taught.

    Raises
    ------
    Refused
        If nobody wrote that language's vocabulary.
    """
    from pegwood.hearing import hear, vocabulary

    try:
        known = vocabulary(language)
    except (ValueError, OSError):
        raise Refused(f"Nothing is heard in {language!r} yet. There is: en.") from None
    if taught:
        known = known.with_taught(taught_for(family))
    return hear(lines, named_parts(family), known, progress=progress)


def take_narration(
    job: Job,
    *,
    text: str = "",
    file: BinaryIO | None = None,
    name: str = "",
    how: str = Narration.How.TYPED,
    language: str = "en",
    by: str,
    at: datetime | None = None,
    progress: Progress | None = None,
) -> Narration:
    """
    Take in what was told of a job's camera, hear it, and keep what it proposes.

    The same words sent twice over a bad line are one narration.

    Parameters
    ----------
    text : str
        As typed or spoken; or else `file`.
    file : binary file, optional
        It is kept as it came.
    name : str
        What the file is called; its ending says nothing, what is in it decides.
    how : str
        One of `Narration.How`.
    progress : callable, optional
        Told how much is heard, 0 to 1.

    Raises
    ------
    Refused
        If there are no words, it is no narration, or the job is over.
    """
    at = at or timezone.now()
    if job.is_over:
        raise Refused(f"Job {job.number} is over; it stands at '{job.standing}'. Write a remark instead.")
    content = text.encode("utf-8", "replace") if file is None else file.read(LARGEST_FILE + 1)
    lines = lines_from(content, name)
    whole = "\n".join(line.words for line in lines)
    # Hearing and storing take their time: neither may hold the book's write lock.
    if before := _sent_before(job, whole, language):
        return before
    heard = hear_for(strip_down_of(job).family, lines, language=language, progress=progress)
    kept = None
    if file is not None:
        named = clean_name(name) or "narration.txt"
        kept = keep(io.BytesIO(content), name=named, media_type="text/plain", at_most=LARGEST_FILE, at=at)
    with transaction.atomic():
        job = locked_open(job)
        if before := _sent_before(job, whole, language):  # while this was heard
            return before
        narration = Narration.objects.create(
            job=job,
            name=clean_name(name),
            language=language,
            how=how,
            text=whole,
            times=[line.at_s for line in lines],
            file=kept,
            at=at,
            by=by,
        )
        proposals = list(_proposals(narration, heard))
        SaidProposal.objects.bulk_create(proposals, batch_size=500)
        diary.write(
            job,
            by=by,
            at=at,
            what="dictated",
            text=narration.name or _begins(whole),
            new={
                "narration": narration.pk,
                "how": how,
                "words": len(whole.split()),
                "heard": len(proposals),
                "sha256": kept and kept.sha256,
            },
        )
    return narration


@transaction.atomic
def set_aside(narration: Narration, reason: str, *, by: str, at: datetime | None = None) -> None:
    """
    Take a narration off the card that was sent to the wrong job; what was kept of it stays.

    Raises
    ------
    Refused
        If something of it stands on the card: that is taken back first.
    """
    narration = Narration.everything.select_for_update().select_related("job").get(pk=narration.pk)
    if narration.struck_out:
        return
    settled = (SaidProposal.State.KEPT, SaidProposal.State.MENDED)
    if narration.proposals.filter(state__in=settled).exists():
        raise Refused("Something of it stands on the card. Undo that first, or leave it.")
    narration.struck_out = True
    narration.save(update_fields=["struck_out"])
    diary.write(
        narration.job,
        by=by,
        at=at or timezone.now(),
        what="struck out a narration",
        text=reason.strip(),
        old={"narration": narration.pk, "name": narration.name},
    )


def _proposals(narration: Narration, heard: Heard) -> Iterator[SaidProposal]:
    """All that was heard, in the order spoken."""
    longest = len(narration.text)
    for order, ((begins, ends), kind, said) in enumerate(in_order(heard), 1):
        begins = min(max(0, begins), longest)
        yield SaidProposal(
            narration=narration,
            order=order,
            kind=kind,
            data=said,
            begins=begins,
            ends=min(max(begins, ends), longest),
            at_s=said.get("at_s"),
        )


def _sent_before(job: Job, text: str, language: str) -> Narration | None:
    return job.narrations.filter(text=text, language=language).first()


def _begins(text: str) -> str:
    short = " ".join(text[:200].split())[:60]
    return f"{short}…" if len(text) > len(short) else short
