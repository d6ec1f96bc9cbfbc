"""
Tables of readings (CSV) as oscilloscopes and microcontrollers write them.

A time column and one or more columns of readings; rows of names, units or remarks may stand above.
Separator and decimal sign are found from the rows themselves.
"""

from __future__ import annotations

import codecs
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.recordings._limits import check_finite, check_size
from pegwood.instruments.recordings._recording import Recording, RefusedRecording, Samples
from pegwood.instruments.recordings._stamps import TimeColumn, even_steps, time_unit, with_missing

__all__ = ["TableRecording", "open_table"]

_MAX_BYTES = 600_000_000
_MAX_VALUES = 20_000_000  # 160 MB once read
_MAX_COLUMNS = 33
_MAX_LINE = 8192
_HEAD_BYTES = 1 << 16
_CHUNK_BYTES = 1 << 22
_SOUND_NAMES = (".wav", ".flac", ".aif", ".aiff")
_REMARK = ("#", "%", "//", "!")
_STYLES = ((";", ","), (";", "."), ("\t", ","), ("\t", "."), (",", "."), (" ", "."), (" ", ","))


@dataclass(frozen=True)
class Layout:
    """How the table is written: separator, decimal sign, columns with numbers, and the rows above them."""

    separator: str
    decimal: str
    columns: tuple[int, ...]
    first_row: int
    header: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class TableRecording(Recording):
    """A table, held in memory; see `Recording`."""

    samples: Samples = field(default_factory=lambda: np.zeros((0, 1)), repr=False)
    strays: Samples | None = field(default=None, repr=False)

    def blocks(self, n: int) -> Iterator[Samples]:
        """
        Go through the whole table; can be called again.

        Parameters
        ----------
        n : int
            Samples in each block.

        Yields
        ------
        block : array, shape (<= n, n_channels)
            Readings.
        """
        for start in range(0, self.n_samples, n):
            yield self.samples[start : start + n]

    def read(self, start: int, stop: int) -> Samples:
        """
        Read one stretch.

        Parameters
        ----------
        start, stop : int
            First sample and one past the last.

        Returns
        -------
        samples : array, shape (stop - start, n_channels)
            Readings.
        """
        return self.samples[start:stop]

    def stray(self, start: int, stop: int) -> Samples | None:
        """As for every recording."""
        return None if self.strays is None else self.strays[start:stop]


def open_table(source: Path | BinaryIO, shown: str, size: int) -> Recording:
    """
    Open a table of readings.

    Parameters
    ----------
    source : Path or binary file
        The file.
    shown : str
        Name for people.
    size : int
        Size of the file, [byte].

    Returns
    -------
    recording : Recording
        All of it, in memory.

    Raises
    ------
    RefusedRecording
        If it is no table, has no time column, or the stamps can't be trusted.
    """
    if size > _MAX_BYTES:
        raise RefusedRecording(
            f"{shown}: a table of {size / 1e6:.0f} MB is too long. Export it as WAV, or in pieces."
        )
    if isinstance(source, Path):
        with source.open("rb") as stream:
            return _read_table(stream, shown)
    source.seek(0)
    return _read_table(source, shown)


def _read_table(stream: BinaryIO, shown: str) -> Recording:
    head = stream.read(_HEAD_BYTES)
    encoding = _encoding(head, shown)
    layout = _layout(_lines(head, encoding, shown), shown)
    stream.seek(0)
    table = _numbers(stream, encoding, layout, shown)
    time = _time_column(table, layout, shown)
    stamps, told = with_missing(table[:, time.index] * time.unit_s, shown)
    readings = np.delete(table, time.index, axis=1)
    del table  # it is as large as both, and finding even steps takes as much again
    steps = even_steps(stamps, shown)
    check_size(shown, len(readings), readings.shape[1], steps.sample_rate_hz)
    check_finite(shown, readings, 0)
    strays = None
    if steps.resample_at is not None and steps.stray is not None:
        strays = np.interp(steps.resample_at, steps.stamps_s, steps.stray).astype(np.float32)
        readings = _interpolate(readings, steps.stamps_s, steps.resample_at)
    return TableRecording(
        name=shown,
        sample_rate_hz=steps.sample_rate_hz,
        n_channels=readings.shape[1],
        n_samples=len(readings),
        format=f"CSV, time in {time.unit_name}",
        sample_rate_u=steps.relative_u,
        warnings=(*time.warnings, *told, *steps.warnings),
        gaps=steps.gaps,
        samples=readings,
        strays=strays,
    )


