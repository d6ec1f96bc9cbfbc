"""A job as plain data that any script can read: what `jobs.jsonl` in a backup holds, line by line."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.db.models import Model, Prefetch, prefetch_related_objects

from pegwood.book.models import Job

_PARTS = {
    "findings": "findings",
    "work": "work",
    "measurements": "measurements",
    "lines": "price_lines",
    "photos": "photos",
    "taken_off": "taken_off",
    "sign_answers": "sign_answers",
    "fault_rulings": "fault_rulings",
    "mends_done": "mends_done",
    "spare_moves": "spare_moves",
    "narrations": "narrations",
    "offers": "offers",
    "clock_entries": "clock_entries",
    "bills": "bills",
    "payments": "payments",
    "papers": "papers",
    "diary": "diary",
}
_ONE_OF_EACH = ("strip_down", "told_story", "lesson_left_out", "donor", "bench_clock", "worth")
#: Thinned for drawing, long, and made from the recording that is kept anyway.
_LEFT_OUT = {"curves"}


def jobs(database: str = "default") -> Iterator[dict[str, Any]]:
    """Every job of a database of Django's, the first first, one at a time."""
    query = (
        Job.objects.using(database)
        .select_related("owner", "camera", "comeback_of", *_ONE_OF_EACH)
        .order_by("number")
    )
    yield from map(_as_data, query.prefetch_related(*_parts(database)).iterator(chunk_size=200))


def job_as_data(job: Job) -> dict[str, Any]:
    """
    A job with its owner, camera and all that belongs to it, what was struck out too.

    Times are UTC, sums in minor units.
    """
    prefetch_related_objects([job], *_parts("default"))
    return _as_data(job)


def _parts(database: str) -> list[Prefetch[Any]]:
    # The base manager: a card leaves out what was struck out, a backup does not.
    related = {relation.get_accessor_name(): relation.related_model for relation in Job._meta.related_objects}
    held = {name: related[name]._base_manager.using(database).all() for name in _PARTS}
    held["taken_off"] = held["taken_off"].prefetch_related("kept")
    held["bills"] = held["bills"].prefetch_related("lines")
    held["narrations"] = held["narrations"].prefetch_related("proposals")
    return [Prefetch(name, rows) for name, rows in held.items()]


def _as_data(job: Job) -> dict[str, Any]:
    data = _row(job)
    data["comeback_of"] = job.comeback_of.number if job.comeback_of else None
    data["owner"] = _row(job.owner)
    data["camera"] = _row(job.camera)
    for relation, name in _PARTS.items():
        data[name] = [_row(row) for row in getattr(job, relation).all()]
    for step, row in zip(data["taken_off"], job.taken_off.all(), strict=True):
        step["kept"] = [_row(kept) for kept in row.kept.all()]
    for bill, issued in zip(data["bills"], job.bills.all(), strict=True):
        bill["lines"] = [_row(line) for line in issued.lines.all()]
    for narration, told in zip(data["narrations"], job.narrations.all(), strict=True):
        narration["proposals"] = [_row(said) for said in told.proposals.all()]
    for relation in _ONE_OF_EACH:
        one = getattr(job, relation, None)
        data[relation] = _row(one) if one else None
    return data


def _row(row: Model) -> dict[str, Any]:
    fields = [f for f in row._meta.concrete_fields if f.name not in _LEFT_OUT and f.name != "job"]
    return {field.name: _plain(field.value_from_object(row)) for field in fields}


def _plain(value: Any) -> Any:
    if hasattr(value, "isoformat"):
        return value.isoformat()
    return value if isinstance(value, (str, int, float, bool, dict, list, type(None))) else str(value)
