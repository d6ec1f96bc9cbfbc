"""What the demo's other instruments read: invented figures, each read by its instrument."""

from __future__ import annotations

import io
import json
from datetime import datetime, timedelta

from pegwood.book.gauging import WAYS, Sent, keep_gauging
from pegwood.book.measuring import accept_measurement, read_recording
from pegwood.book.models import Job
from pegwood.demo.world import GaugingEntry

#: From typing the last figure to reading it, and to taking it.
READ, TAKEN = timedelta(seconds=10), timedelta(seconds=40)


def gauge(job: Job, entry: GaugingEntry, *, by: str, at: datetime) -> None:
    """
    Type the readings, have them read, and take them as found or as left.

    Raises
    ------
    Refused
        If the way is none, or the instrument refuses the readings.
    """
    way = WAYS[entry.way]
    table = Sent(io.BytesIO(entry.figures.encode()), f"{way.id}.csv")
    kept = keep_gauging(job, way, [table], said=json.loads(entry.told), by=by, at=at)
    accept_measurement(read_recording(kept, by=by, at=at + READ), entry.phase, by=by, at=at + TAKEN)
