"""What a backup says of itself: which files it holds, and the hash of each."""

from __future__ import annotations

import json
import re
from dataclasses import asdict, dataclass, field
from typing import Any

from pegwood.anatomy.own_families import FAMILIES, MECHANISMS
from pegwood.book.refusal import Refused
from pegwood.causes.own_knowledge import HANDED_ON, KNOWLEDGE

FORMAT = "pegwood backup 1"
MANIFEST = "manifest.json"
DATABASE = "book.sqlite3"
JOBS = "jobs.jsonl"
#: Folders of files that a workshop put there itself: rows of tables, families, mechanisms, their faults, and
#: what other workshops learned and handed on.
OWN = ("tables", FAMILIES, MECHANISMS, KNOWLEDGE, HANDED_ON)
_OWN = re.compile(rf"(?:{'|'.join(OWN)})/(?!\.)[^/\\\x00-\x1f:*?\"<>|]{{1,120}}\.toml")
_FILE = re.compile(r"files/([0-9a-f]{2})/(\1[0-9a-f]{62})")


@dataclass(frozen=True)
class Entry:
    """One file of the archive."""

    sha256: str
    size: int


@dataclass(frozen=True)
class Manifest:
    """
    The archive's own list.

    Attributes
    ----------
    schema : list of str
        The migrations the book has had.
    damaged : list of str
        Hashes of stored files that were no longer whole, and are not in the archive.
    """

    made_at: str
    pegwood: str
    schema: list[str]
    entries: dict[str, Entry] = field(default_factory=dict)
    damaged: list[str] = field(default_factory=list)
    format: str = FORMAT

    def to_json(self) -> str:
        return json.dumps(asdict(self), indent=1, sort_keys=True)

    @classmethod
    def read(cls, text: bytes) -> Manifest:
        """
        The manifest from its JSON.

        Raises
        ------
        Refused
            If it is not one, or names a file a backup never holds.
        """
        try:
            data: dict[str, Any] = json.loads(text)
            entries = {name: Entry(str(e["sha256"]), int(e["size"])) for name, e in data["entries"].items()}
            if data["format"] != FORMAT:
                raise ValueError(f"its format is {data['format']!r}, expected {FORMAT!r}")
            if strange := [name for name in entries if not _belongs(name)]:
                raise ValueError(f"it names {strange[0][:60]!r}, which no backup holds")
            if DATABASE not in entries:
                raise ValueError("it holds no book")
            return cls(
                made_at=str(data["made_at"]),
                pegwood=str(data["pegwood"]),
                schema=[str(name) for name in data["schema"]],
                entries=entries,
                damaged=[str(sha256) for sha256 in data["damaged"]],
            )
        except (ValueError, KeyError, TypeError, AttributeError) as error:
            raise Refused(f"This is not a backup of Pegwood's: {error}. Choose another archive.") from None


def file_entry(sha256: str) -> str:
    """Where a stored file lies in the archive."""
    return f"files/{sha256[:2]}/{sha256}"


def is_own(name: str) -> bool:
    """Whether an entry is a file that the workshop wrote itself; it lies so in the workshop's folder too."""
    return _OWN.fullmatch(name) is not None


def _belongs(name: str) -> bool:
    return name in {DATABASE, JOBS} or _FILE.fullmatch(name) is not None or is_own(name)
