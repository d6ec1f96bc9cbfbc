"""Whether everything that came off is back or explained."""

from __future__ import annotations

from pegwood.anatomy.rebuilding import way_back
from pegwood.book.families import construction_of
from pegwood.book.models import Job, StripDown
from pegwood.book.stripping.record import as_log, steps_of


def lacks(job: Job) -> tuple[str, ...]:
    """What of the camera is neither in it nor explained, a line each; none: it is whole."""
    rows = steps_of(job)
    if not rows:
        return ()
    begun = StripDown.objects.filter(job=job).first()
    family = begun.family if begun else job.camera.family
    return way_back(as_log(rows), construction_of(family)).lacks
