"""Readings come in: as typed, or as photographs; they are kept as they came."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, BinaryIO

from django.db import transaction
from django.utils import timezone

from pegwood.book import diary
from pegwood.book.files.store import clean_name, keep
from pegwood.book.gauging.limits import KEY as LIMITS
from pegwood.book.gauging.limits import in_use
from pegwood.book.gauging.ways import Way
from pegwood.book.looking import keep_photo
from pegwood.book.models import Gear, Job, Measurement, MeasurementFile, StoredFile
from pegwood.book.moving import locked_open
from pegwood.book.refusal import Refused
from pegwood.book.workshop import workshop
from pegwood.instruments.readings.table import LARGEST as LARGEST_TABLE

LONGEST_MARK = 20


@dataclass(frozen=True)
class Sent:
    """One file as it came: its content, and the name it came with."""

    content: BinaryIO
    name: str


def typed_figures(columns: Sequence[str], rows: Iterable[Sequence[str]], name: str) -> Sent:
    """
    Figures typed one after another, as the table they are kept as.

    Columns that stay empty in all rows are left out, and empty rows behind the last reading. An empty row
    before it is an empty line, so that every reading keeps its number.

    Parameters
    ----------
    columns : sequence of str
    rows : iterable of sequence of str, shape (n, n_columns)
    name : str
        What the table is called.

    Raises
    ------
    Refused
        If nothing was typed.
    """
    filled = [[cell.strip() for cell in row] for row in rows]
    while filled and not any(filled[-1]):
        filled.pop()
    if not filled:
        raise Refused("No reading is typed yet. Write the first one.")
    kept = [n for n in range(len(columns)) if any(row[n] for row in filled)]
    text = io.StringIO()
    # semicolons, since a comma may be somebody's decimal sign
    table = csv.writer(text, delimiter=";", lineterminator="\n")
    table.writerow([columns[n] for n in kept])
    for row in filled:
        if any(row):
            table.writerow([row[n] for n in kept])
        else:
            text.write("\n")
    return Sent(io.BytesIO(text.getvalue().encode()), name)


def keep_gauging(
    job: Job,
    way: Way,
    sent: Sequence[Sent],
    *,
    said: Mapping[str, Any],
    by: str,
    marked: str = "",
    gear: Gear | None = None,
    at: datetime | None = None,
) -> Measurement:
    """
    Store readings as they came, to be read by `read_recording`.

    The same readings sent twice over a bad line are one measurement as long as nobody has accepted it or set
    it aside.

    Parameters
    ----------
    way : Way
    sent : sequence of Sent
        In the order the way asks for.
    said : mapping
        What has to be told beside them, plain data: it is read by this again at any time.
    marked : str
        Which mark it is about, such as "5.6"; for a way that has marks.
    gear : Gear, optional
        What it was measured with.

    Raises
    ------
    Refused
        If there are too few or too many files, one is of another kind, or the job is over.
    """
    at = at or timezone.now()
    if job.is_over:
        raise Refused(f"Job {job.number} is over; it stands at '{job.standing}'.")
    if not way.fewest <= len(sent) <= way.most:
        raise Refused(f"{_count(way)}, please; here are {len(sent)}.")
    mark = way.always_marked or marked.strip()
    if len(mark) > LONGEST_MARK or "\0" in mark:
        raise Refused(f"A mark is as short as it is engraved: at most {LONGEST_MARK} letters.")
    # Outside the transaction: a large picture must not hold the book's write lock.
    files = [_kept(way, one, at) for one in sent]
    settings = {"way": way.id, "words": way.words, "said": dict(said)}
    if limits := in_use(way.instrument, workshop().gauge_limits):
        settings[LIMITS] = limits
    with transaction.atomic():
        job = locked_open(job)
        same = _sent_before(job, way, mark, files, gear, settings)
        return same or _entered(job, way, mark, files, gear, settings, by, at)


def _count(way: Way) -> str:
    what = "table of readings" if way.takes == "figures" else "photograph"
    if way.most == 1:
        return f"One {what}"
    return f"{way.fewest} to {way.most} {what}s" if way.fewest < way.most else f"{way.fewest} {what}s"


def _kept(way: Way, one: Sent, at: datetime) -> StoredFile:
    if way.takes == "photographs":
        return keep_photo(one.content, one.name, at=at)
    return keep(one.content, name=clean_name(one.name), media_type="text/csv", at_most=LARGEST_TABLE, at=at)


def _sent_before(
    job: Job, way: Way, mark: str, files: Sequence[StoredFile], gear: Gear | None, settings: dict[str, Any]
) -> Measurement | None:
    before = job.measurements.filter(
        instrument=way.instrument, marked=mark, recording=files[0], gear=gear, phase="", set_aside=False
    )
    for one in before:
        more = [further.file_id for further in one.more_files.all()]
        if one.settings == settings and more == [file.pk for file in files[1:]]:
            return one
    return None


def _entered(
    job: Job,
    way: Way,
    mark: str,
    files: Sequence[StoredFile],
    gear: Gear | None,
    settings: dict[str, Any],
    by: str,
    at: datetime,
) -> Measurement:
    measurement = Measurement.objects.create(
        job=job,
        instrument=way.instrument,
        way=way.id,
        marked=mark,
        settings=settings,
        recording=files[0],
        gear=gear,
        at=at,
        by=by,
    )
    MeasurementFile.objects.bulk_create(
        MeasurementFile(measurement=measurement, file=file, order=n) for n, file in enumerate(files[1:], 1)
    )
    diary.write(
        job,
        by=by,
        at=at,
        what=f"measured: {way.words}",
        text=mark,
        new={
            "measurement": measurement.pk,
            "sha256": files[0].sha256,
            "gear": gear and str(gear),
            **settings["said"],
        },
    )
    return measurement
