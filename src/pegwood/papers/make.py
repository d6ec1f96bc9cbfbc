"""Making a paper from the job book, and making it again."""

from __future__ import annotations

import hashlib
import json
from datetime import datetime
from importlib.metadata import version
from importlib.resources import files as package_files
from typing import Any

from django.db import IntegrityError
from django.utils import timezone

from pegwood.book.files import read
from pegwood.book.models import Job, Paper, StoredFile
from pegwood.book.papering import file_paper, next_number
from pegwood.book.refusal import Refused
from pegwood.papers._typed import BadContent
from pegwood.papers.content import KINDS, PaperContent, from_json, photos_of, to_json
from pegwood.papers.desk import RefusedPaper, keep_pictures
from pegwood.papers.gather import content_of
from pegwood.papers.render import TEMPLATES, render

__all__ = ["RefusedPaper", "make_paper", "remake"]


def make_paper(job: Job, kind: str, *, by: str, of: str = "", at: datetime | None = None) -> Paper:
    """
    Make a paper from what the book says now, and file it with the content it was made from.

    Parameters
    ----------
    job : Job
    kind : str
        One of `KINDS`.
    by : str
        Who makes it.
    of : str
        The number of the bill or credit note, for a paper of that kind; the latest if empty.
    at : datetime, optional
        The moment that stands on it, with its time zone; now if None.

    Returns
    -------
    paper : Paper
        As filed; its PDF is `paper.file`.

    Raises
    ------
    RefusedPaper
        When there is no such kind, the book does not hold what the paper needs, or it cannot be filed. The
        reason is one line for the person at the bench.
    """
    if kind not in KINDS:
        raise RefusedPaper(f"There is no paper {kind!r}. There are: {', '.join(KINDS)}.")
    at = at or timezone.now()
    try:
        number = next_number(job, kind)
        content, pictures = content_of(job, kind, by=by, at=at, number=number, of=of)
        pdf = render(content, pictures)
        keep_pictures(pictures, at=at)
        record = {**json.loads(to_json(content)), "made_with": made_with(kind)}
        return file_paper(job, kind, number, record, pdf, by=by, pictures=pictures, at=at)
    except RefusedPaper:
        raise
    except (Refused, BadContent) as error:
        raise RefusedPaper(str(error)) from error
    except IntegrityError as error:
        raise RefusedPaper(
            "Another paper of that kind was made at the same moment. Make it again."
        ) from error


def remake(paper: Paper) -> bytes:
    """
    Make a filed paper again, from its content alone.

    Parameters
    ----------
    paper : Paper

    Returns
    -------
    pdf : bytes
        The same bytes as were filed.

    Raises
    ------
    RefusedPaper
        When a picture is gone or damaged, or the sheet comes out in other bytes; the message says whether
        the typesetter or the templates have changed since. The filed PDF is not touched.
    """
    try:
        content = from_json(json.dumps(paper.content))
        pdf = render(content, _pictures(content))
    except (Refused, BadContent) as error:
        raise RefusedPaper(str(error)) from error
    if hashlib.sha256(pdf).hexdigest() != paper.file_id:
        raise RefusedPaper(f"Paper {paper.number} {_why_other(paper)}. The PDF that was filed stands.")
    return pdf


def made_with(kind: str) -> dict[str, str]:
    """What a sheet's bytes depend on beside its content: the typesetter, the templates and the words."""
    seen = hashlib.sha256()
    room = package_files("pegwood.papers")
    for name in (*(f"templates/{name}" for name in (*TEMPLATES, f"{kind}.typ")), "words.py"):
        seen.update((room / name).read_bytes())
    return {"typst": version("typst"), "babel": version("babel"), "templates": seen.hexdigest()[:12]}


def _why_other(paper: Paper) -> str:
    before: dict[str, Any] = paper.content.get("made_with") or {}
    now = made_with(paper.kind)
    for name, called in (("typst", "Typst"), ("babel", "Babel")):
        if before.get(name) != now[name]:
            return f"was made with {called} {before.get(name, '?')}; {now[name]} gives other bytes"
    if before.get("templates") != now["templates"]:
        return "was set with earlier templates; those of today give other bytes"
    return "comes out in other bytes than were filed, with the same typesetter and templates"


def _pictures(content: PaperContent) -> dict[str, bytes]:
    names = photos_of(content)
    return {row.sha256: read(row) for row in StoredFile.objects.filter(sha256__in=names)}
