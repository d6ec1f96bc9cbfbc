"""
Looking things up: owners, serials, findings, notes, stories, all in one line.

Each job and each owner is one row of text. On SQLite the row is indexed in full (FTS5, accents folded, each
word may be only begun); elsewhere each word is looked for as it stands.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass

from django.db import connection
from django.db.models import Q

from pegwood.book.models import Job, Owner, SearchEntry

LONGEST_QUERY = 200
_WORD = re.compile(r"\w+")


@dataclass(frozen=True)
class Hit:
    """Something found. `excerpt` has the words looked for between STX and ETX characters."""

    title: str
    excerpt: str
    job: Job | None
    owner: Owner | None


START, END = "\x02", "\x03"


#: Jobs that are to be written down again at the end of a `once` that is under way.
_later: ContextVar[dict[int, Job] | None] = ContextVar("later", default=None)


@contextmanager
def once() -> Iterator[None]:
    """Write down each job once at the end of many acts, and not after each of them."""
    if _later.get() is not None:
        yield
        return
    jobs: dict[int, Job] = {}
    before = _later.set(jobs)
    try:
        yield
    finally:
        _later.reset(before)
    for job in jobs.values():
        index_job(job)


def index_job(job: Job) -> None:
    """Write down again what a job can be found by."""
    if (later := _later.get()) is not None:
        later[job.pk] = job
        return
    camera, owner = job.camera, job.owner
    lines = [
        owner.name,
        owner.phone,
        owner.email,
        camera.serial,
        camera.lens,
        camera.lens_serial,
        camera.shutter,
        camera.kind.name,
        camera.note,
        job.story,
        job.accessories,
    ]
    for finding in job.findings.all():
        lines.append(" ".join([finding.part, finding.condition, finding.place, finding.note]))
    lines += [f"{work.part} {work.done}" for work in job.work.all()]
    lines += job.photos.values_list("caption", flat=True)
    # Remarks, and the reasons given with a move ("too dear", "spring ordered").
    said = job.diary.filter(Q(what="remarked") | Q(new__has_key="standing")).exclude(what="took in")
    lines += said.values_list("text", flat=True)
    SearchEntry.objects.update_or_create(
        job=job,
        defaults={"title": f"{job.number} {camera.title}", "body": "\n".join(line for line in lines if line)},
    )


def index_owner(owner: Owner) -> None:
    """Write down again what an owner can be found by."""
    body = "\n".join(filter(None, [owner.phone, owner.email, owner.address, owner.note]))
    SearchEntry.objects.update_or_create(owner=owner, defaults={"title": owner.name, "body": body})


def look_up(query: str, limit: int = 20) -> list[Hit]:
    """
    What holds every word of `query`, the best first; each may be only begun.

    Parameters
    ----------
    query : str
        Words in any order. What is beyond 200 characters is not looked at.
    limit : int
        How many at the most.
    """
    words = _WORD.findall(query[:LONGEST_QUERY])
    if not words:
        return []
    rows = _fts(words, limit) if connection.vendor == "sqlite" else _plain(words, limit)
    entries = SearchEntry.objects.select_related("job__camera__owner", "job__owner", "owner").in_bulk(
        [pk for pk, _ in rows]
    )
    return [
        Hit(entry.title, excerpt, entry.job, entry.owner)
        for pk, excerpt in rows
        if (entry := entries.get(pk)) is not None
    ]


def _fts(words: list[str], limit: int) -> list[tuple[int, str]]:
    # Each word in quotes: nothing typed is ever read as FTS5's own language.
    match = " ".join(f'"{word}"*' for word in words)
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT rowid, snippet(book_search_fts, -1, %s, %s, '…', 14) FROM book_search_fts"
            " WHERE book_search_fts MATCH %s ORDER BY bm25(book_search_fts, 4.0, 1.0) LIMIT %s",
            [START, END, match, limit],
        )
        return [(int(pk), str(excerpt)) for pk, excerpt in cursor.fetchall()]


def _plain(words: list[str], limit: int) -> list[tuple[int, str]]:
    found = SearchEntry.objects.all()
    for word in words:
        found = found.filter(title__icontains=word) | found.filter(body__icontains=word)
    return [(entry.pk, _excerpt(entry, words)) for entry in found.order_by("-job__number", "pk")[:limit]]


def _excerpt(entry: SearchEntry, words: list[str]) -> str:
    text = f"{entry.title} {entry.body}".replace("\n", " ")
    marked = re.compile("|".join(re.escape(word) for word in words), re.IGNORECASE)
    first = marked.search(text)
    begin = max(0, first.start() - 40) if first else 0
    return ("…" if begin else "") + marked.sub(lambda m: START + m[0] + END, text[begin : begin + 120])
