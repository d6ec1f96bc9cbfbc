"""
The tables of the trade, read when first asked for; a workshop's own rows stand before those that came.

A table is a TOML file of rows of one kind. `source` and `mark` above the rows hold for every row that gives
none. A workshop's own file of the same name, same schema, adds rows and replaces those with the same key.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Generic, TypeVar

from pegwood.trade.grounds import Grounded, owned
from pegwood.trade.typed_toml import Source, TableError, built


@dataclass(frozen=True, kw_only=True)
class Row(Grounded):
    """A row of a table."""

    @property
    def keys(self) -> tuple[Hashable, ...]:
        """What the row is looked up by: one key, or several where it speaks for several."""
        raise NotImplementedError


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
T = TypeVar("T")

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
        self._made: dict[Hashable, Any] = {}

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

    def once(self, key: Hashable, make: Callable[[], T]) -> T:
        """
        What follows from the tables, made at the first call; it lives and goes with them.

        Parameters
        ----------
        key : hashable
            What it is, with the name of the module that makes it: ``("threads", origin)``.
        make : callable
            Makes it.
        """
        if key not in self._made:
            self._made[key] = make()
        made: T = self._made[key]
        return made

    def raw(self, stem: str) -> Iterator[dict[str, Any]]:
        """
        A table's rows as they are written, those that came and then the workshop's own.

        For whoever needs no more than their names (`NAMES`, `SEVERAL_NAMES`): building all rows of all tables
        takes a tenth of a second. Of the workshop's own rows only the names are checked.

        Raises
        ------
        TableError
            If the workshop's own file is no table, or a name in it is no text.
        """
        yield from _rows_in(_came(stem))
        if own := self._own(stem):
            for place, row in enumerate(_rows_in(own)):
                _check_names(row, own, place)
                yield row

    def _own(self, stem: str) -> Source | None:
        path = self.own and self.own / f"{stem}.toml"
        if not path or not (path.exists() or path.is_symlink()):
            return None
        return Source(text_of(path), str(path))

    def _all(self, table: Table[R]) -> Mapping[Hashable, R]:
        shipped = _shipped(table)
        source = self._own(table.stem)
        if source is None:
            return shipped
        own = rows_of(table, source)
        return {**shipped, **{key: owned(row) for key, row in own.items()}}


def text_of(path: Path) -> str:
    """
    The text of a workshop's own file.

    Raises
    ------
    TableError
        If it cannot be read, or is no text in UTF-8.
    """
    try:
        return path.read_text(encoding="utf-8-sig")  # some editors mark UTF-8 so
    except OSError as error:
        raise TableError(f"{path} cannot be read: {error.strerror}.") from None
    except UnicodeDecodeError as error:
        raise TableError(f"{path} is no text in UTF-8: {error.reason}. Save it as UTF-8.") from None


_kept: dict[Path, tuple[object, Reference]] = {}


def reference_in(folder: Path) -> Reference:
    """
    The tables with a workshop's own rows, kept from call to call; read anew when a file there has changed.

    Parameters
    ----------
    folder : Path
        Where the workshop's own tables lie; it need not exist.
    """
    stamp = stamped(folder)
    if folder not in _kept or _kept[folder][0] != stamp:
        _kept[folder] = stamp, Reference(folder)
    return _kept[folder][1]


def stamped(folder: Path) -> list[tuple[str, int, int]]:
    """A folder's TOML files by name, each with when it was written and its length: alike if none changed."""
    return [(path.name, *_when(path)) for path in sorted(folder.glob("*.toml"))]


def _when(path: Path) -> tuple[int, int]:
    """When a file was written and how long it is; noughts for one that is gone again or leads nowhere."""
    try:
        stat = path.stat()
    except OSError:
        return 0, 0
    return stat.st_mtime_ns, stat.st_size


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
    fallback = {name: source.table()[name] for name in _ABOVE if name in source.table()}
    found: dict[Hashable, R] = {}
    for place, told in enumerate(_rows_in(source)):
        row = built(table.kind, {**fallback, **told}, source, ("row", place))
        for key in row.keys:
            if key in found:
                said = " on ".join(key) if isinstance(key, tuple) else key
                raise source.error(("row", place), f"{said!r} stands there twice.")
            found[key] = row
    return found


_ABOVE = ("source", "mark")
#: Fields in which names stand: one, and several.
NAMES = ("key", "name", "of")
SEVERAL_NAMES = ("also", "words", "materials")


def _rows_in(source: Source) -> list[dict[str, Any]]:
    """The rows of a file as they are written."""
    for name, rows in source.table().items():
        if name not in _ABOVE and not (
            name == "row" and isinstance(rows, list) and all(isinstance(row, dict) for row in rows)
        ):
            raise source.error(
                (name,), "expected only rows, each under [[row]], and 'source' and 'mark' above them."
            )
    found: list[dict[str, Any]] = source.table().get("row", [])
    return found


def _check_names(row: dict[str, Any], source: Source, place: int) -> None:
    for name in NAMES:
        if not isinstance(row.get(name, ""), str):
            raise source.error(("row", place, name), f"expected text, found {row[name]!r}.")
    for name in SEVERAL_NAMES:
        names = row.get(name, [])
        if not (isinstance(names, list) and all(isinstance(one, str) for one in names)):
            raise source.error(("row", place, name), f"expected a list of texts, found {names!r}.")
