"""A take-up spool by the diameter of its core."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pegwood.book.gauging.limits import limit_in
from pegwood.book.gauging.readers._typed import typed_table
from pegwood.book.gauging.ways import GaugeFile
from pegwood.instruments.readings.table import number
from pegwood.instruments.transport.told import take_up_told


def read(files: Sequence[GaugeFile], said: Mapping[str, Any]) -> dict[str, Any]:
    """
    How the spool winds.

    Parameters
    ----------
    files : sequence of GaugeFile
        One table, with the column `core_mm`.
    said : mapping
        As `take_up_told` takes it; and the limits in use.

    Raises
    ------
    RefusedReadings
        One line.
    """
    table = typed_table(files)
    table.need("core_mm")
    wound = take_up_told(table.column("core_mm", number), said, limit=limit_in(said, "transport.slip_turns"))
    return {**wound.to_json(), "warnings": list(wound.warnings), "notes": list(wound.notes)}