def _encoding(head: bytes, shown: str) -> str:
    for mark, name in (
        (codecs.BOM_UTF8, "utf-8-sig"),
        (codecs.BOM_UTF16_LE, "utf-16"),
        (codecs.BOM_UTF16_BE, "utf-16"),
    ):
        if head.startswith(mark):
            return name
    if b"\0" in head:
        raise RefusedRecording(
            f"{shown}: neither a sound file nor a table. Record as WAV, FLAC or AIFF, or export CSV."
        )
    try:
        codecs.getincrementaldecoder("utf-8")().decode(head, final=False)
    except UnicodeDecodeError:
        return "latin-1"
    return "utf-8"


def _lines(head: bytes, encoding: str, shown: str) -> list[str]:
    """Whole lines at the beginning of the file."""
    text = codecs.getincrementaldecoder(encoding)(errors="replace").decode(head, final=False)
    lines = text.splitlines()
    if len(head) == _HEAD_BYTES and lines:
        lines.pop()
    if not lines or max(len(line) for line in lines) > _MAX_LINE:
        raise RefusedRecording(
            f"{shown}: a line is longer than {_MAX_LINE} characters; not a table of readings. "
            "Export one row per sample: time, then the reading."
        )
    return lines


def _layout(lines: list[str], shown: str) -> Layout:
    """Separator, decimal sign and first row of numbers: the style that gives most columns wins."""
    found = [layout for style in _STYLES if (layout := _try_style(lines, *style)) is not None]
    if shown.lower().endswith(_SOUND_NAMES) and all(len(layout.columns) < 2 for layout in found):
        raise RefusedRecording(
            f"{shown}: it is named as a sound file and holds text. Choose another, or record it again."
        )
    if not found:
        raise RefusedRecording(
            f"{shown}: no rows of numbers in it. Export one row per sample: time, then the reading, as CSV."
        )
    best = max(found, key=lambda layout: len(layout.columns))
    if len(best.columns) > _MAX_COLUMNS:
        raise RefusedRecording(
            f"{shown}: {len(best.columns)} columns. Export the time and at most 32 channels."
        )
    if len(best.columns) < 2:
        raise RefusedRecording(
            f"{shown}: only one column of numbers, so no time. Add a column with the time of each reading "
            "(name it 'time_us', 'time_ms' or 'time_s'), or save as WAV, which holds its own rate."
        )
    return best


def _try_style(lines: list[str], separator: str, decimal: str) -> Layout | None:
    rows = [_cells(line, separator) for line in lines]
    for first, row in enumerate(rows):
        columns = _numeric_columns(row, decimal)
        if not columns:
            continue
        followers = [
            r
            for r, line in zip(rows[first : first + 12], lines[first : first + 12], strict=True)
            if line.strip()
        ]
        if len(followers) >= 2 and all(_numeric_columns(r, decimal) == columns for r in followers):
            header = tuple(tuple(r) for r in rows[:first] if len(r) > max(columns))
            return Layout(separator, decimal, columns, first, header)
    return None


def _cells(line: str, separator: str) -> list[str]:
    cells = line.split() if separator == " " else line.split(separator)
    return [cell.strip().strip('"').strip() for cell in cells]


def _numeric_columns(cells: list[str], decimal: str) -> tuple[int, ...]:
    return tuple(i for i, cell in enumerate(cells) if _is_number(cell, decimal))


def _is_number(cell: str, decimal: str) -> bool:
    if decimal == ",":
        if "." in cell:
            return False
        cell = cell.replace(",", ".")
    try:
        float(cell)
    except ValueError:
        return False
    return "_" not in cell


def _numbers(stream: BinaryIO, encoding: str, layout: Layout, shown: str) -> NDArray[np.float64]:
    """Every row of numbers, read in chunks so that a hostile file can't fill the memory."""
    table = np.empty((0, len(layout.columns)))
    for first_line, lines in _chunks(stream, encoding, shown):
        skip = max(0, layout.first_row - first_line)
        rows = [(first_line + i + 1, line) for i, line in enumerate(lines) if i >= skip and _holds_data(line)]
        if not rows:
            continue
        piece = _parse(rows, layout, shown)
        filled = len(table)
        table.resize((filled + len(piece), piece.shape[1]), refcheck=False)  # in place: nothing is held twice
        table[filled:] = piece
        if table.size > _MAX_VALUES:
            raise RefusedRecording(
                f"{shown}: more than {_MAX_VALUES} numbers. Export it as WAV, or only the part with "
                f"the firings."
            )
    return table


def _holds_data(line: str) -> bool:
    stripped = line.strip()
    return bool(stripped) and not stripped.startswith(_REMARK)


