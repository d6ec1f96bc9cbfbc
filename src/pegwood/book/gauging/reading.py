"""What an instrument makes of stored readings, and its figures in short for the diary."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pegwood.book.files.store import verified_path
from pegwood.book.gauging.limits import KEY as LIMITS
from pegwood.book.gauging.ways import GaugeFile, way_called
from pegwood.book.models import Measurement, StoredFile

#: Figures of an answer that the diary names; more would be a page of numbers.
MOST_NAMED = 12


def read_gauging(measurement: Measurement) -> dict[str, Any]:
    """
    Read a gauging's files as its settings ask.

    Returns
    -------
    result : dict
        The instrument's own answer, whole.

    Raises
    ------
    RefusedReadings
        If the instrument refuses the whole of it; one line.
    Refused
        If a stored file is damaged, or this Pegwood does not know the way.
    """
    way = way_called(str(measurement.settings.get("way", "")))
    further = [one.file for one in measurement.more_files.select_related("file")]
    files = [_file(one) for one in (measurement.recording, *further)]
    said = dict(measurement.settings.get("said") or {})
    if way.marked and measurement.marked:
        said.setdefault("marked", measurement.marked)
    if LIMITS in measurement.settings:
        said[LIMITS] = measurement.settings[LIMITS]
    return way.read(files, said)


def in_short(result: Mapping[str, Any]) -> dict[str, Any]:
    """
    The plain figures and words at the top of an answer: what the diary keeps of it.

    Parameters
    ----------
    result : mapping
        An instrument's answer.

    Returns
    -------
    named : dict
        At most `MOST_NAMED` entries; lists, budgets, intervals and what was refused are left out.
    """
    told = {
        name: value
        for name, value in result.items()
        if isinstance(value, (int, float, str)) and value != "" and not name.endswith("_df")
    }
    return dict(list(told.items())[:MOST_NAMED])


def _file(stored: StoredFile) -> GaugeFile:
    return GaugeFile(verified_path(stored), stored.name, stored.media_type)
