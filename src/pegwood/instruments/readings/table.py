"""
A small table of figures (CSV) with named columns, as somebody types it or a spreadsheet saves it.

Commas, semicolons or tabs between columns; where a comma is not the separator it may be the decimal sign.
Empty rows and rows that begin with ``#`` are passed over.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, TypeVar

from pegwood.instruments.readings.refused import RefusedReadings

__all__ = ["FiguresTable", "open_figures", "together"]

LARGEST = 1_000_000
"""Bytes; nobody reads more off a dial."""
MOST_ROWS = 10_000
_UNITS = ("ev", "m", "mm", "ft", "ua", "n", "lx")
"""Ends of columns' names that say a unit; what was typed has it beside the field."""
_SEPARATORS = (";", "\t", ",")

T = TypeVar("T")


@dataclass(frozen=True)
class FiguresTable:
    """
    Named columns of text, row by row.

    Parameters
    ----------
    name : str
        What the table is called when something in it is refused.
    columns : tuple of str
        In lower case.
    rows : tuple of (int, tuple of str)
        Line of the file, counted from 1, and as many cells as there are columns.
    typed : bool
        Whether it was typed reading by reading, so that nobody has seen its lines: the first reading is then
        called reading 1, which is line 2.
    """

    name: str
    columns: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    typed: bool = False

    def place(self, line: int) -> str:
        """What one line is called to whoever wrote it: "line 5", or "reading 4"."""
        return f"reading {line - 1}" if self.typed else f"line {line}"

    @property
    def places(self) -> tuple[str, ...]:
        """What each row is called, shape (n_rows,)."""
        return tuple(self.place(line) for line, _ in self.rows)

    def refusal(self, line: int, why: str) -> RefusedReadings:
        """A refusal of one row, named as whoever wrote it knows it."""
        where = self.place(line).capitalize() if self.typed else f"{self.name}, {self.place(line)}"
        return RefusedReadings(f"{where}: {why}")

    def lacking(self, what: str, in_a_file: str) -> RefusedReadings:
        """A refusal for want of a column: what is missing, and what to say of it in a file."""
        if self.typed:
            return RefusedReadings(f"Nothing is written under {self._said(what)}. Each reading wants it.")
        return RefusedReadings(f"{self.name}: {in_a_file}")

    def _said(self, column: str) -> str:
        """A column as it is known: in a file by its name, where it was typed without its unit."""
        if not self.typed:
            return column
        words = column.split("_")
        return " ".join(words[:-1] if len(words) > 1 and words[-1] in _UNITS else words)

    def first_of(self, *columns: str) -> str | None:
        """The first of some columns that is there, or None."""
        return next((one for one in columns if one in self.columns), None)

    def need(self, *columns: str) -> None:
        """
        Refuse a table that lacks a column.

        Raises
        ------
        RefusedReadings
            Naming the columns it wants and those it has.
        """
        missing = [one for one in columns if one not in self.columns]
        if missing:
            raise self.lacking(
                missing[0],
                f"there is no column {missing[0]!r}. The first row names the columns: "
                f"{','.join(columns)}; it has {', '.join(self.columns)}.",
            )

    def column(self, name: str, read: Callable[[str], T]) -> tuple[T, ...]:
        """
        One column, each cell read.

        Parameters
        ----------
        name : str
            One of `columns`.
        read : callable
            Takes the text of a cell; a ValueError of its is told with the line.

        Returns
        -------
        values : tuple, shape (n_rows,)

        Raises
        ------
        RefusedReadings
            If a cell cannot be read: file, line, and why.
        """
        place = self.columns.index(name)
        values = []
        for line, cells in self.rows:
            try:
                values.append(read(cells[place]))
            except ValueError as error:
                raise self.refusal(line, f"{self._said(name)}: {error}") from None
        return tuple(values)


def number(text: str) -> float:
    """
    A plain, finite number; a comma may be its decimal sign.

    Raises
    ------
    RefusedReadings
        If it is none.
    """
    try:
        value = float(text.strip().replace(",", "."))
    except ValueError:
        value = float("nan")
    if not abs(value) < float("inf"):
        raise RefusedReadings(f"{text.strip()[:40]!r} is no number. Write such as 9.5.")
    return value


def open_figures(source: Path | BinaryIO, name: str = "", *, typed: bool = False) -> FiguresTable:
    """
    Read a table.

    Parameters
    ----------
    source : Path or binary file
        The file; UTF-8, with or without a byte order mark.
    name : str, optional
        What to call it; the file's own name if not given.
    typed : bool
        Whether it was typed reading by reading; see `FiguresTable`.

    Returns
    -------
    table : FiguresTable
        At least one row.

    Raises
    ------
    RefusedReadings
        If it is no such table; one line, with what to do.
    OSError
        If the file cannot be opened.
    """
    shown = name or (source.name if isinstance(source, Path) else "The table")
    if isinstance(source, Path):
        with source.open("rb") as file:
            held = file.read(LARGEST + 1)
    else:
        held = source.read(LARGEST + 1)
    if len(held) > LARGEST:
        raise RefusedReadings(f"{shown} is larger than a table of readings. Send the table alone, as CSV.")
    try:
        text = held.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise RefusedReadings(f"{shown} is no text. Save the table as CSV (UTF-8).") from None
    if "\0" in text:
        raise RefusedReadings(f"{shown} is no text. Save the table as CSV (UTF-8).")
    lines = [(n, line) for n, line in enumerate(text.splitlines(), 1) if line.strip(" ,;\t")]
    lines = [(n, line) for n, line in lines if not line.lstrip().startswith("#")]
    if len(lines) < 2:
        raise RefusedReadings(f"{shown} has no readings. A row of names first, then a row for each reading.")
    if len(lines) > MOST_ROWS:
        raise RefusedReadings(f"{shown} has more than {MOST_ROWS} rows. Send the readings alone.")
    # of one column alone every comma is a decimal sign
    separator = next((one for one in _SEPARATORS if one in lines[0][1]), _SEPARATORS[0])
    rows = [(n, tuple(cell.strip() for cell in _cells(line, separator))) for n, line in lines]
    columns = tuple(cell.casefold() for cell in rows[0][1])
    _check(shown, columns, rows[1:])
    return FiguresTable(shown, columns, tuple(rows[1:]), typed)


def _cells(line: str, separator: str) -> Sequence[str]:
    return next(csv.reader([line], delimiter=separator))


def _check(shown: str, columns: tuple[str, ...], rows: Sequence[tuple[int, tuple[str, ...]]]) -> None:
    if len(set(columns)) != len(columns) or not all(columns):
        raise RefusedReadings(
            f"{shown}: the first row names every column once; it says {', '.join(columns)}."
        )
    for line, cells in rows:
        if len(cells) != len(columns):
            raise RefusedReadings(
                f"{shown}, line {line}: {len(cells)} cells under {len(columns)} columns. Where a comma is "
                "the decimal sign, put semicolons between the columns."
            )


def together(places: Sequence[str]) -> str:
    """Some places in one breath: "lines 3, 4" of "line 3" and "line 4"."""
    word = places[0].rpartition(" ")[0]
    return f"{word}{'s' * (len(places) > 1)} {', '.join(one.rpartition(' ')[2] for one in places)}"
