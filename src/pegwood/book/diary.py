"""The diary: what happened, in order, for good. Every use case writes here, through `write`."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Any

from django.db.models import Model

from pegwood.book.models import DiaryEntry, Job

#: A list on somebody else's desk still reads the same in ten years: only plain values go into it.
Plain = Mapping[str, Any]


def write(
    job: Job | None,
    *,
    by: str,
    at: datetime,
    what: str,
    text: str = "",
    old: Plain | None = None,
    new: Plain | None = None,
) -> DiaryEntry:
    """Add an entry. `what` is the verb a reader looks for ("took in", "told the price")."""
    return DiaryEntry.objects.create(
        job=job,
        at=at,
        who=by,
        what=what,
        text=text,
        old=None if old is None else _plain(old),
        new=None if new is None else _plain(new),
    )


def values(thing: Model, fields: Iterable[str]) -> dict[str, Any]:
    """The named fields of a row as plain values, for `old` and `new`."""
    return _plain({name: getattr(thing, name) for name in fields})


def changes(before: Plain, after: Plain) -> tuple[dict[str, Any], dict[str, Any]]:
    """What differs: the old and the new values of the fields that changed."""
    changed = [name for name in after if before.get(name) != after[name]]
    return {n: before.get(n) for n in changed}, {n: after[n] for n in changed}


def _plain(values: Plain) -> dict[str, Any]:
    return {
        name: value.isoformat() if isinstance(value, (datetime, date)) else value
        for name, value in values.items()
    }
