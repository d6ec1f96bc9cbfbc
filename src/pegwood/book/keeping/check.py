"""Whether everything is still as it was written."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

from django.db import DatabaseError, connection, transaction
from django.utils import timezone

from pegwood.book.billing.numbers import gaps
from pegwood.book.billing.payments import not_adding_up
from pegwood.book.files.store import Damaged, store
from pegwood.book.keeping import schema
from pegwood.book.models import Draft, StoredFile
from pegwood.book.workshop import workshop

#: How the names of the guards begin, and what it is that they guard.
_GUARDED = {
    "diary_is": "the diary",
    "bill_is": "bills",
    "billline_is": "bills",
    "payment_is": "payments",
    "clockentry_is": "the clock's minutes",
    "spares_moves_are": "what came onto the shelf and left it",
}
_OVERDRAWN = "spares_are_never_overdrawn"
GUARDS = {
    "sqlite": (
        *(f"{what}_never_{deed}" for what in _GUARDED for deed in ("changed", "deleted", "replaced")),
        _OVERDRAWN,
    ),
    "postgresql": (
        *(f"{what}_never_{deed}" for what in _GUARDED for deed in ("changed", "emptied")),
        _OVERDRAWN,
    ),
}
#: A file that was stored a moment ago may not have its row yet.
STRAY_AFTER_S = 3600
Told = Callable[[int, int], None]


@dataclass(frozen=True)
class Remark:
    """Something the check has to say. `damage` is for what must be mended; the rest is tidying."""

    damage: bool
    text: str


@dataclass(frozen=True)
class Report:
    """What was looked at, and what is not as it should be."""

    files: int
    version: str
    remarks: tuple[Remark, ...]

    @property
    def is_sound(self) -> bool:
        return not any(remark.damage for remark in self.remarks)


def examine(*, told: Told | None = None, tidy: bool = False) -> Report:
    """
    Check the database's integrity, its shape, its guards, and the hash of every file.

    Parameters
    ----------
    tidy : bool
        Throw away what a power cut left half-written, and files nothing in the book mentions, once they are
        an hour old; unless there is damage.
    """
    remarks = [Remark(True, text) for text in [*_database(), *_guards(), *_shape(), *_numbers()]]
    listed = list(StoredFile.objects.order_by("sha256").values_list("sha256", "size", "name"))
    for done, (sha256, size, name) in enumerate(listed, 1):
        try:
            found = store().verified(sha256).stat().st_size
            if found != size:
                remarks.append(
                    Remark(True, f"{name or sha256[:12]} has {found} bytes, the book says {size}.")
                )
        except Damaged as damage:
            remarks.append(Remark(True, f"{damage} It came as '{name}'."))
        if told:
            told(done, len(listed))
    remarks += _lost_drafts()
    # A book put back from last week does not know this week's photographs: nothing is thrown away then.
    is_sound = not any(remark.damage for remark in remarks)
    remarks += strays(tidy=tidy and is_sound)
    return Report(len(listed), schema.version(), tuple(remarks))


def _database() -> list[str]:
    if connection.vendor != "sqlite":
        return []
    wrong: list[str] = []
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA integrity_check(20)")
        wrong += [f"The database says: {row[0]}." for row in cursor.fetchall() if row[0] != "ok"]
        cursor.execute("PRAGMA foreign_key_check")
        wrong += [
            f"A row of {row[0]} points at a row of {row[2]} that is not there." for row in cursor.fetchall()
        ]
        try:
            with transaction.atomic():
                cursor.execute(
                    "INSERT INTO book_search_fts (book_search_fts, rank) VALUES ('integrity-check', 1)"
                )
        except DatabaseError as error:
            wrong.append(f"The index to look things up in does not fit the book: {error}.")
    return wrong


def _guards() -> list[str]:
    catalogue = {
        "sqlite": "SELECT name FROM sqlite_master WHERE type = 'trigger'",
        "postgresql": "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal",
    }[connection.vendor]
    with connection.cursor() as cursor:
        cursor.execute(catalogue)
        there = {row[0] for row in cursor.fetchall()}
    return [
        f"The guard '{guard}' is missing: {_unguarded(guard)}."
        for guard in GUARDS[connection.vendor]
        if guard not in there
    ]


def _unguarded(guard: str) -> str:
    if guard == _OVERDRAWN:
        return "more could be taken from the shelf than lies there"
    return f"{_GUARDED[guard.split('_never_')[0]]} could be rewritten unseen"


def _numbers() -> list[str]:
    """Bills whose numbers have a gap, and jobs whose paid sum is not that of their payments."""
    if schema.pending():
        return []
    return [f"Numbers of bills: {wrong}." for wrong in gaps()] + [
        f"What is paid on job {number} is not the sum of its payments." for number in not_adding_up()
    ]


def _shape() -> list[str]:
    wrong = [f"The book has not had {name} yet." for name in schema.pending()]
    return wrong + [
        f"The book has had {name}, which this Pegwood does not know." for name in schema.unknown()
    ]


def _lost_drafts() -> list[Remark]:
    listed = set(StoredFile.objects.values_list("sha256", flat=True))
    return [
        Remark(True, f"A form begun and not sent lacks a photograph: {name[:12]}.")
        for name in sorted(_drafted() - listed)
    ]


def _drafted() -> set[str]:
    return {photo["sha256"] for draft in Draft.objects.all() for photo in draft.photos}


def strays(*, tidy: bool) -> list[Remark]:
    """What lies in the store and is of no use to the book, once it is an hour old; thrown away if asked."""
    remarks: list[Remark] = []
    _tidy_rows(tidy, remarks)
    listed = set(StoredFile.objects.values_list("sha256", flat=True))
    unlisted = [store().path(name) for name in store().names() if name not in listed]
    for what, paths in [
        ("no row mentions", unlisted),
        ("a power cut left half-written", store().unfinished()),
    ]:
        old = [path for path in paths if _is_old(path)]
        if tidy:
            for path in old:
                path.unlink(missing_ok=True)
        _note(remarks, len(old), f"files that {what}", tidy)
    return remarks


def _tidy_rows(tidy: bool, remarks: list[Remark]) -> None:
    """Photographs of forms that were given up: their rows go first, and with them what keeps the files."""
    unused = StoredFile.objects.filter(
        photos=None,
        measurements=None,
        further_measurements=None,
        calibrations=None,
        narrations=None,
        papers=None,
        printed_on=None,
        stored_at__lt=timezone.now() - timedelta(seconds=STRAY_AFTER_S),
    ).exclude(sha256__in={*_drafted(), workshop().mark})
    number = unused.count()
    if tidy:
        unused.delete()
    _note(remarks, number, "files that nothing in the book uses", tidy)


def _note(remarks: list[Remark], number: int, what: str, tidy: bool) -> None:
    if number:
        done = "thrown away" if tidy else "`pegwood check --tidy` throws them away"
        remarks.append(Remark(False, f"{number} {what}: {done}."))


def _is_old(path: Path) -> bool:
    try:
        return time.time() - path.stat().st_mtime > STRAY_AFTER_S
    except FileNotFoundError:
        return False
