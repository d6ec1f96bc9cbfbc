"""What was tapped by mistake is taken back, and stays in the diary."""

from __future__ import annotations

from datetime import datetime

from django.utils import timezone

from pegwood.book import diary
from pegwood.book.models import FaultRuling, SignAnswer
from pegwood.book.moving import locked_open


def take_back(
    of: type[SignAnswer] | type[FaultRuling],
    pk: int,
    *,
    what: str,
    old: diary.Plain,
    by: str,
    at: datetime | None,
) -> None:
    """
    Strike out a row, in the caller's transaction; once more changes nothing.

    Raises
    ------
    Refused
        If its job is over.
    """
    row = of.everything.select_for_update().select_related("job").get(pk=pk)
    job = locked_open(row.job)
    if row.struck_out:
        return
    row.struck_out = True
    row.save(update_fields=["struck_out"])
    diary.write(job, by=by, at=at or timezone.now(), what=what, text=str(row), old=old)
