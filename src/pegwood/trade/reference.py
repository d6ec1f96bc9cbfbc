"""
The tables of the trade, read when first asked for; a workshop's own rows stand before those that came.

A table is a TOML file of rows of one kind. `source` and `mark` above the rows hold for every row that gives
none. A workshop's own file of the same name, same schema, adds rows and replaces those with the same key.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any, Generic, TypeVar

from pegwood.trade.grounds import Ground, Grounds, Mark
from pegwood.trade.typed_toml import Source, TableError, built


@dataclass(frozen=True, kw_only=True)
class Row:
    """
    A row of a table.

    Attributes
    ----------
    source, mark : str
        As `Ground`.
    own : bool
        Whether the workshop wrote it; said by the reader of the tables, never by a table.
    """

    source: str
    mark: Mark
    own: bool = False

    def __post_init__(self) -> None:
        Ground(self.source, self.mark)  # refuses an empty source

    @property
    def keys(self) -> tuple[Hashable, ...]:
        """What the row is looked up by: one key, or several where it speaks for several."""
        raise NotImplementedError

    @property
    def grounds(self) -> Grounds:
        """What the row rests on."""
        return (Ground(self.source, self.mark, self.own),)


@dataclass(frozen=True, kw_only=True)
class Named(Row):
    """
    A row about one thing that people call by several names.

    Attributes
    ----------
    key : str
        Its short name, in lower case with dashes: how other tables speak of it.
    name : str
        As it is told to people.
    also : tuple of str
        What else it is called.
    """

    key: str
    name: str
    also: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        super().__post_init__()
        if not self.key or self.key != self.key.strip().lower() or " " in self.key:
            raise ValueError(
                f"the key is {self.key!r}. Expected lower case with dashes, such as 'nickel-plate'."
            )
        if not self.name.strip():
            raise ValueError("the name is empty.")

    @property
    def keys(self) -> tuple[Hashable, ...]:
        return (self.key,)


R = TypeVar("R", bound=Row)

#: Where the tables lie that came with Pegwood. Not by `importlib.resources`: that takes 30 ms to import.
TABLES = Path(__file__).parent / "tables"


@dataclass(frozen=True)
class Table(Generic[R]):
    """
    A kind of table.

    Attributes
    ----------
    stem : str
        The file's name without ``.toml``.
    kind : type
        What its rows are.
    """

    stem: str
    kind: type[R]


class Reference:
    """
    All tables together.

    Parameters
    ----------
    own : Path, optional
        The folder with the workshop's own tables; it need not exist.
    """

    def __init__(self, own: Path | None = None) -> None:
        self.own = own
        self._read: dict[str, Mapping[Hashable, Any]] = {}

    def rows(self, table: Table[R]) -> Mapping[Hashable, R]:
        """
        A table's rows by key, in the order of the tables; read at the first call.

        Raises
        ------
        TableError
            If a file is not as its schema says; the message names file, line and place.
        """
        if table.stem not in self._read:
            self._read[table.stem] = self._all(table)
        return self._read[table.stem]

    def raw(self, stem: str) -> Iterator[dict[str, Any]]:
        """
        A table's rows as they are written, those that came and then the workshop's own, nothing checked.

        For whoever needs no more than their names: building all rows of all tables takes a tenth of a second.
        """
        own = self._own(stem)
        for source in filter(None, (_came(stem), own)):
            rows = source.table().get("row", [])
            yield from (row for row in rows if isinstance(row, dict))

    def _own(self, stem: str) -> Source | None:
        path = self.own and self.own / f"{stem}.toml"
        if not path or not path.is_file():
            return None
        try:
            return Source(path.read_text(encoding="utf-8"), str(path))
        except UnicodeDecodeError as error:
            raise TableError(f"{path} is no text in UTF-8: {error.reason}. Save it as UTF-8.") from None

    def _all(self, table: Table[R]) -> Mapping[Hashable, R]:
        shipped = _shipped(table)
        source = self._own(table.stem)
        if source is None:
            return shipped
        own = rows_of(table, source)
        return {**shipped, **{key: replace(row, own=True) for key, row in own.items()}}


_kept: dict[Path, tuple[object, Reference]] = {}


def reference_in(folder: Path) -> Reference:
    """
    The tables with a workshop's own rows, kept from call to call; read anew when a file there has changed.

    Parameters
    ----------
    folder : Path
        Where the workshop's own tables lie; it need not exist.
    """
    found = [(path.name, path.stat()) for path in sorted(folder.glob("*.toml"))]
    stamp = [(name, stat.st_mtime_ns, stat.st_size) for name, stat in found]
    if folder not in _kept or _kept[folder][0] != stamp:
        _kept[folder] = stamp, Reference(folder)
    return _kept[folder][1]


@cache
def _came(stem: str) -> Source:
    """A table's file as it came with Pegwood."""
    text = (TABLES / f"{stem}.toml").read_text(encoding="utf-8")
    return Source(text, f"{stem}.toml")


@cache
def _shipped(table: Table[R]) -> Mapping[Hashable, R]:
    return rows_of(table, _came(table.stem))


def read_rows(table: Table[R], text: str, where: str) -> dict[Hashable, R]:
    """
    The rows of a file's text by key.

    Raises
    ------
    TableError
        If the text is not TOML, a row is not of its kind, or two rows speak of the same key.
    """
    return rows_of(table, Source(text, where))


def rows_of(table: Table[R], source: Source) -> dict[Hashable, R]:
    """As `read_rows`, of a file already opened."""
    whole = dict(source.table())
    fallback = {name: whole.pop(name) for name in ("source", "mark") if name in whole}
    found: dict[Hashable, R] = {}
    for name, rows in whole.items():
        if name != "row" or not isinstance(rows, list):
            raise source.error(
                (name,), "expected only rows, each under [[row]], and 'source' and 'mark' above them."
            )
        for place, told in enumerate(rows):
            if "own" in told:
                raise source.error(("row", place, "own"), "there is no such field.")
            row = built(table.kind, {**fallback, **told}, source, ("row", place))
            for key in row.keys:
                if key in found:
                    said = " on ".join(key) if isinstance(key, tuple) else key
                    raise source.error(("row", place), f"{said!r} stands there twice.")
                found[key] = row
    return found
