"""The families that the workshop wrote itself, as files in its folder: read, written, never lost."""

from __future__ import annotations

import hashlib
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import tomli
from django.conf import settings
from django.db import transaction
from django.utils import timezone

from pegwood.anatomy.construction import Construction, read_construction
from pegwood.anatomy.learning.edited import PartEdit, as_it_is, edited, own_parts
from pegwood.anatomy.own_families import FAMILIES
from pegwood.book import diary
from pegwood.book.families import known
from pegwood.book.files.store import flush_folder
from pegwood.book.models import Camera, StripDown
from pegwood.book.refusal import Refused
from pegwood.book.trade_tables import tables
from pegwood.trade.names import plain
from pegwood.trade.reference import text_of
from pegwood.trade.typed_toml import TableError

#: A family of 150 parts has 60 kB.
LARGEST = 500_000


@dataclass(frozen=True, kw_only=True)
class FamilyFile:
    """
    A file in the workshop's folder.

    Attributes
    ----------
    stem : str
        Its name without ``.toml``.
    text : str
        Empty where it cannot be read.
    construction : Construction, optional
        None where the file is left aside.
    slip : str
        Why, with file and line.
    """

    stem: str
    text: str
    construction: Construction | None
    slip: str

    @property
    def told(self) -> str:
        """As a person finds it in the workshop's folder."""
        return told(self.stem)

    @property
    def version(self) -> str:
        """Changes with the text."""
        return version_of(self.text)

    @property
    def name(self) -> str:
        """The family's; the file's where it is left aside."""
        return self.construction.name if self.construction else self.told


def told(stem: str) -> str:
    """A family's file as a person finds it in the workshop's folder."""
    return f"{FAMILIES}/{stem}.toml"


def version_of(text: str) -> str:
    """A short mark that changes with a text."""
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def folder() -> Path:
    """Where they lie; it need not exist."""
    return settings.WORKSHOP.root / FAMILIES


def family_files() -> tuple[FamilyFile, ...]:
    """All of them by name, broken ones too."""
    return tuple(_read(path) for path in sorted(folder().glob("*.toml")))


def family_file(stem: str) -> FamilyFile | None:
    """The one of that name."""
    paths = {path.stem: path for path in folder().glob("*.toml")}
    return _read(paths[stem]) if stem in paths else None


def file_of(family: str) -> FamilyFile | None:
    """The file that a family of the workshop's own is in."""
    return next((one for one in family_files() if one.construction and one.construction.id == family), None)


def _read(path: Path) -> FamilyFile:
    text = ""
    try:
        text = text_of(path)
        family = str(tomli.loads(text).get("id", ""))
    except TableError as slip:
        return FamilyFile(stem=path.stem, text=text, construction=None, slip=" ".join(str(slip).split()))
    except tomli.TOMLDecodeError:
        family = ""
    all_known = known()
    mine = told(path.stem)
    slip_of_it = next((one for one in all_known.slips if one.startswith((f"{mine}:", f"{mine},"))), "")
    found = None if slip_of_it else all_known.constructions.get(family)
    return FamilyFile(
        stem=path.stem,
        text=text,
        construction=found if found and found.ground.own else None,
        slip=slip_of_it,
    )


def checked(stem: str, text: str) -> Construction:
    """
    The family as a text has it, checked as the file would be.

    Raises
    ------
    TableError
        With file and line: if it cannot be read.
    """
    return read_construction(text, told(stem), known().mechanisms, tables()[0], own=True)


def save(stem: str, text: str, *, seen: str, by: str, at: datetime | None = None) -> Construction:
    """
    Put another text into a family's file.

    Parameters
    ----------
    stem : str
        The file's name; it is there.
    text : str
        All of it.
    seen : str
        `FamilyFile.version` as it was when the change was begun.

    Raises
    ------
    Refused
        If the file is gone or has changed meanwhile, or the text cannot be read as a family. Then the file is
        as it was.
    """
    text = text.replace("\r\n", "\n")
    before = family_file(stem)
    if before is None:
        raise Refused(f"{told(stem)} is not there any more. Somebody moved or renamed it.")
    if before.version != seen:
        raise Refused(
            f"{before.told} has changed since this page was opened. Copy what you typed and open it anew."
        )
    if len(text) > LARGEST:
        raise Refused(f"{before.told} would be larger than {LARGEST // 1000} kB. Make it smaller.")
    try:
        found = checked(stem, text)
    except TableError as slip:
        raise Refused(" ".join(str(slip).split())) from None
    _check_id(before, found)
    if text == before.text:
        return found
    with in_place(stem, text), transaction.atomic():
        diary.write(
            None,
            by=by,
            at=at or timezone.now(),
            what="changed a family",
            text=f"{found.name} ({before.told})",
            old={"parts": len(before.construction.parts)} if before.construction else None,
            new={"parts": len(found.parts)},
        )
    return found


