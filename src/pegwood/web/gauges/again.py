"""Readings that were typed once and are to be corrected: their rows as they stood."""

from __future__ import annotations

import csv

from pegwood.book.files.store import verified_path
from pegwood.book.models import Measurement
from pegwood.web.forms.gauge import MOST_ROWS
from pegwood.web.gauges.face import Face


def rows_of(measurement: Measurement, face: Face) -> list[dict[str, str]]:
    """
    What was typed, row by row, under the names of the face's columns; an empty row stays one.

    Parameters
    ----------
    measurement : Measurement
        Of that face's way.
    face : Face

    Raises
    ------
    Refused
        If the stored table is damaged.
    """
    told = dict(measurement.settings.get("said") or {})
    kept_as = face.kept_as(told)
    names = {kept_as.get(column.name, column.name): column.name for column in face.columns}
    text = verified_path(measurement.recording).read_text("utf-8")
    heads, *rows = [next(csv.reader([line], delimiter=";"), []) for line in text.splitlines()]
    return [
        {names[head]: cell for head, cell in zip(heads, row, strict=False) if head in names}
        for row in rows[:MOST_ROWS]
    ]