def _chunks(stream: BinaryIO, encoding: str, shown: str) -> Iterator[tuple[int, list[str]]]:
    decoder = codecs.getincrementaldecoder(encoding)(errors="replace")
    rest, line_number = "", 0
    while chunk := stream.read(_CHUNK_BYTES):
        lines = (rest + decoder.decode(chunk)).splitlines(keepends=True)
        rest = lines.pop() if lines and not lines[-1].endswith("\n") else ""
        if len(rest) > _MAX_LINE:
            raise RefusedRecording(
                f"{shown}: line {line_number + len(lines) + 1} is too long; not a table of readings."
            )
        yield line_number, lines
        line_number += len(lines)
    if rest:
        yield line_number, [rest]


def _parse(rows: list[tuple[int, str]], layout: Layout, shown: str) -> NDArray[np.float64]:
    texts = [text.replace('"', "") for _, text in rows]
    if layout.decimal == ",":
        texts = [text.replace(",", ".") for text in texts]
    separator = None if layout.separator == " " else layout.separator
    try:
        return np.loadtxt(texts, delimiter=separator, usecols=layout.columns, ndmin=2, comments=None)
    except (ValueError, IndexError) as error:
        found = _with_cells_missing(texts, layout)
        if found is not None:
            return found
        number = next((n for n, text in rows if not _row_reads(text, layout)), rows[0][0])
        raise RefusedRecording(
            f"{shown}: line {number} can't be read as numbers. Mend or remove that line; every "
            f"reading needs its time."
        ) from error


def _with_cells_missing(texts: list[str], layout: Layout) -> NDArray[np.float64] | None:
    """Rows of which some lack a cell of a column that only grows, there nan; None where that is not all."""
    rows = [_cells(text, layout.separator) for text in texts]
    if any(len(row) <= max(layout.columns) for row in rows):
        return None
    try:
        found = np.array([[float(row[i] or "nan") for i in layout.columns] for row in rows])
    except ValueError:
        return None
    for column, number in zip(found.T, layout.columns, strict=True):
        lacks = np.array([not row[number] for row in rows])
        if lacks.any() and not _only_grows(column[~lacks]):
            return None
    return found


def _row_reads(text: str, layout: Layout) -> bool:
    cells = _cells(text, layout.separator)
    return len(cells) > max(layout.columns) and all(
        _is_number(cells[i], layout.decimal) for i in layout.columns
    )


_INDEX_NAME = re.compile(r"(sample|index|idx|nr|no|n|i|#|count|number|record)\b.*", re.IGNORECASE)
_TIME_NAME = re.compile(
    r"(time|t|zeit|temps|tiempo|tempo|tijd|x[- ]?axis|x|seconds?|millis|micros)\b.*", re.IGNORECASE
)


def _time_column(table: NDArray[np.float64], layout: Layout, shown: str) -> TimeColumn:
    """The column of stamps: one that only grows, preferring one that is called so."""
    rising = [i for i in range(table.shape[1]) if _only_grows(table[:, i])]
    titles = {i: [row[layout.columns[i]] for row in layout.header] for i in range(table.shape[1])}
    named = [
        i for i, cells in titles.items() if any(_TIME_NAME.fullmatch(c.replace("_", " ")) for c in cells)
    ]
    counters = [
        i for i, cells in titles.items() if any(_INDEX_NAME.fullmatch(c.replace("_", " ")) for c in cells)
    ]
    if named and named[0] not in rising:
        _refuse_backward(table[:, named[0]], shown)
    choice = [i for i in named if i in rising] or [i for i in rising if i not in counters]
    if not choice:
        raise RefusedRecording(
            f"{shown}: no column that only grows, so no time. Add a column with the time of each reading "
            "(name it 'time_us', 'time_ms' or 'time_s'), or save as WAV, which holds its own rate."
        )
    index = choice[0]
    return time_unit(index, titles[index], table[:, index], shown)


def _only_grows(column: NDArray[np.float64]) -> bool:
    with np.errstate(invalid="ignore"):
        given = column[~np.isnan(column)]
        is_time = len(given) > 0.5 * len(column) and np.isfinite(given).all()
        return bool(is_time and (np.diff(given) >= 0).all() and given[-1] > given[0])


def _refuse_backward(column: NDArray[np.float64], shown: str) -> None:
    bad = np.flatnonzero(np.isinf(column))
    if len(bad):
        raise RefusedRecording(
            f"{shown}: row {bad[0] + 1} of the numbers has no usable time. Export the table again."
        )
    back = np.flatnonzero(np.diff(column) < 0)
    if len(back):
        raise RefusedRecording(
            f"{shown}: time runs backwards at row {back[0] + 2} of the numbers (a counter that "
            f"started again?). "
            "Export a piece in which time only grows."
        )


def _interpolate(
    readings: Samples, stamps_s: NDArray[np.float64], at_s: NDArray[np.float64]
) -> NDArray[np.float64]:
    return np.column_stack([np.interp(at_s, stamps_s, readings[:, c]) for c in range(readings.shape[1])])