def change_part(
    stem: str, change: PartEdit, *, seen: str, by: str, at: datetime | None = None
) -> Construction:
    """
    Change a part of a family's file, or add one whose id it does not have; all else of the file stays.

    Raises
    ------
    Refused
        As `save`; or if another part has that name.
    """
    file, family = _readable(stem)
    others = [one for one in own_parts(family) if one.id != change.id]
    if any(plain(one.name) == plain(change.name) for one in others):
        raise Refused(f"There is another part called {change.name!r}. Tell the two apart: 'left', 'upper'.")
    parts = [change if one.id == change.id else as_it_is(one) for one in own_parts(family)]
    if change.id not in family.parts:
        parts.append(change)
    return _save_parts(file, family.name, parts, seen=seen, by=by, at=at)


def take_out_part(stem: str, part: str, *, seen: str, by: str, at: datetime | None = None) -> Construction:
    """
    Take a part out of a family's file; what waited for it waits for what it waited for.

    Raises
    ------
    Refused
        As `save`.
    """
    file, family = _readable(stem)
    parts = [as_it_is(one) for one in own_parts(family) if one.id != part]
    return _save_parts(file, family.name, parts, seen=seen, by=by, at=at)


def rename(stem: str, name: str, *, seen: str, by: str, at: datetime | None = None) -> Construction:
    """
    Call a family otherwise; its id stays.

    Raises
    ------
    Refused
        As `save`.
    """
    file, family = _readable(stem)
    return _save_parts(file, name, [*map(as_it_is, own_parts(family))], seen=seen, by=by, at=at)


def _readable(stem: str) -> tuple[FamilyFile, Construction]:
    file = family_file(stem)
    if file is None:
        raise Refused(f"{told(stem)} is not there any more. Somebody moved or renamed it.")
    if file.construction is None:
        raise Refused(f"{file.slip} Mend that first, as a file.")
    return file, file.construction


def _save_parts(
    file: FamilyFile, name: str, parts: list[PartEdit], *, seen: str, by: str, at: datetime | None
) -> Construction:
    try:
        text = edited(file.text, file.told, name.strip(), parts)
    except TableError as slip:
        raise Refused(str(slip)) from None
    return save(file.stem, text, seen=seen, by=by, at=at)


def _check_id(before: FamilyFile, found: Construction) -> None:
    """An id that jobs go by stays; no two files have the same."""
    was = before.construction.id if before.construction else before.stem
    if other := next(
        (
            one
            for one in family_files()
            if one.stem != before.stem and one.construction and one.construction.id == found.id
        ),
        None,
    ):
        raise Refused(f"{found.id!r} is the family in {other.told} already. Give this one another id.")
    is_used = StripDown.objects.filter(family=was).exists() or Camera.objects.filter(family=was).exists()
    if found.id != was and is_used:
        raise Refused(f"Jobs in the book go by the id {was!r}: leave it as it is. The name may change.")


@contextmanager
def in_place(stem: str, text: str) -> Iterator[None]:
    """Put a family's file in place; if what follows fails, as it was before."""
    path = (folder() / f"{stem}.toml").resolve()
    before = path.read_bytes() if path.exists() else None
    try:
        _put(path, text.encode())
    except OSError as error:
        raise Refused(f"{told(stem)} could not be written: {error.strerror}. Look after the disk.") from error
    try:
        yield
    except BaseException:
        if before is None:
            path.unlink(missing_ok=True)
        else:
            _put(path, before)
        raise


def _put(path: Path, content: bytes) -> None:
    """Whole or not at all, down to the disk: after a power cut the old file is there or the new one."""
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=".family-", suffix=".part")
    fresh = Path(name)
    try:
        with os.fdopen(handle, "wb") as out:
            out.write(content)
            out.flush()
            os.fsync(out.fileno())
        with suppress(FileNotFoundError):
            shutil.copymode(path, fresh)
        fresh.replace(path)
        flush_folder(path.parent)
    finally:
        fresh.unlink(missing_ok=True)
